//! The difference of two things measured in pairs, and how many pairs would settle it.

use super::super::Interval;
use super::{UncertaintyError, coverage_factor, finite, moments, positive};

/// Most repeats that are looked for.
const LIMIT: u64 = 1_000_000;

/// A difference A − B found from pairs.
#[derive(Debug, Clone, PartialEq)]
pub struct Paired {
    /// A − B, with the drift removed if there was a covariate.
    pub difference: f64,
    /// Its standard uncertainty.
    pub u: f64,
    /// Its degrees of freedom.
    pub freedom: f64,
    /// Standard deviation of a single difference about what was fitted.
    pub scatter: f64,
    /// Limits of the difference with the confidence asked for.
    pub interval: Interval,
    /// Slope against the covariate and its standard uncertainty, if there was one.
    pub drift: Option<(f64, f64)>,
}

impl Paired {
    /// Whether the interval leaves out zero: which of both is larger is settled.
    pub fn settled(&self) -> bool {
        self.interval.low > 0.0 || self.interval.high < 0.0
    }

    /// The same where single differences are known to scatter by `told` at least, from what is told of the readings: few pairs
    /// may lie together by chance, and a coarse display shows no scatter. The wider interval of both is taken: Student's of the
    /// scatter that was seen, the normal one of what is told.
    ///
    /// # Errors
    /// No scatter at all, seen or told; a confidence that is none.
    pub fn at_least(mut self, told: f64, pairs: usize, confidence: f64) -> Result<Paired, UncertaintyError> {
        let told = if told.is_finite() { told.max(0.0) } else { 0.0 };
        if self.scatter.max(told) <= 0.0 {
            return Err(UncertaintyError::NoScatter);
        }
        // what one difference's scatter makes of the result's, with a drift taken out or without
        let lever =
            if self.scatter > 0.0 { self.u / self.scatter } else { 1.0 / (pairs.max(1) as f64).sqrt() };
        let u = told * lever;
        let half = coverage_factor(confidence, f64::INFINITY)? * u;
        if half > 0.5 * (self.interval.high - self.interval.low) {
            self.interval = Interval { low: self.difference - half, high: self.difference + half };
            self.freedom = f64::INFINITY;
        }
        self.u = self.u.max(u);
        self.scatter = self.scatter.max(told);
        Ok(self)
    }
}

/// Mean of A − B over pairs, with Student's interval.
///
/// With a `covariate` (one number per pair, such as the time of A less the time of B) a
/// straight line is fitted and the difference told where the covariate is **zero**: if all
/// readings creep by the same amount each minute, that takes the creep out. It needs pairs
/// in both orders (A B, B A), or else creep and difference are the same.
///
/// # Errors
/// Lists of different lengths, fewer than 2 pairs (3 with a covariate), a number that is
/// none, a covariate that is the same for all pairs.
pub fn paired(
    a: &[f64],
    b: &[f64],
    covariate: Option<&[f64]>,
    confidence: f64,
) -> Result<Paired, UncertaintyError> {
    if b.len() != a.len() {
        return Err(UncertaintyError::Lengths { what: "B", found: b.len(), expected: a.len() });
    }
    let differences: Vec<f64> = a.iter().zip(b).map(|(a, b)| a - b).collect();
    let (mean, s) = moments("differences", &differences)?;
    let n = differences.len() as f64;
    let Some(x) = covariate else {
        return told(mean, s / n.sqrt(), n - 1.0, s, None, confidence);
    };
    if x.len() != a.len() {
        return Err(UncertaintyError::Lengths { what: "the covariate", found: x.len(), expected: a.len() });
    }
    if a.len() < 3 {
        return Err(UncertaintyError::TooFew { name: "differences".into(), found: a.len(), needed: 3 });
    }
    let (centre, width) = moments("covariate", x)?;
    // below some digits the spread is round-off
    if width <= 1e-12 * centre.abs() {
        return Err(UncertaintyError::NoContrast { value: centre });
    }
    let s_xx = (n - 1.0) * width * width;
    let s_xy: f64 = x.iter().zip(&differences).map(|(x, d)| (x - centre) * (d - mean)).sum();
    let slope = s_xy / s_xx;
    let left = |(x, d): (&f64, &f64)| (d - mean - slope * (x - centre)).powi(2);
    let scatter = (x.iter().zip(&differences).map(left).sum::<f64>() / (n - 2.0)).sqrt();
    let u = scatter * (1.0 / n + centre * centre / s_xx).sqrt();
    let drift = Some((slope, scatter / s_xx.sqrt()));
    told(mean - slope * centre, u, n - 2.0, scatter, drift, confidence)
}

