//! The search, and which parameters end on a bound.

use super::FitError;
use super::problem::{Desk, Search};
use levenberg_marquardt::{LevenbergMarquardt, TerminationReason};
use nalgebra::DMatrix;

/// Cosine between what is left over and its slope, above which a parameter wants to go on.
const PULL: f64 = 1e-6;

/// A best fit in u.
pub(super) struct Found {
    pub at: Vec<f64>,
    pub predicted: Vec<f64>,
    /// What is left over, observations before priors.
    pub left: Vec<f64>,
    /// Its slopes in u.
    pub slopes: DMatrix<f64>,
    /// The bound each one is on, if it would go on.
    pub on_bound: Vec<Option<f64>>,
}

impl Found {
    /// Sum of squares of the first `n` that are left over.
    pub fn data_squares(&self, n: usize) -> f64 {
        self.left.iter().take(n).map(|r| r * r).sum()
    }

    /// As if the standard deviations of the first `n` had been so many times as large.
    pub fn rescale(&mut self, n: usize, factor: f64) {
        self.left.iter_mut().take(n).for_each(|r| *r /= factor);
        let mut data = self.slopes.rows_mut(0, n.min(self.slopes.nrows()));
        data /= factor;
    }
}

/// Searches from `u`; a parameter that has come near a bound and is pulled beyond is put on
/// it and the search goes on without; it comes back, once, if it is pulled inward later.
///
/// # Errors
/// As [`super::fit`].
pub(super) fn minimise(desk: &mut Desk, mut u: Vec<f64>) -> Result<Found, FitError> {
    let n = u.len();
    let mut on_bound: Vec<Option<f64>> = vec![None; n];
    let mut came_back = vec![false; n];
    if let Err(message) = desk.trial(&u) {
        return Err(desk.fault.take().unwrap_or(FitError::Start { at: desk.told(&u), message }));
    }
    loop {
        let free: Vec<usize> = (0..n).filter(|&j| on_bound[j].is_none()).collect();
        if !free.is_empty() && desk.unfinished.is_none() {
            u = search(desk, free, u)?;
        }
        let trial = desk.trial(&u).map_err(|message| FitError::Start { at: desk.told(&u), message })?;
        let slopes = desk.slopes(&u, &trial)?;
        let norm = trial.left.iter().map(|r| r * r).sum::<f64>().sqrt();
        let mut moved = false;
        for j in 0..n {
            let axis = desk.axes[j];
            let column = slopes.column(j);
            let pull = -column.iter().zip(&trial.left).map(|(s, r)| s * r).sum::<f64>();
            let strong = pull.abs() > PULL * norm * column.norm();
            let (below, above) = (u[j] - axis.low < axis.near(), axis.high - u[j] < axis.near());
            match on_bound[j] {
                None if strong && !came_back[j] && (below && pull < 0.0 || above && pull > 0.0) => {
                    u[j] = if pull < 0.0 { axis.low } else { axis.high };
                    on_bound[j] = Some(u[j]);
                    moved = true;
                }
                Some(bound) if strong && (bound == axis.low) == (pull > 0.0) => {
                    u[j] = axis.inside(axis.value(bound));
                    on_bound[j] = None;
                    came_back[j] = true;
                    moved = true;
                }
                _ => {}
            }
        }
        // each can be put on a bound twice and taken off once at most, so this ends
        if !moved || desk.unfinished.is_some() {
            return Ok(Found { at: u, predicted: trial.predicted, left: trial.left, slopes, on_bound });
        }
    }
}

/// One search without bounds, over the coordinates that are free.
fn search(desk: &mut Desk, free: Vec<usize>, u: Vec<f64>) -> Result<Vec<f64>, FitError> {
    let tolerance = desk.options.tolerance;
    let library = LevenbergMarquardt::new()
        .with_ftol(tolerance)
        .with_xtol(tolerance)
        .with_gtol(0.0)
        // our own limit counts slopes too and comes first
        .with_patience(desk.options.evaluations.clamp(1, 1_000_000));
    let (search, report) = library.minimize(Search::new(desk, free, u));
    let Search { desk, best, creeps, .. } = search;
    let (desk, (chi2, at)) = (desk.into_inner(), best.into_inner());
    let stopped = |desk: &Desk, reason: String| FitError::NotConverged {
        evaluations: desk.evaluations,
        reason,
        chi2,
        at: desk.told(&at),
    };
    match desk.fault.take() {
        Some(FitError::NotConverged { reason, .. }) if desk.options.unfinished => {
            desk.unfinished = Some(reason);
            return Ok(at);
        }
        Some(FitError::NotConverged { reason, .. }) => return Err(stopped(desk, reason)),
        Some(fault) => return Err(fault),
        None if creeps.get() => return Ok(at),
        None => {}
    }
    match report.termination {
        TerminationReason::ResidualsZero
        | TerminationReason::Orthogonal
        | TerminationReason::Converged { .. }
        // the last digit is reached
        | TerminationReason::NoImprovementPossible(_) => Ok(at),
        TerminationReason::LostPatience if desk.options.unfinished => {
            desk.unfinished = Some("the limit set for them".into());
            Ok(at)
        }
        TerminationReason::Numerical(what) => Err(stopped(desk, format!("{what} is not finite"))),
        TerminationReason::LostPatience => Err(stopped(desk, "the limit set for them".into())),
        other => Err(stopped(desk, format!("{other:?}"))),
    }
}
