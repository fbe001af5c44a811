//! Why there is no fit, and what a fit does not tell.

use std::fmt;
use thiserror::Error;

/// Why there is no fit.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum FitError {
    /// Nothing to find, or nothing to find it from.
    #[error("{unknowns} unknowns and {observations} observations: at least one of each is needed")]
    Empty {
        /// Number of unknowns.
        unknowns: usize,
        /// Number of observations.
        observations: usize,
    },
    /// A name that occurs twice or is empty.
    #[error("the unknown {0:?} needs a name of its own")]
    Name(String),
    /// A number that makes no sense.
    #[error("{what} = {value}: expected {expected}")]
    Number {
        /// What it is.
        what: String,
        /// What was told.
        value: f64,
        /// What would be right.
        expected: String,
    },
    /// No prediction where the search begins.
    #[error("no prediction at the start ({at}): {message}")]
    Start {
        /// Names and values.
        at: String,
        /// What the prediction said.
        message: String,
    },
    /// No predictions beside a point, so no slopes.
    #[error("no prediction on either side of {name} = {value}: {message}")]
    Beside {
        /// The unknown that was varied.
        name: String,
        /// Its value.
        value: f64,
        /// What the prediction said.
        message: String,
    },
    /// Not one value for each observation.
    #[error("the prediction gave {found} values for {expected} observations")]
    Length {
        /// Values given.
        found: usize,
        /// Observations.
        expected: usize,
    },
    /// The search did not end.
    #[error(
        "no best fit after {evaluations} predictions ({reason}); the sum of squares is {chi2:.6e} at {at}"
    )]
    NotConverged {
        /// Predictions made.
        evaluations: usize,
        /// Why it stopped.
        reason: String,
        /// Least sum of squares found.
        chi2: f64,
        /// Names and values there.
        at: String,
    },
    /// Nothing is left to see a scatter from.
    #[error("{observations} observations tell {unknowns} unknowns, but not their own scatter as well")]
    NoFreedom {
        /// Number of observations.
        observations: usize,
        /// Number of unknowns.
        unknowns: usize,
    },
    /// Every reading is met exactly.
    #[error("every observation is met exactly: no scatter can be seen")]
    NoScatter,
    /// A decomposition failed, which no finite matrix should make it do.
    #[error("the slopes could not be decomposed")]
    Slopes,
    /// A name that is none of the unknowns.
    #[error("{name:?} is none of the unknowns {known}")]
    NoUnknown {
        /// The name.
        name: String,
        /// Names there are.
        known: String,
    },
    /// Neither readings nor priors bound a parameter, so there is nothing to draw from.
    #[error("{0}: not known at all, so it cannot be drawn")]
    Unbounded(String),
}

/// A parameter that the readings do not tell, or not by itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Unidentified {
    /// The parameter.
    pub name: String,
    /// Why.
    pub why: Why,
}

/// Why a parameter is not told.
#[derive(Debug, Clone, PartialEq)]
pub enum Why {
    /// No prediction depends on it.
    NoEffect,
    /// It is hardly better known than before.
    OnlyPrior {
        /// Standard deviation after, as a share of that before.
        ratio: f64,
    },
    /// Moving together by these amounts, in their own units (of a log-normal one: in its
    /// logarithm), parameters change no prediction.
    Together {
        /// Names and amounts, the largest in standard sizes 1.
        moves: Vec<(String, f64)>,
    },
    /// Only a combination of both is known well.
    Correlated {
        /// The other.
        with: String,
        /// Correlation coefficient.
        correlation: f64,
    },
}

impl fmt::Display for Unidentified {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = &self.name;
        match &self.why {
            Why::NoEffect => {
                write!(f, "{name}: no reading depends on it; leave it out or measure something that does")
            }
            Why::OnlyPrior { ratio } => write!(
                f,
                "{name}: the readings hardly tell it; {:.0} % of what was uncertain before still is",
                100.0 * ratio
            ),
            Why::Together { moves } => {
                let moves: Vec<_> = moves.iter().map(|(name, by)| format!("{name} by {by:+.4e}")).collect();
                write!(
                    f,
                    "{name}: only a combination is told; no reading changes with {}",
                    moves.join(" and ")
                )
            }
            Why::Correlated { with, correlation } => {
                write!(f, "{name}: hardly told apart from {with} (correlation {correlation:+.3})")
            }
        }
    }
}
