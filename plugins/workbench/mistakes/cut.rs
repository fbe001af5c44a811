//! Fits in which a single odd reading counts for no more than a bound.

use engine::calibration::{CLOCK, Problem};
use engine::fit::{self, FitError, Fitted, Observation, Predict, Unknown};

/// Standard uncertainties from which on a reading counts no further: of sound ones, six in 100 000 lie beyond.
pub const BEYOND: f64 = 4.0;
/// Rounds in which odd readings and parameters are found in turn.
const ROUNDS: usize = 6;
/// Predictions a fit may take: one that fits takes a tenth of them from what was known beforehand.
const EVALUATIONS: usize = 300;
/// More than one in this many are not single odd readings.
const MANY: usize = 4;
/// Factor on the uncertainty of a reading that is to count for nothing.
const NOTHING: f64 = 1e5;

/// A fit without its odd readings.
pub struct Cut {
    /// What was found.
    pub fitted: Fitted,
    /// Σ min(r², [`BEYOND`]²) over the readings plus what the priors leave over.
    pub squares: f64,
    /// Readings beyond.
    pub odd: usize,
}

/// Sum of squares in which no reading counts for more than [`BEYOND`], and what each leaves over. `counted` tells which
/// readings the fit was made with.
fn squares(fitted: &Fitted, counted: &[bool]) -> (f64, Vec<f64>) {
    let mut data = 0.0;
    let (mut sum, mut left) = (0.0, Vec::new());
    for (residual, &counted) in fitted.residuals.iter().zip(counted) {
        data += residual.normalised.powi(2);
        let r = residual.normalised.abs() * if counted { 1.0 } else { NOTHING };
        sum += r.powi(2).min(BEYOND * BEYOND);
        left.push(r);
    }
    (sum + (fitted.chi2 - data).max(0.0), left)
}

/// Which readings are to count next: the farthest go first, for one that is far out draws sound ones along.
fn sound(left: &[f64], counted: &[bool]) -> Vec<bool> {
    let farthest =
        left.iter().zip(counted).filter(|(_, counted)| **counted).map(|(r, _)| *r).fold(0.0, f64::max);
    left.iter().map(|r| *r <= BEYOND.max(0.5 * farthest)).collect()
}

/// Leaves odd readings out and fits again, in turn, from a first fit; the best of the rounds.
fn rounds(
    first: Fitted,
    unknowns: &[Unknown],
    observations: &[Observation],
    predict: &mut Predict,
    options: &fit::Options,
) -> Cut {
    let mut counted = vec![true; observations.len()];
    let beyond = |left: &[f64]| left.iter().filter(|r| **r > BEYOND).count();
    let (sum, mut left) = squares(&first, &counted);
    let mut best = Cut { fitted: first, squares: sum, odd: beyond(&left) };
    for _ in 0..ROUNDS {
        let next = sound(&left, &counted);
        let out = next.iter().filter(|sound| !**sound).count();
        if next == counted || out > observations.len() / MANY {
            break;
        }
        counted = next;
        let kept = |(o, &counted): (&Observation, &bool)| Observation {
            sd: o.sd * if counted { 1.0 } else { NOTHING },
            ..o.clone()
        };
        let observations: Vec<Observation> = observations.iter().zip(&counted).map(kept).collect();
        let from = |(u, &x): (&Unknown, &f64)| Unknown { start: x, ..u.clone() };
        let unknowns: Vec<Unknown> = unknowns.iter().zip(&best.fitted.values).map(from).collect();
        let Ok(fitted) = fit::fit(&unknowns, &observations, predict, options) else { break };
        let (sum, r) = squares(&fitted, &counted);
        left = r;
        if sum >= best.squares {
            // what is left out does not bring the others nearer: these are no single odd readings
            break;
        }
        best = Cut { fitted, squares: sum, odd: beyond(&left) };
    }
    best
}

/// Unknowns that begin at these values, if there are any.
fn started(mut unknowns: Vec<Unknown>, from: Option<&[f64]>) -> Vec<Unknown> {
    for (unknown, &x) in unknowns.iter_mut().zip(from.unwrap_or_default()) {
        unknown.start = x;
    }
    unknowns
}

/// Sums of squares are compared to a tenth or so: a search need not go on to round-off, nor for long where nothing fits.
fn options(problem: &Problem) -> fit::Options {
    fit::Options { tolerance: 1e-6, evaluations: EVALUATIONS, ..problem.options() }
}

