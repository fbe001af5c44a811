//! Predictions along straight lines from a point: thousands of trials for the price of a few.

use engine::calibration::Problem;
use engine::fit::Prior;

/// Step of the slopes, in usual sizes of a parameter.
const STEP: f64 = 1e-4;

/// What is predicted at a point, and its slopes there.
pub struct Linear {
    at: Vec<f64>,
    logarithmic: Vec<bool>,
    values: Vec<f64>,
    /// One for each parameter.
    slopes: Vec<Vec<f64>>,
}

impl Linear {
    /// At these values; `None` where nothing is predicted there or beside.
    pub fn of(problem: &Problem, at: &[f64]) -> Option<Linear> {
        let values = problem.predict(at).ok()?;
        let unknowns = problem.unknowns();
        let (mut slopes, mut logarithmic) = (Vec::new(), Vec::new());
        for (j, (unknown, &x)) in unknowns.iter().zip(at).enumerate() {
            let beside = |x: f64| {
                let mut all = at.to_vec();
                all[j] = x.clamp(unknown.low, unknown.high);
                Some((all[j], problem.predict(&all).ok()?))
            };
            let h = STEP * unknown.scale;
            let ((high, up), (low, down)) = (beside(x + h)?, beside(x - h)?);
            let slope: Vec<f64> = up.iter().zip(&down).map(|(u, d)| (u - d) / (high - low)).collect();
            if slope.len() != values.len() || slope.iter().any(|s| !s.is_finite()) {
                return None;
            }
            slopes.push(slope);
            logarithmic.push(matches!(unknown.prior, Some(Prior { log: true, .. })) && x > 0.0);
        }
        Some(Linear { at: at.to_vec(), logarithmic, values, slopes })
    }

    /// What is predicted at other values; straight in the logarithm where this is what is known of a parameter.
    pub fn predict(&self, x: &[f64]) -> Vec<f64> {
        let mut out = self.values.clone();
        for (j, (&x, &at)) in x.iter().zip(&self.at).enumerate() {
            let by = if self.logarithmic[j] { at * (x / at).ln() } else { x - at };
            out.iter_mut().zip(&self.slopes[j]).for_each(|(out, slope)| *out += slope * by);
        }
        out
    }
}
