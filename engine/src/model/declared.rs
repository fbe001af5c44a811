//! What one part has declared, as the model keeps it.

use std::sync::Arc;

use super::frame::{Frame, LawFn, Slot};
use super::trigger::{Acting, Crossing, Guarding};

pub(crate) type Run = Arc<dyn Fn(&mut Frame) + Send + Sync>;

/// One equation with what it touches.
pub(crate) struct Equation {
    pub instance: u32,
    pub name: &'static str,
    pub reads: Vec<Slot>,
    pub writes: Vec<Slot>,
    pub calls: Vec<u32>,
    pub run: Run,
}

#[derive(Clone)]
pub(crate) struct LawEntry {
    pub index: u32,
    pub instance: u32,
    pub kind: &'static str,
    pub reads: Vec<Slot>,
    pub run: LawFn,
}

#[derive(Clone)]
pub(crate) struct StateEntry {
    pub value: Slot,
    pub rate: Slot,
    pub nominal: f64,
}

#[derive(Clone)]
pub(crate) struct EventEntry {
    pub instance: u32,
    pub name: &'static str,
    pub crossing: Crossing,
    pub guard: Guarding,
    pub act: Acting,
}

/// A range that a quantity should stay in; leaving it is reported once.
#[derive(Clone)]
pub(crate) struct WatchEntry {
    pub slot: Slot,
    pub low: f64,
    pub high: f64,
    pub message: &'static str,
}

/// The values that a state or input can be given from outside.
#[derive(Clone, Copy)]
pub(crate) struct Limits {
    pub slot: Slot,
    pub low: f64,
    pub high: f64,
}

impl Limits {
    /// Whether the range has `value`, but for a rounding: 108 km/h is 30.000000000000004 m/s.
    pub fn allow(&self, value: f64) -> bool {
        let slack = 1e-9 * self.low.abs().max(self.high.abs());
        (self.low - slack..=self.high + slack).contains(&value)
    }
}

/// All that one part has declared.
#[derive(Clone, Default)]
pub(crate) struct Declared {
    pub equations: Vec<Arc<Equation>>,
    pub laws: Vec<LawEntry>,
    pub states: Vec<StateEntry>,
    pub modes: Vec<Slot>,
    pub inputs: Vec<Slot>,
    pub values: Vec<(Slot, f64)>,
    pub events: Vec<EventEntry>,
    pub watches: Vec<WatchEntry>,
    pub ranges: Vec<Limits>,
    pub advice: Vec<String>,
    pub settles: Vec<(Slot, Slot)>,
    pub integrals: Vec<(&'static str, f64)>,
}