/// The fit of a problem to its readings, from values near which it may lie or from what was known beforehand.
///
/// # Errors
/// As [`fit::fit`].
pub fn fresh(problem: &Problem, from: Option<&[f64]>) -> Result<Cut, FitError> {
    // clocks want to be looked for before the search begins
    if problem.sought.iter().any(|s| s.parameter == CLOCK) {
        let first = problem.fit_to(&problem.observations())?;
        return Ok(again(problem, first));
    }
    with(problem, &mut |x| problem.predict(x), from)
}

/// The same with these predictions.
///
/// # Errors
/// As [`fit::fit`].
pub fn with(problem: &Problem, predict: &mut Predict, from: Option<&[f64]>) -> Result<Cut, FitError> {
    let (unknowns, observations) = (started(problem.unknowns(), from), problem.observations());
    let options = options(problem);
    let first = fit::fit(&unknowns, &observations, predict, &options)?;
    Ok(rounds(first, &unknowns, &observations, predict, &options))
}

/// The same from a fit that was done.
pub fn again(problem: &Problem, first: Fitted) -> Cut {
    let (unknowns, observations) = (problem.unknowns(), problem.observations());
    rounds(first, &unknowns, &observations, &mut |x| problem.predict(x), &options(problem))
}

/// The fit of a problem in which some readings are off by a common factor that nobody knows, e^−θ: their true values
/// are e^θ times what was written. θ is the last of the unknowns.
///
/// # Errors
/// As [`fit::fit`]; none of these readings, or of what is predicted of them, is above zero.
pub fn with_factor(
    problem: &Problem,
    model: &mut Predict,
    concerned: &[bool],
    from: Option<&[f64]>,
) -> Result<Cut, FitError> {
    let mut unknowns = started(problem.unknowns(), from);
    let observations = problem.observations();
    let start: Vec<f64> = unknowns.iter().map(|u| u.start).collect();
    let predicted = model(&start)
        .map_err(|message| FitError::Start { at: "what was known beforehand".into(), message })?;
    let pairs = predicted.iter().zip(&observations).zip(concerned).filter(|(_, concerned)| **concerned);
    let mut ratios: Vec<f64> =
        pairs.map(|((p, o), _)| (p / o.value).ln()).filter(|r| r.is_finite()).collect();
    ratios.sort_by(f64::total_cmp);
    let Some(&middle) = ratios.get(ratios.len() / 2) else {
        return Err(FitError::Empty { observations: 0, unknowns: 1 });
    };
    unknowns.push(Unknown { scale: 0.1, ..Unknown::new("factor", middle) });
    let mut predict = |x: &[f64]| -> Result<Vec<f64>, String> {
        let Some((theta, x)) = x.split_last() else { return Err("no unknowns".into()) };
        let read = |(p, &concerned): (f64, &bool)| if concerned { p * (-theta).exp() } else { p };
        Ok(model(x)?.into_iter().zip(concerned).map(read).collect())
    };
    let first = fit::fit(&unknowns, &observations, &mut predict, &options(problem))?;
    Ok(rounds(first, &unknowns, &observations, &mut predict, &options(problem)))
}

/// The fit of a problem in which some readings show so much more than they should that nobody knows, of which only `spread`, a
/// standard deviation about nothing, is known beforehand. It is the last of the unknowns.
///
/// # Errors
/// As [`fit::fit`].
pub fn with_zero(
    problem: &Problem,
    concerned: &[bool],
    spread: f64,
    from: Option<&[f64]>,
) -> Result<Cut, FitError> {
    let mut unknowns = started(problem.unknowns(), from);
    let observations = problem.observations();
    unknowns.push(Unknown { scale: 0.1 * spread, ..Unknown::new("zero", 0.0).about(0.0, spread) });
    let mut predict = |x: &[f64]| -> Result<Vec<f64>, String> {
        let Some((zero, x)) = x.split_last() else { return Err("no unknowns".into()) };
        let read = |(p, &concerned): (f64, &bool)| if concerned { p + zero } else { p };
        Ok(problem.predict(x)?.into_iter().zip(concerned).map(read).collect())
    };
    let first = fit::fit(&unknowns, &observations, &mut predict, &options(problem))?;
    Ok(rounds(first, &unknowns, &observations, &mut predict, &options(problem)))
}
