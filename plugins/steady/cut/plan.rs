//! Cutting in steps: metal does not grow back. From what is expected along the cut, and how surely, to what to do next.

use engine::root::bracketed;
use engine::sampling::Distribution;

use super::outlook::{Measure, Outlook, Stage};

/// One place along a cut.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Place {
    /// Taken off in all, m; the first place is the present one.
    pub removed: f64,
    /// Expected measure; more is better.
    pub mean: f64,
    /// Its standard uncertainty.
    pub sd: f64,
    /// Correlation with the present place: what one does not know of the propeller moves both.
    pub correlation: f64,
}

/// A place seen from the present one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Step {
    /// Taken off in all, m.
    pub removed: f64,
    /// Expected gain over the present.
    pub gain: f64,
    /// Its standard uncertainty.
    pub sd: f64,
    /// Probability that it is worse than now.
    pub regret: f64,
}

/// What to do next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Advice {
    /// Nothing along the cut is expected to be better than now.
    Stop,
    /// A gain is expected, but the next step is too likely to be regretted: measure first.
    Measure,
    /// Cut to the first step, test, fit, and ask again.
    Cut,
}

/// A plan.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Plan {
    pub advice: Advice,
    /// All places beyond the present one.
    pub steps: Vec<Step>,
    /// The place that is expected to be best, among the steps; none where it is the present one.
    pub best: Option<Step>,
    /// Greatest probability of regret that is taken.
    pub acceptable: f64,
}

/// From places along one cut, rising, the first being the present: what to do next. The gain is taken for normal.
/// None where there is nothing to cut to, or a number is missing.
///
/// The next step is always the smallest offered: a test after it tells more than any forecast, and what lies beyond
/// stays open.
pub(crate) fn plan(places: &[Place], acceptable: f64) -> Option<Plan> {
    let (now, rest) = places.split_first()?;
    if places.iter().any(|p| ![p.removed, p.mean, p.sd, p.correlation].iter().all(|x| x.is_finite())) {
        return None;
    }
    let steps: Vec<Step> = rest
        .iter()
        .map(|p| {
            let gain = p.mean - now.mean;
            let variance = p.sd * p.sd + now.sd * now.sd - 2.0 * p.correlation * p.sd * now.sd;
            let sd = variance.max(0.0).sqrt();
            Step { removed: p.removed, gain, sd, regret: below_nil(gain, sd) }
        })
        .collect();
    let next = *steps.first()?;
    let best =
        steps.iter().copied().filter(|s| s.gain > 0.0).reduce(|a, b| if b.gain > a.gain { b } else { a });
    let advice = match best {
        None => Advice::Stop,
        Some(_) if next.regret > acceptable => Advice::Measure,
        Some(_) => Advice::Cut,
    };
    Some(Plan { advice, steps, best, acceptable })
}

/// Probability that a normal quantity lies below nil.
pub(crate) fn below_nil(mean: f64, sd: f64) -> f64 {
    // round-off of equal numbers is no doubt
    if sd <= 1e-9 * mean.abs() || sd == 0.0 {
        return match mean {
            m if m > 0.0 => 0.0,
            m if m < 0.0 => 1.0,
            _ => 0.5,
        };
    }
    let z = -mean / sd;
    let normal = Distribution::Normal { mean: 0.0, deviation: 1.0 };
    const LEAST: f64 = 1e-12;
    if z <= normal.quantile(LEAST) {
        return 0.0;
    }
    if z >= normal.quantile(1.0 - LEAST) {
        return 1.0;
    }
    bracketed(|p| normal.quantile(p) - z, LEAST, 1.0 - LEAST).unwrap_or(f64::NAN)
}

/// Places along one way by one measure: expected as the setup stands, spread as the draws say. Ends before the first at
/// which some draw tells nothing.
pub(crate) fn along(nominal: &Outlook, spread: &Outlook, way: &str, measure: Measure) -> Vec<Place> {
    let Some(now) = spread.along(way).next() else { return Vec::new() };
    let place = |(expected, drawn): (&Stage, &Stage)| -> Option<Place> {
        let (sd, here) = (drawn.sd(measure)?, now.sd(measure)?);
        let both = sd * here;
        let correlation = if both > 0.0 { now.covariance(drawn, measure)? / both } else { 0.0 };
        Some(Place {
            removed: expected.removed,
            mean: measure.better() * expected.mean(measure)?,
            sd,
            correlation,
        })
    };
    nominal.along(way).zip(spread.along(way)).map_while(place).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(removed: f64, mean: f64, sd: f64, correlation: f64) -> Place {
        Place { removed, mean, sd, correlation }
    }

    #[test]
    fn the_normal_probability_is_the_tabulated_one() {
        // Φ(−1) and Φ(1.96) from tables, four digits and more
        assert!((below_nil(1.0, 1.0) - 0.158_655).abs() < 1e-6);
        assert!((below_nil(-1.96, 1.0) - 0.975_002).abs() < 1e-6);
        assert_eq!([below_nil(1.0, 0.0), below_nil(-1.0, 0.0), below_nil(0.0, 0.0)], [0.0, 1.0, 0.5]);
        assert_eq!([below_nil(50.0, 1.0), below_nil(-50.0, 1.0)], [0.0, 1.0]);
    }

    #[test]
    fn a_sure_gain_is_cut_for_and_a_sure_loss_is_not() {
        let up =
            [place(0.0, 300.0, 20.0, 1.0), place(0.002, 310.0, 20.0, 0.999), place(0.004, 305.0, 20.0, 0.99)];
        let plan_up = plan(&up, 0.2).unwrap();
        assert_eq!(plan_up.advice, Advice::Cut);
        assert_eq!(plan_up.best.unwrap().removed, 0.002);
        // 20² + 20² − 2 · 0.999 · 20²: 0.894
        assert!((plan_up.steps[0].sd - 0.8f64.sqrt()).abs() < 1e-9);
        let down = [place(0.0, 300.0, 20.0, 1.0), place(0.002, 290.0, 20.0, 0.999)];
        assert_eq!(plan(&down, 0.2).unwrap().advice, Advice::Stop);
        assert!(plan(&down, 0.2).unwrap().best.is_none());
    }

    #[test]
    fn what_moves_both_places_alike_does_not_count_and_what_does_not_is_measured_first() {
        let unsure = [place(0.0, 300.0, 20.0, 1.0), place(0.002, 304.0, 20.0, 0.2)];
        let plan_unsure = plan(&unsure, 0.2).unwrap();
        assert_eq!(plan_unsure.advice, Advice::Measure);
        let alike = [place(0.0, 300.0, 20.0, 1.0), place(0.002, 304.0, 20.0, 1.0)];
        assert_eq!(plan(&alike, 0.2).unwrap().steps[0].regret, 0.0);
    }

    #[test]
    fn nothing_to_cut_to_and_no_numbers_give_no_plan() {
        assert!(plan(&[], 0.2).is_none());
        assert!(plan(&[place(0.0, 1.0, 0.1, 1.0)], 0.2).is_none());
        assert!(plan(&[place(0.0, 1.0, 0.1, 1.0), place(0.1, f64::NAN, 0.1, 1.0)], 0.2).is_none());
    }
}
