//! Parameters from readings: weighted nonlinear least squares with prior knowledge and
//! bounds, and how well each parameter is known afterwards.
//!
//! What is minimised is Σ ((predicted − read)/sd)² over the observations plus
//! ((u − mean)/sd)² over the priors, where u is the parameter, or its logarithm if the prior
//! is log-normal. Nothing here knows what the parameters are of.
//!
//! Bounds are kept by a change of variables; a parameter that wants to go beyond is put on
//! its bound. Standard errors and correlations come from (JᵀWJ)⁻¹, priors included, with
//! slopes from differences: they hold as far as the prediction is a straight line in u
//! over a few standard errors, and know nothing of the bounds.

mod check;
mod error;
mod minimise;
mod outlook;
mod problem;
pub mod setup;
mod singular;
mod slopes;
mod space;
mod spread;
mod unknown;

pub use error::{FitError, Unidentified, Why};
pub use outlook::Outlook;
pub use unknown::{Prior, Unknown};

use minimise::minimise;
use nalgebra::DMatrix;
use problem::Desk;
use space::Axis;
use spread::Spread;

/// Something that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// What and where, for messages.
    pub label: String,
    /// What was read.
    pub value: f64,
    /// Its standard uncertainty, above zero, independent of the others'.
    pub sd: f64,
}

/// What the standard deviations of the observations are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Scatter {
    /// Known: what is left over tells whether the model fits.
    #[default]
    Known,
    /// Known but for a common factor, which is found from what is left over. Whether the
    /// model fits cannot be told then.
    Estimated,
}

/// How the search goes about.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// Step of difference quotients, as a share of the usual size or the value. The default
    /// suits predictions exact to round-off; take 1e-3 for those of a run in time.
    pub step: f64,
    /// Relative change of the sum of squares, or of the parameters, at which the search ends.
    pub tolerance: f64,
    /// Most predictions.
    pub evaluations: usize,
    /// What the standard deviations are.
    pub scatter: Scatter,
    /// Whether a search that comes to no end gives what it had, which [`Fitted::unfinished`] then says, in place of an error.
    pub unfinished: bool,
}

impl Default for Options {
    fn default() -> Options {
        // cube root of the round-off: truncation and round-off of central differences are equal
        Options {
            step: 6e-6,
            tolerance: 1e-12,
            evaluations: 10_000,
            scatter: Scatter::Known,
            unfinished: false,
        }
    }
}

/// An observation beside its prediction.
#[derive(Debug, Clone, PartialEq)]
pub struct Residual {
    /// What and where.
    pub label: String,
    /// What was read.
    pub observed: f64,
    /// What the fitted model says.
    pub predicted: f64,
    /// (predicted − observed)/sd, with the sd as it was told.
    pub normalised: f64,
}

/// Parameters that were found.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// Names, in the order given.
    pub names: Vec<String>,
    /// Values.
    pub values: Vec<f64>,
    /// Standard errors, priors included; infinite where neither readings nor priors tell.
    pub errors: Vec<f64>,
    /// Correlation matrix of the parameters (of their logarithms where the prior is log-normal).
    pub correlations: Vec<Vec<f64>>,
    /// The observations, in the order given.
    pub residuals: Vec<Residual>,
    /// Least sum of squares of what is left over, priors included, with the sds as they were told.
    pub chi2: f64,
    /// Observations and priors less the parameters (and combinations of them) that they tell.
    pub dof: usize,
    /// Degrees of freedom of the standard errors: infinite where the scatter was known.
    pub freedom: f64,
    /// Factor on the sds as they were told; 1 where the scatter was known.
    pub scatter: f64,
    /// Predictions made.
    pub evaluations: usize,
    /// Why the search came to no end: the values are the best it had, and no best fit.
    pub unfinished: Option<String>,
    /// What the readings do not tell.
    pub unidentified: Vec<Unidentified>,
    /// Parameters on a bound, with the bound: they would go on if they might.
    pub at_bound: Vec<(String, f64)>,
    /// What maps values to where they are normal, and the spread there.
    axes: Vec<Axis>,
    at: Vec<f64>,
    spread: Spread,
    step: f64,
}

/// A model: parameters in, what would be read out, in the order of the observations.
pub type Predict<'a> = dyn FnMut(&[f64]) -> Result<Vec<f64>, String> + 'a;

/// Rounds in which parameters and a common scatter are found in turn, where there are priors.
const ROUNDS: usize = 50;

