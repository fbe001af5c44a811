//! What a fit says about other things: intervals, predictions, draws.

use super::slopes::slopes;
use super::{FitError, Fitted};
use crate::sampling::{Distribution, Draws, Scheme};
use crate::statistics::Interval;
use crate::statistics::uncertainty::coverage_factor;
use nalgebra::DVector;
use statrs::function::gamma::checked_gamma_ur;

/// A predicted quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outlook {
    /// At the fitted parameters.
    pub mean: f64,
    /// Standard deviation that comes from the parameters; a new reading scatters besides.
    /// Infinite where the quantity depends on something that nothing tells.
    pub sd: f64,
}

/// Draws tried for one that lies within the bounds; rarely more than a few where the bounds leave
/// room for a part in ten.
const TRIES: u64 = 256;

impl Fitted {
    fn place(&self, name: &str) -> Result<usize, FitError> {
        let missing = || FitError::NoUnknown { name: name.into(), known: self.names.join(", ") };
        self.names.iter().position(|known| known == name).ok_or_else(missing)
    }

    /// Value of a parameter.
    ///
    /// # Errors
    /// No such parameter.
    pub fn value(&self, name: &str) -> Result<f64, FitError> {
        self.place(name).map(|j| self.values[j])
    }

    /// Standard error of a parameter.
    ///
    /// # Errors
    /// No such parameter.
    pub fn error(&self, name: &str) -> Result<f64, FitError> {
        self.place(name).map(|j| self.errors[j])
    }

    /// Limits of a parameter with this confidence: normal, or Student's where the scatter was
    /// estimated; of the logarithm where its prior is log-normal. Cut at the bounds.
    ///
    /// # Errors
    /// No such parameter, a confidence that is none.
    pub fn interval(&self, name: &str, confidence: f64) -> Result<Interval, FitError> {
        let j = self.place(name)?;
        let wrong = |_| FitError::Number {
            what: "confidence".into(),
            value: confidence,
            expected: "a number above 0 and at most 0.999999, such as 0.95".into(),
        };
        let half = coverage_factor(confidence, self.freedom).map_err(wrong)? * self.spread.error(j);
        let (axis, u) = (&self.axes[j], self.at[j]);
        let end = |u: f64| axis.value(u.max(axis.low).min(axis.high));
        Ok(Interval { low: end(u - half), high: end(u + half) })
    }

    /// Probability that readings which scatter as told leave at least as much over: below a
    /// hundredth or so, the model (or the scatter) is wrong. `None` where the scatter was
    /// estimated or nothing is left over.
    pub fn chance(&self) -> Option<f64> {
        if self.dof == 0 || self.freedom.is_finite() {
            return None;
        }
        // the tail is not computed at zero itself
        if self.chi2 == 0.0 {
            return Some(1.0);
        }
        checked_gamma_ur(0.5 * self.dof as f64, 0.5 * self.chi2).ok().filter(|p| p.is_finite())
    }

    /// A quantity that depends on the parameters, with the standard deviation that these give
    /// it, by its slopes at the best fit.
    ///
    /// # Errors
    /// No finite value there or beside it.
    pub fn predict_with(
        &self,
        quantity: &mut dyn FnMut(&[f64]) -> Result<f64, String>,
    ) -> Result<Outlook, FitError> {
        let mean = quantity(&self.values).and_then(|mean| match mean.is_finite() {
            true => Ok(mean),
            false => Err(format!("the quantity is {mean}")),
        });
        let told =
            || self.names.iter().zip(&self.values).map(|(n, v)| format!("{n} = {v}")).collect::<Vec<_>>();
        let mean = mean.map_err(|message| FitError::Start { at: told().join(", "), message })?;
        let mut one = |x: &[f64]| quantity(x).map(|value| vec![value]);
        let slopes = slopes(&self.axes, &self.at, self.step, &[mean], &mut one).map_err(|(j, message)| {
            FitError::Beside { name: self.names[j].clone(), value: self.values[j], message }
        })?;
        let gradient = DVector::from_fn(self.at.len(), |j, _| slopes[(0, j)]);
        Ok(Outlook { mean, sd: self.spread.along(&gradient) })
    }

    /// Points of all parameters together, two for each direction that the fit knows apart, `reach` of its standard
    /// deviations up and down, within the bounds. With `reach` = √(k − ½), k the number of directions (of these and of
    /// other, independent unknowns moved likewise), mean and covariance over all 2k points, divisor 2k − 1, are those of the
    /// fit where the bounds do not cut.
    ///
    /// # Errors
    /// A parameter that nothing tells.
    pub fn either_side(&self, reach: f64) -> Result<Vec<Vec<f64>>, FitError> {
        let size = self.at.len();
        if let Some(j) = (0..size).find(|&j| !self.spread.is_told(j)) {
            return Err(FitError::Unbounded(self.names[j].clone()));
        }
        let factor = self.spread.factor();
        let mut points = Vec::new();
        for k in 0..factor.ncols() {
            for side in [reach, -reach] {
                let along = factor.column(k);
                let moved = self.at.iter().zip(along.iter()).map(|(u, by)| u + side * by);
                let within =
                    moved.zip(&self.axes).map(|(u, axis)| axis.value(u.max(axis.low).min(axis.high)));
                points.push(within.collect());
            }
        }
        Ok(points)
    }

    /// `n` draws of all parameters together, each in the order of [`Fitted::names`], from the
    /// normal distribution of the fit (log-normal where the prior is), within the bounds. The same seed
    /// gives the same draws. Where the scatter was estimated from few readings they are a
    /// little too close together: their tails are not Student's.
    ///
    /// # Errors
    /// A parameter that nothing tells.
    pub fn samples(&self, n: u64, seed: u64) -> Result<Vec<Vec<f64>>, FitError> {
        let size = self.at.len();
        if let Some(j) = (0..size).find(|&j| !self.spread.is_told(j)) {
            return Err(FitError::Unbounded(self.names[j].clone()));
        }
        if n == 0 {
            return Ok(Vec::new());
        }
        let points = n.saturating_mul(TRIES);
        let draws = Draws::new(Scheme::Random { n: points }, size, seed).map_err(|_| FitError::Slopes)?;
        let normal = Distribution::Normal { mean: 0.0, deviation: 1.0 };
        let mut unit = vec![0.0; size];
        let mut one = |i: u64| {
            let mut u = Vec::new();
            for attempt in 0..TRIES {
                draws.at(i * TRIES + attempt, &mut unit);
                let independent = DVector::from_fn(size, |k, _| normal.quantile(unit[k]));
                let moved = self.spread.factor() * independent;
                u = self.at.iter().zip(&moved).map(|(u, by)| u + by).collect();
                if u.iter().zip(&self.axes).all(|(u, axis)| (axis.low..=axis.high).contains(u)) {
                    break;
                }
            }
            let within = u.iter().zip(&self.axes).map(|(u, axis)| axis.value(u.max(axis.low).min(axis.high)));
            within.collect::<Vec<f64>>()
        };
        Ok((0..n).map(&mut one).collect())
    }
}
