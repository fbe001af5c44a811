//! Whether a question makes sense before it is asked.

use super::{FitError, Observation, Options, Unknown};

/// # Errors
/// The first thing that makes no sense, with its number.
pub(super) fn check(
    unknowns: &[Unknown],
    observations: &[Observation],
    options: &Options,
) -> Result<(), FitError> {
    if unknowns.is_empty() || observations.is_empty() {
        return Err(FitError::Empty { unknowns: unknowns.len(), observations: observations.len() });
    }
    for (i, unknown) in unknowns.iter().enumerate() {
        let taken = unknowns.iter().take(i).any(|other| other.name == unknown.name);
        if taken || unknown.name.is_empty() {
            return Err(FitError::Name(unknown.name.clone()));
        }
        one(unknown)?;
    }
    for Observation { label, value, sd } in observations {
        number(value.is_finite(), label, *value, "a finite number")?;
        let sound = sd.is_finite() && *sd > 0.0;
        number(sound, &format!("standard deviation of {label}"), *sd, "a number above zero")?;
    }
    number((1e-12..=0.1).contains(&options.step), "step", options.step, "1e-12 to 0.1")?;
    let sound = (1e-15..=0.1).contains(&options.tolerance);
    number(sound, "tolerance", options.tolerance, "1e-15 to 0.1")?;
    number(options.evaluations > 0, "evaluations", options.evaluations as f64, "at least 1")
}

fn one(unknown: &Unknown) -> Result<(), FitError> {
    let Unknown { name, start, low, high, prior, scale } = unknown;
    let between = format!("within {low} to {high}");
    number(low < high, &format!("lower bound of {name}"), *low, &format!("less than the upper, {high}"))?;
    number(
        start.is_finite() && (low..=high).contains(&start),
        &format!("start of {name}"),
        *start,
        &between,
    )?;
    let sound = scale.is_finite() && *scale > 0.0;
    number(sound, &format!("scale of {name}"), *scale, "a number above zero")?;
    let Some(prior) = prior else {
        return Ok(());
    };
    let sound = prior.sd.is_finite() && prior.sd > 0.0;
    number(sound, &format!("prior sd of {name}"), prior.sd, "a number above zero")?;
    let mean = format!("prior mean of {name}");
    number(prior.mean.is_finite(), &mean, prior.mean, "a finite number")?;
    if prior.log {
        let why = "a number above zero, for a log-normal prior";
        number(prior.mean > 0.0, &mean, prior.mean, why)?;
        number(*start > 0.0, &format!("start of {name}"), *start, why)?;
        number(*high > 0.0, &format!("upper bound of {name}"), *high, why)?;
    }
    Ok(())
}

fn number(sound: bool, what: &str, value: f64, expected: &str) -> Result<(), FitError> {
    let wrong = || FitError::Number { what: what.into(), value, expected: expected.into() };
    if sound { Ok(()) } else { Err(wrong()) }
}