/// Finds the parameters that fit best.
///
/// A prediction that fails at a trial is taken as a wall: the step is shortened. The result
/// is a local best; another start may find another. On a kink of the predictions the search ends when it no longer gains what
/// matters. The same input gives the same bytes.
///
/// # Errors
/// Senseless input, a prediction that fails at the start or all round, no end of the search.
pub fn fit(
    unknowns: &[Unknown],
    observations: &[Observation],
    predict: &mut Predict,
    options: &Options,
) -> Result<Fitted, FitError> {
    check::check(unknowns, observations, options)?;
    let axes: Vec<Axis> = unknowns.iter().map(Axis::of).collect();
    let start = axes.iter().zip(unknowns).map(|(axis, unknown)| axis.inside(unknown.start)).collect();
    let mut desk = Desk::new(unknowns, &axes, observations, predict, options);
    let priors = unknowns.iter().filter(|u| u.prior.is_some()).count();
    let mut found = minimise(&mut desk, start)?;
    let mut freedom = f64::INFINITY;
    if options.scatter == Scatter::Estimated {
        for round in 0.. {
            // priors do not grow with the scatter, so the best values move with it
            let spread = Spread::of(&found.slopes, &axes, options.step)?;
            freedom = observations.len() as f64 - told(unknowns, &spread);
            if freedom <= 1e-9 {
                let (observations, unknowns) = (observations.len(), unknowns.len());
                return Err(FitError::NoFreedom { observations, unknowns });
            }
            let factor = (found.data_squares(observations.len()) / freedom).sqrt();
            if factor == 0.0 {
                return Err(FitError::NoScatter);
            }
            desk.scatter *= factor;
            if priors > 0 && round < ROUNDS && (factor - 1.0).abs() > 1e-9 {
                let from = axes.iter().zip(&found.at).map(|(axis, &u)| axis.inside(axis.value(u))).collect();
                found = minimise(&mut desk, from)?;
                continue;
            }
            found.rescale(observations.len(), factor);
            break;
        }
    }
    let spread = Spread::of(&found.slopes, &axes, options.step)?;
    Ok(report(&desk, found, spread, freedom))
}

/// Parameters, or shares of them, that were found from observations and not from priors.
fn told(unknowns: &[Unknown], spread: &Spread) -> f64 {
    let from_prior = |(j, unknown): (usize, &Unknown)| {
        unknown.prior.map_or(0.0, |prior| spread.variance(j) / (prior.sd * prior.sd))
    };
    spread.rank() as f64 - unknowns.iter().enumerate().map(from_prior).sum::<f64>()
}

fn report(desk: &Desk, found: minimise::Found, spread: Spread, freedom: f64) -> Fitted {
    let (unknowns, axes) = (desk.unknowns, desk.axes);
    let values: Vec<f64> = axes.iter().zip(&found.at).map(|(axis, &u)| axis.value(u)).collect();
    let normalised = |i: usize| found.left.get(i).copied().unwrap_or_default() * desk.scatter;
    let residual = |(i, o): (usize, &Observation)| Residual {
        label: o.label.clone(),
        observed: o.value,
        predicted: found.predicted.get(i).copied().unwrap_or_default(),
        normalised: normalised(i),
    };
    let residuals: Vec<Residual> = desk.observations.iter().enumerate().map(residual).collect();
    let priors = found.left.iter().skip(residuals.len());
    let chi2 =
        residuals.iter().map(|r| r.normalised.powi(2)).sum::<f64>() + priors.map(|r| r * r).sum::<f64>();
    let errors = (0..axes.len()).map(|j| axes[j].stretch(found.at[j]) * spread.error(j)).collect();
    let bound = |(j, side): (usize, &Option<f64>)| Some((unknowns[j].name.clone(), axes[j].value((*side)?)));
    Fitted {
        names: unknowns.iter().map(|u| u.name.clone()).collect(),
        values,
        errors,
        correlations: rows(spread.correlations()),
        chi2,
        dof: found.left.len().saturating_sub(spread.rank()),
        freedom,
        scatter: desk.scatter,
        evaluations: desk.evaluations,
        unfinished: desk.unfinished.clone(),
        unidentified: spread::unidentified(unknowns, &spread),
        at_bound: found.on_bound.iter().enumerate().filter_map(bound).collect(),
        residuals,
        axes: axes.to_vec(),
        at: found.at,
        spread,
        step: desk.options.step,
    }
}

fn rows(matrix: &DMatrix<f64>) -> Vec<Vec<f64>> {
    matrix.row_iter().map(|row| row.iter().copied().collect()).collect()
}

#[cfg(test)]
mod tests;
