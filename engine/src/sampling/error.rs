//! Why points cannot be drawn as asked.

use thiserror::Error;

/// Why points cannot be drawn as asked.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SamplingError {
    /// A scheme without points.
    #[error("no points: expected at least 1 per set")]
    NoPoints,
    /// A scheme without sets.
    #[error("no sets: expected at least 1, and 2 or more where an interval is wanted")]
    NoSets,
    /// Nothing to draw.
    #[error("no dimensions: expected at least one uncertain quantity")]
    NoDimensions,
    /// A net of a size that is not balanced.
    #[error(
        "{n} points per set: a Sobol' net is balanced only if their number is a power of two; take {below} or \
         {above}"
    )]
    NotPowerOfTwo {
        /// Points per set asked for.
        n: u64,
        /// Next power of two below.
        below: u64,
        /// Next power of two above.
        above: u64,
    },
    /// More points than the sequence has.
    #[error("{n} points per set: the sequence has {limit}; take more sets instead of larger ones")]
    TooManyPoints {
        /// Points per set asked for.
        n: u64,
        /// Most points a set may have.
        limit: u64,
    },
    /// More dimensions than the sequence has.
    #[error("{dimensions} dimensions: this scheme serves at most {limit}; a Latin hypercube serves more")]
    TooManyDimensions {
        /// Dimensions asked for.
        dimensions: usize,
        /// Most dimensions possible.
        limit: usize,
    },
    /// Permutations that would take too much memory.
    #[error(
        "{points} points in {dimensions} dimensions: a Latin hypercube keeps one number for each, at most {limit} \
         numbers; take fewer points, or a scheme that keeps none"
    )]
    TooMuchMemory {
        /// Points of all sets together.
        points: u64,
        /// Dimensions.
        dimensions: usize,
        /// Most numbers kept.
        limit: u64,
    },
    /// More points than can be numbered.
    #[error("{sets} sets of {n} points are more than can be counted")]
    Uncountable {
        /// Points per set.
        n: u64,
        /// Sets.
        sets: u64,
    },
    /// A parameter of a distribution that is no finite number.
    #[error("{parameter} of the distribution is {value}: expected a finite number")]
    NotFinite {
        /// Which parameter.
        parameter: &'static str,
        /// What it is.
        value: f64,
    },
    /// A parameter of a distribution that is too small.
    #[error("{parameter} of the distribution is {value}: expected a number above {limit}")]
    TooSmall {
        /// Which parameter.
        parameter: &'static str,
        /// What it is.
        value: f64,
        /// What it must exceed.
        limit: f64,
    },
    /// Limits in the wrong order.
    #[error("{smaller} of the distribution is {low}, {larger} is {high}: expected the first to be smaller")]
    Order {
        /// Name of the one that should be smaller.
        smaller: &'static str,
        /// Its value.
        low: f64,
        /// Name of the one that should be larger.
        larger: &'static str,
        /// Its value.
        high: f64,
    },
    /// A distribution whose tails run out of the numbers a computer has.
    #[error(
        "the distribution's tail reaches {value}: expected parameters that keep every draw finite and above zero where it must be"
    )]
    Overflow {
        /// The offending draw.
        value: f64,
    },
}
