//! How sure a measured value is: a budget of what it was computed from, and
//! the difference of two things that were measured in pairs.
//!
//! # Source
//! JCGM 100:2008, *Evaluation of measurement data — Guide to the expression of uncertainty in measurement* (GUM).

mod budget;
mod input;
mod paired;

pub use budget::{Budget, Contribution, Correlation, budget, covariance};
pub use input::Input;
pub use paired::{Paired, paired, repeats_for_half_width, repeats_for_power};

use super::tails::student_t;
use crate::sampling::Distribution;
use thiserror::Error;

/// Above this many degrees of freedom Student's t is the normal distribution to 2e-6 of its quantiles.
const MANY: f64 = 1e6;

/// Why no uncertainty can be told.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum UncertaintyError {
    /// A number that is not finite, or not as large as it must be.
    #[error("{what} = {value}: expected {expected}")]
    Number {
        /// What it is.
        what: String,
        /// What was told.
        value: f64,
        /// What would be right.
        expected: &'static str,
    },
    /// Too few readings to see their scatter.
    #[error("{name}: expected at least {needed}, found {found}")]
    TooFew {
        /// Of what.
        name: String,
        /// Readings told.
        found: usize,
        /// Least possible.
        needed: usize,
    },
    /// Lists that belong together have different lengths.
    #[error("{found} values of {what} beside {expected} of the other")]
    Lengths {
        /// Which list.
        what: &'static str,
        /// Its length.
        found: usize,
        /// Length it should have.
        expected: usize,
    },
    /// A correlation with something that is no input.
    #[error("a correlation names {name:?}, but the inputs are {known}")]
    NoInput {
        /// The name.
        name: String,
        /// Names of the inputs.
        known: String,
    },
    /// Correlations that no set of quantities can have.
    #[error("these correlations contradict each other: some combination would have variance {variance:.3e}")]
    Correlations {
        /// Variance of the combination, in usual sizes; below zero.
        variance: f64,
    },
    /// The formula gave no number.
    #[error("the formula gave {value} where {name} = {at}")]
    Formula {
        /// The input that was varied, or "every input".
        name: String,
        /// Its value.
        at: f64,
        /// What came out.
        value: f64,
    },
    /// Nothing scatters, and nothing is told of the readings.
    #[error(
        "the differences do not scatter at all: the display hides it, and nothing is told of the readings"
    )]
    NoScatter,
    /// The drift cannot be told from the difference.
    #[error(
        "in all pairs the covariate is apart by {}: a drift cannot be told from the difference; change the order",
        crate::text_table::figure(*value)
    )]
    NoContrast {
        /// The common value.
        value: f64,
    },
    /// More repeats would be needed than anyone could make.
    #[error("more than {limit} repeats would be needed")]
    Endless {
        /// Most that are looked for.
        limit: u64,
    },
}

/// A finite number, or the error that says what it was.
fn finite(what: impl Into<String>, value: f64) -> Result<f64, UncertaintyError> {
    let expected = "a finite number";
    if value.is_finite() {
        Ok(value)
    } else {
        Err(UncertaintyError::Number { what: what.into(), value, expected })
    }
}

/// A number above zero and finite.
fn positive(what: impl Into<String>, value: f64) -> Result<f64, UncertaintyError> {
    let expected = "a number above zero";
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err(UncertaintyError::Number { what: what.into(), value, expected })
    }
}

/// Half-width in standard uncertainties of the interval that holds the value
/// with this confidence, at `freedom` degrees of freedom (infinite for a known
/// uncertainty). Freedom need not be whole: the GUM rounds it down (G.4.1), which
/// widens the interval a little.
///
/// # Errors
/// Confidence not within 0 to 0.999999, or a freedom that is none.
pub fn coverage_factor(confidence: f64, freedom: f64) -> Result<f64, UncertaintyError> {
    let expected = "a number above 0 and at most 0.999999, such as 0.95";
    if !(confidence > 0.0 && confidence <= 0.999_999) {
        return Err(UncertaintyError::Number { what: "confidence".into(), value: confidence, expected });
    }
    let expected = "degrees of freedom above zero";
    let none = UncertaintyError::Number { what: "freedom".into(), value: freedom, expected };
    if freedom > MANY {
        let normal = Distribution::Normal { mean: 0.0, deviation: 1.0 };
        return Ok(normal.quantile(0.5 + 0.5 * confidence));
    }
    student_t(confidence, freedom).ok_or(none)
}

/// Mean and standard deviation (n − 1) of two or more finite numbers.
fn moments(name: &str, readings: &[f64]) -> Result<(f64, f64), UncertaintyError> {
    if readings.len() < 2 {
        return Err(UncertaintyError::TooFew { name: name.into(), found: readings.len(), needed: 2 });
    }
    for &reading in readings {
        finite(name, reading)?;
    }
    let n = readings.len() as f64;
    // about a reading, so that large values with small scatter lose nothing
    let first = readings.first().copied().unwrap_or_default();
    let mean = first + readings.iter().map(|x| x - first).sum::<f64>() / n;
    let squares = readings.iter().map(|x| (x - mean).powi(2)).sum::<f64>();
    Ok((finite(name, mean)?, finite(name, (squares / (n - 1.0)).sqrt())?))
}

#[cfg(test)]
mod tests;
