//! Points at which something uncertain is tried out: schemes that spread them
//! over a unit cube, and distributions that turn coordinates into values.
//!
//! A point follows from scheme, seed and its number alone, so that work may be
//! shared out, stopped and taken up again without changing a digit.

mod distribution;
mod draws;
mod error;
mod permutations;
mod scrambled;
mod seeded;

pub use distribution::Distribution;
pub use draws::{Draws, Scheme};
pub use error::SamplingError;