fn told(
    difference: f64,
    u: f64,
    freedom: f64,
    scatter: f64,
    drift: Option<(f64, f64)>,
    confidence: f64,
) -> Result<Paired, UncertaintyError> {
    let half = coverage_factor(confidence, freedom)? * u;
    let interval = Interval {
        low: finite("lower limit", difference - half)?,
        high: finite("upper limit", difference + half)?,
    };
    Ok(Paired { difference, u, freedom, scatter, interval, drift })
}

/// Pairs after which a true `difference` would be found to differ from zero, at this
/// confidence, with probability `power` (0.8 is usual), if single differences scatter by
/// `scatter`.
///
/// The least n with n ≥ (t_c + t_p)² (scatter/difference)², both t at n − 1; at a confidence of 0.95 and a power of 0.8 it is that
/// of the noncentral t to within one pair, at others it may be too few by some, by five at a power of 0.99.
///
/// # Errors
/// Numbers that are none, a power not within 0.5 to 0.999, more pairs than a million.
///
/// # Source
/// G. W. Snedecor and W. G. Cochran, *Statistical Methods*, 8th edition 1989, section 6.14 (from memory); the
/// formula with t instead of the normal quantile is common practice.
pub fn repeats_for_power(
    difference: f64,
    scatter: f64,
    confidence: f64,
    power: f64,
) -> Result<u64, UncertaintyError> {
    positive("difference", difference.abs())?;
    if !(0.5..=0.999).contains(&power) {
        let expected = "a probability from 0.5 to 0.999, such as 0.8";
        return Err(UncertaintyError::Number { what: "power".into(), value: power, expected });
    }
    // one tail beyond `power` is both tails beyond 2 power − 1
    let tail = |freedom| if power > 0.5 { coverage_factor(2.0 * power - 1.0, freedom) } else { Ok(0.0) };
    repeats(scatter / difference.abs(), scatter, &|f| Ok(coverage_factor(confidence, f)? + tail(f)?))
}

/// Pairs after which the interval would reach no further than `half_width` to either side,
/// if single differences scatter by `scatter`.
///
/// # Errors
/// Numbers that are none, more pairs than a million.
pub fn repeats_for_half_width(
    half_width: f64,
    scatter: f64,
    confidence: f64,
) -> Result<u64, UncertaintyError> {
    positive("half-width", half_width)?;
    repeats(scatter / half_width, scatter, &|freedom| coverage_factor(confidence, freedom))
}

/// The least n, from 2, with √n ≥ t(n − 1) · ratio: t falls with n, so halving finds it.
fn repeats(
    ratio: f64,
    scatter: f64,
    t: &dyn Fn(f64) -> Result<f64, UncertaintyError>,
) -> Result<u64, UncertaintyError> {
    positive("scatter", scatter)?;
    let enough = |n: u64| Ok::<bool, UncertaintyError>((n as f64).sqrt() >= t((n - 1) as f64)? * ratio);
    let (mut low, mut high) = (1, LIMIT);
    if !enough(high)? {
        return Err(UncertaintyError::Endless { limit: LIMIT });
    }
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        if enough(middle)? { high = middle } else { low = middle }
    }
    Ok(high)
}
