//! How well parameters are known: covariance, and what is not known at all.

use super::singular::singular;
use super::space::Axis;
use super::{FitError, Unidentified, Unknown, Why};
use nalgebra::{DMatrix, DVector};

/// Singular value, as a share of the largest, below which a direction counts as not told.
/// Slopes by differences are good to some 1e-10, so this is well above their errors.
const SINGULAR: f64 = 1e-7;
/// Effect of a parameter's usual size, in standard deviations, below which it has none.
const EFFECT: f64 = 1e-6;
/// Part in a direction that is not told, above which a parameter belongs to it.
const PART: f64 = 1e-3;
/// Ratio of standard deviations after and before, above which only the prior speaks.
const ONLY_PRIOR: f64 = 0.9;
/// Correlation above which two parameters are not told apart.
const TIED: f64 = 0.98;

/// Covariance in u, split into what is told and what is not.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Spread {
    /// Columns whose products make up the covariance of what is told, Σ f fᵀ.
    factor: DMatrix<f64>,
    /// Directions that nothing tells, in u; as shares of the columns' sizes in `parts`.
    pub free: Vec<DVector<f64>>,
    parts: Vec<DVector<f64>>,
    /// Parameters without any effect.
    idle: Vec<bool>,
    correlations: DMatrix<f64>,
}

impl Spread {
    /// From the slopes of what is left over.
    ///
    /// # Errors
    /// [`FitError::Slopes`].
    pub fn of(slopes: &DMatrix<f64>, axes: &[Axis], step: f64) -> Result<Spread, FitError> {
        let n = slopes.ncols();
        // columns of length one, so that units do not matter
        let sizes: Vec<f64> = (0..n).map(|j| slopes.column(j).norm()).collect();
        let idle: Vec<bool> = sizes.iter().zip(axes).map(|(size, axis)| size * axis.scale < EFFECT).collect();
        let mut scaled = DMatrix::zeros(slopes.nrows().max(n), n);
        let size = |j: usize| if idle[j] { 1.0 / axes[j].scale } else { sizes[j] };
        for j in (0..n).filter(|&j| !idle[j]) {
            scaled.view_mut((0, j), (slopes.nrows(), 1)).copy_from(&(slopes.column(j) / size(j)));
        }
        let found = singular(&scaled);
        let top = found.first().map_or(0.0, |(sigma, _)| *sigma);
        // truncation of the differences may hide that columns are the same
        let least = SINGULAR.max(10.0 * step * step) * top;
        let (mut columns, mut free, mut parts) = (Vec::new(), Vec::new(), Vec::new());
        let mut all = DMatrix::zeros(n, n);
        for (sigma, part) in found {
            let direction = DVector::from_fn(n, |j, _| part[j] / size(j));
            // for correlations, what is not told counts as told very badly
            let known = sigma.max(1e-2 * least).max(f64::MIN_POSITIVE.sqrt());
            all += &part * part.transpose() / (known * known);
            if sigma > least {
                columns.push(direction / sigma);
            } else {
                free.push(direction);
                parts.push(part);
            }
        }
        let factor = match columns.is_empty() {
            true => DMatrix::zeros(n, 0),
            false => DMatrix::from_columns(&columns),
        };
        let correlation = |i: usize, j: usize| {
            if i == j { 1.0 } else { (all[(i, j)] / (all[(i, i)] * all[(j, j)]).sqrt()).clamp(-1.0, 1.0) }
        };
        let correlations = DMatrix::from_fn(n, n, correlation);
        if factor.iter().chain(correlations.iter()).any(|v| !v.is_finite()) {
            return Err(FitError::Slopes);
        }
        Ok(Spread { factor, free, parts, idle, correlations })
    }

    /// Number of combinations that are told.
    pub fn rank(&self) -> usize {
        self.factor.ncols()
    }

    pub fn correlations(&self) -> &DMatrix<f64> {
        &self.correlations
    }

    /// Columns f with covariance Σ f fᵀ.
    pub fn factor(&self) -> &DMatrix<f64> {
        &self.factor
    }

    /// Whether anything tells this parameter.
    pub fn is_told(&self, j: usize) -> bool {
        self.parts.iter().all(|part| part[j].abs() < PART)
    }

    /// Variance in u of what is told.
    pub fn variance(&self, j: usize) -> f64 {
        self.factor.row(j).norm_squared()
    }

    /// Standard error in u; infinite where nothing tells.
    pub fn error(&self, j: usize) -> f64 {
        if self.is_told(j) { self.variance(j).sqrt() } else { f64::INFINITY }
    }

    /// Standard deviation of a linear function with this gradient in u.
    pub fn along(&self, gradient: &DVector<f64>) -> f64 {
        let depends = |direction: &DVector<f64>| {
            let terms = direction.component_mul(gradient);
            // beyond the round-off and truncation of slopes
            terms.sum().abs() > 1e-5 * terms.abs().sum()
        };
        if self.free.iter().any(depends) { f64::INFINITY } else { self.factor.tr_mul(gradient).norm() }
    }
}

/// What the readings do not tell.
pub(super) fn unidentified(unknowns: &[Unknown], spread: &Spread) -> Vec<Unidentified> {
    let mut list = Vec::new();
    let mut tell = |j: usize, why: Why| {
        list.push(Unidentified { name: unknowns[j].name.clone(), why });
    };
    for (j, unknown) in unknowns.iter().enumerate() {
        if spread.idle[j] {
            tell(j, Why::NoEffect);
        } else if let Some(prior) = unknown.prior.filter(|_| spread.is_told(j)) {
            let ratio = spread.error(j) / prior.sd;
            if ratio > ONLY_PRIOR {
                tell(j, Why::OnlyPrior { ratio });
            }
        }
    }
    for (direction, part) in spread.free.iter().zip(&spread.parts) {
        let members: Vec<usize> =
            (0..unknowns.len()).filter(|&j| !spread.idle[j] && part[j].abs() >= PART).collect();
        let Some(&first) = members.iter().max_by(|&&a, &&b| part[a].abs().total_cmp(&part[b].abs())) else {
            continue;
        };
        // the one that counts most moves by its usual size
        let by = unknowns[first].scale / direction[first];
        let moves = members.iter().map(|&j| (unknowns[j].name.clone(), by * direction[j])).collect();
        tell(first, Why::Together { moves });
    }
    for i in 0..unknowns.len() {
        for (j, other) in unknowns.iter().enumerate().skip(i + 1) {
            let correlation = spread.correlations[(i, j)];
            if spread.is_told(i) && spread.is_told(j) && correlation.abs() > TIED {
                tell(i, Why::Correlated { with: other.name.clone(), correlation });
            }
        }
    }
    list
}
