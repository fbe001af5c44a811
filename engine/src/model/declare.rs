//! What a part says about itself: its states, equations, laws and events.

use std::sync::Arc;

use super::builder::{Builder, RATE};
use super::declared::{Equation, EventEntry, LawEntry, Limits, StateEntry, WatchEntry};
use super::error::Problem;
use super::frame::{Frame, Slot};
use super::trigger::Trigger;
use super::wires::Wires;
use crate::quantity::Kind;

/// The sheet on which one instance of a part declares itself. A part is asked
/// twice, first to learn who writes what and then to be wired, so declaring
/// must not depend on anything but the part's own parameters.
pub struct Declare<'a> {
    pub(crate) builder: &'a mut Builder,
    pub(crate) instance: u32,
}

impl Declare<'_> {
    /// Name of this instance in the setup.
    pub fn instance(&self) -> &str {
        &self.builder.instances[self.instance as usize]
    }

    fn own(&mut self, kind: &Kind, label: &'static str, writer: &'static str) -> Slot {
        self.builder.claim(self.instance, kind, label, writer)
    }

    fn value(&mut self, slot: Slot, value: f64) {
        if !value.is_finite() {
            self.builder.not_finite(slot, value);
        }
        self.builder.out.values.push((slot, value));
    }

    /// A state: integrated over time from `start`. `nominal` is a usual size,
    /// in the same unit, that scales the error control.
    /// What a scenario may start it from or hold it at is said with [`Settable::within`].
    pub fn state(&mut self, kind: &Kind, start: f64, nominal: f64) -> Settable<'_> {
        let value = self.own(kind, "", "state");
        let rate = self.builder.claim_rate(self.instance, kind);
        self.value(value, start);
        self.value(rate, 0.0);
        self.builder.out.states.push(StateEntry { value, rate, nominal });
        Settable { builder: self.builder, slot: value, value: start }
    }

    /// A discrete value that only events change.
    pub fn mode(&mut self, kind: &Kind, start: f64) {
        let slot = self.own(kind, "", "mode");
        self.value(slot, start);
        self.builder.out.modes.push(slot);
    }

    /// A value that a scenario may prescribe over time; which values, says [`Settable::within`].
    pub fn input(&mut self, kind: &Kind, value: f64) -> Settable<'_> {
        let slot = self.own(kind, "", "input");
        self.value(slot, value);
        self.builder.out.inputs.push(slot);
        Settable { builder: self.builder, slot, value }
    }

    /// A value that does not change during a run; of a sum, this part's
    /// contribution, such as its mass.
    pub fn constant(&mut self, kind: &Kind, value: f64) {
        let slot = self.own(kind, "", "constant");
        self.value(slot, value);
    }

    /// An equation, run at every evaluation. `declare` names what it reads and
    /// writes and returns the function that does it.
    pub fn equation<F>(&mut self, name: &'static str, declare: impl FnOnce(&mut Wires) -> F)
    where
        F: Fn(&mut Frame) + Send + Sync + 'static,
    {
        // equations are told apart by their names when a part is exchanged
        if self.builder.out.equations.iter().any(|known| known.name == name) {
            let instance = self.instance().to_string();
            self.builder.report(Problem::TwoEquations { instance, equation: name.into() });
        }
        let mut wires = Wires::new(self.builder, self.instance, name);
        let run = Arc::new(declare(&mut wires));
        let Wires { reads, writes, calls, .. } = wires;
        let equation = Equation { instance: self.instance, name, reads, writes, calls, run };
        self.builder.out.equations.push(Arc::new(equation));
    }

    /// A function of one variable that others may call during their equations.
    /// It may read what it declares but write nothing.
    pub fn law<F>(&mut self, kind: &Kind, declare: impl FnOnce(&mut Wires) -> F)
    where
        F: Fn(&Frame, f64) -> f64 + Send + Sync + 'static,
    {
        let index = self.builder.claim_law(self.instance, kind);
        let mut wires = Wires::new(self.builder, self.instance, kind.name);
        let run = Arc::new(declare(&mut wires));
        let reads = wires.reads;
        self.builder.out.laws.push(LawEntry { index, instance: self.instance, kind: kind.name, reads, run });
    }

    /// Something that happens when a guard passes zero. The action may write
    /// states and modes of this instance, obtained with [`Wires::sets`].
    pub fn event(&mut self, name: &'static str, declare: impl FnOnce(&mut Wires) -> Trigger) {
        let mut wires = Wires::new(self.builder, self.instance, name);
        let Trigger { crossing, guard, act } = declare(&mut wires);
        self.builder.out.events.push(EventEntry { instance: self.instance, name, crossing, guard, act });
    }

    /// Warns once when this instance's `kind` leaves `low..high` during a run.
    pub fn watch(&mut self, kind: &Kind, low: f64, high: f64, message: &'static str) {
        let slot = self.builder.look(self.instance, kind, "");
        self.builder.out.watches.push(WatchEntry { slot, low, high, message });
    }

    /// Something the user should know about this part as it is set up.
    pub fn advise(&mut self, text: impl Into<String>) {
        let text = text.into();
        self.builder.out.advice.push(text);
    }

    /// Before a run starts, `unknown` (a state) is moved until the rate of
    /// `balanced` (another state of this instance) vanishes.
    pub fn settles(&mut self, unknown: &Kind, balanced: &Kind) {
        let unknown = self.builder.look(self.instance, unknown, "");
        let rate = self.builder.look(self.instance, balanced, RATE);
        self.builder.out.settles.push((unknown, rate));
    }

    /// Keeps a running time integral of every contribution to `kind`;
    /// `nominal` scales its error control.
    pub fn running_integrals(&mut self, kind: &Kind, nominal: f64) {
        self.builder.know(kind);
        self.builder.out.integrals.push((kind.name, nominal));
    }
}

/// A state or input just declared.
pub struct Settable<'a> {
    builder: &'a mut Builder,
    slot: Slot,
    value: f64,
}

impl Settable<'_> {
    /// From outside it can be given values from `low` to `high` only, in its
    /// own unit: by a scenario and by the start value. What the equations make
    /// of a state afterwards is not limited; [`Declare::watch`] tells of that.
    pub fn within(self, low: f64, high: f64) {
        let limits = Limits { slot: self.slot, low, high };
        self.builder.out.ranges.push(limits);
        if self.value.is_finite() && !limits.allow(self.value) {
            self.builder.out_of_range(self.slot, self.value, (low, high));
        }
    }
}
