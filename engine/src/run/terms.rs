//! What a run is told and what it tells.

use crate::model::{Crossing, Probe};

/// How a run is integrated.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Relative tolerance per step; the absolute one is this times a state's usual size.
    pub tolerance: f64,
    /// Longest step, s.
    pub max_step: f64,
    /// Whether the craft is brought to rest and balance first.
    pub settle: bool,
}

impl Default for Options {
    fn default() -> Options {
        Options { tolerance: 1e-6, max_step: 0.2, settle: true }
    }
}

/// A quantity passing a level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Condition {
    /// The quantity.
    pub quantity: Probe,
    /// The direction.
    pub crossing: Crossing,
    /// The level, in the quantity's unit.
    pub level: f64,
}

/// Why a run paused.
#[derive(Debug, Clone, PartialEq)]
pub enum Pause {
    /// The time asked for was reached.
    Time,
    /// A condition came true: its place in the list.
    Condition(usize),
    /// A part ended the run.
    Ended,
}

/// Something that happened in a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Happening {
    /// When, s.
    pub time: f64,
    /// Instance whose event it is.
    pub instance: String,
    /// Name of the event.
    pub event: String,
}

/// A range that was left during a run.
#[derive(Debug, Clone, PartialEq)]
pub struct RangeWarning {
    /// The quantity.
    pub quantity: Probe,
    /// What it means.
    pub message: &'static str,
    /// Lower end of the range.
    pub low: f64,
    /// Upper end of the range.
    pub high: f64,
    /// When it was first left, s.
    pub first: f64,
    /// The value farthest out.
    pub worst: f64,
}
