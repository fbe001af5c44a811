//! Calibration: parameters of a craft from readings that were taken with it.
//!
//! A [`Set`] is a table of readings with the craft it was taken with. Each of its columns is a
//! quantity of the model: an input (or the start of a state) is put where it was read, anything
//! else is predicted and held against what was read. A set is *steady*, each row by itself,
//! or *in time*, all rows along one run. Several sets share parameters, or have their own.
//!
//! Nothing here knows what the quantities are of.

mod cautions;
mod columns;
mod found;
mod in_time;
mod problem;
mod set;
mod steady;
mod text;
mod unknowns;
mod written;

pub use columns::{Channel, Convention, Role, Telling, Uncertainty, resolve};
pub use found::Calibrated;
pub use in_time::{Course, FromStart, drive, to_the_end};
pub use problem::{Problem, Site};
pub use set::{Set, Spot, Table, Taken};
pub use steady::{Steady, at_row};
pub use unknowns::{CLOCK, Sought};
pub use written::{Written, relative};

use crate::inquiry::Inquiry;

/// What the engine is told about readings in the trade it serves.
#[derive(Clone, Copy)]
pub struct Practice {
    /// Brings what moves quickly to rest.
    pub rest: Steady,
    /// Other ways of counting quantities.
    pub conventions: &'static [Convention],
    /// What can be asked once a fit is done.
    pub inquiries: &'static [Inquiry],
}

/// No practice at all: for trades that take no readings.
pub const NONE: Practice = Practice { rest: |_| Ok(()), conventions: &[], inquiries: &[] };

#[cfg(test)]
mod tests;
