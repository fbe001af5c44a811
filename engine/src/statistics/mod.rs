//! What many outcomes say, and how sure they are: shares, levels, causes of
//! scatter, best compromises. It knows nothing of what the outcomes are of.

pub mod front;
pub mod indices;
pub mod proportion;
pub mod quantile;
pub mod tails;
pub mod uncertainty;

use thiserror::Error;

/// Limits between which a true value lies, with the confidence asked for.
/// A limit may be infinite where the outcomes do not bound it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
}

/// Why outcomes say nothing.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum StatisticsError {
    /// No outcomes at all, or none in a set.
    #[error("no outcomes to count{}", .set.map_or(String::new(), |set| format!(" in set {set}")))]
    NoOutcomes {
        /// The empty set, from 0, if there are several.
        set: Option<usize>,
    },
    /// More hits than tries.
    #[error("{successes} successes of {n}: expected no more than there are outcomes")]
    TooManySuccesses {
        /// Successes told.
        successes: u64,
        /// Outcomes told.
        n: u64,
    },
    /// More outcomes than the tails of the distributions are known for.
    #[error("{n} outcomes: intervals are known for {limit} at most")]
    TooManyOutcomes {
        /// Outcomes told.
        n: u64,
        /// Most possible.
        limit: u64,
    },
    /// Sets that lean on themselves need company.
    #[error("{sets} set: an interval needs at least 2 independent sets")]
    TooFewSets {
        /// Sets told.
        sets: usize,
    },
    /// A confidence that is none.
    #[error("confidence {confidence}: expected a number above 0 and at most 0.999999, such as 0.95")]
    Confidence {
        /// What was told.
        confidence: f64,
    },
    /// A level that is none.
    #[error("level {level}: expected a number between 0 and 1, such as 0.9")]
    Level {
        /// What was told.
        level: f64,
    },
    /// An outcome that is no number.
    #[error("an outcome is not a number; failures count as infinite")]
    NotANumber,
    /// Outcomes that do not fit the design they are said to come from.
    #[error("{found} outcomes in set {set}: expected a multiple of {per_row}, the points of a base row")]
    NotTheDesign {
        /// The set, from 0.
        set: usize,
        /// Outcomes told.
        found: usize,
        /// Points of a base row.
        per_row: usize,
    },
}

/// A confidence within the range where tails are computed to many digits.
fn confident(confidence: f64) -> Result<f64, StatisticsError> {
    if confidence > 0.0 && confidence <= 0.999_999 {
        Ok(confidence)
    } else {
        Err(StatisticsError::Confidence { confidence })
    }
}
