//! What a part says about itself: its states, equations, laws and events.

use std::sync::Arc;

use super::builder::{Builder, Key, LAW_LABEL, RATE};
use super::error::Problem;
use super::frame::{Frame, In, Law, LawFn, Out, Slot};
use crate::quantity::{Kind, Reducer};

pub(crate) type Run = Arc<dyn Fn(&mut Frame) + Send + Sync>;
pub(crate) type Guarding = Arc<dyn Fn(&Frame) -> f64 + Send + Sync>;
pub(crate) type Acting = Arc<dyn Fn(&mut Frame) -> Then + Send + Sync>;

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
    pub advice: Vec<String>,
    pub settles: Vec<(Slot, Slot)>,
    pub integrals: Vec<(&'static str, f64)>,
}

/// Direction in which a guard passes zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Crossing {
    /// From below zero to above.
    Rising,
    /// From above zero to below.
    Falling,
}

impl Crossing {
    /// Whether going from `before` to `after` is such a crossing.
    pub fn happens(self, before: f64, after: f64) -> bool {
        match self {
            Crossing::Rising => before < 0.0 && after >= 0.0,
            Crossing::Falling => before > 0.0 && after <= 0.0,
        }
    }
}

/// What happens after an event's action.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Then {
    /// The run goes on.
    Go,
    /// The run ends here.
    Stop,
}

/// Guard and action of an event.
pub struct Trigger {
    crossing: Crossing,
    guard: Guarding,
    act: Acting,
}

impl Trigger {
    /// Fires when `guard` rises through zero.
    pub fn rising(
        guard: impl Fn(&Frame) -> f64 + Send + Sync + 'static,
        act: impl Fn(&mut Frame) -> Then + Send + Sync + 'static,
    ) -> Trigger {
        Trigger { crossing: Crossing::Rising, guard: Arc::new(guard), act: Arc::new(act) }
    }

    /// Fires when `guard` falls through zero.
    pub fn falling(
        guard: impl Fn(&Frame) -> f64 + Send + Sync + 'static,
        act: impl Fn(&mut Frame) -> Then + Send + Sync + 'static,
    ) -> Trigger {
        Trigger { crossing: Crossing::Falling, guard: Arc::new(guard), act: Arc::new(act) }
    }
}

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
    pub fn state(&mut self, kind: &Kind, start: f64, nominal: f64) {
        let value = self.own(kind, "", "state");
        let rate = self.builder.claim_rate(self.instance, kind);
        self.value(value, start);
        self.value(rate, 0.0);
        self.builder.out.states.push(StateEntry { value, rate, nominal });
    }

    /// A discrete value that only events change.
    pub fn mode(&mut self, kind: &Kind, start: f64) {
        let slot = self.own(kind, "", "mode");
        self.value(slot, start);
        self.builder.out.modes.push(slot);
    }

    /// A value that a scenario may prescribe over time.
    pub fn input(&mut self, kind: &Kind, value: f64) {
        let slot = self.own(kind, "", "input");
        self.value(slot, value);
        self.builder.out.inputs.push(slot);
    }

    /// A value that does not change during a run.
    pub fn constant(&mut self, kind: &Kind, value: f64) {
        let slot = self.own(kind, "", "constant");
        self.value(slot, value);
    }

    /// This part's constant contribution to a sum, such as its mass.
    pub fn contribution(&mut self, kind: &Kind, value: f64) {
        let slot = self.own(kind, "", "constant");
        self.value(slot, value);
    }

    /// An equation, run at every evaluation. `declare` names what it reads and
    /// writes and returns the function that does it.
    pub fn equation<F>(&mut self, name: &'static str, declare: impl FnOnce(&mut Wires) -> F)
    where
        F: Fn(&mut Frame) + Send + Sync + 'static,
    {
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

/// The connections of one equation.
pub struct Wires<'a> {
    builder: &'a mut Builder,
    instance: u32,
    name: &'static str,
    pub(crate) reads: Vec<Slot>,
    pub(crate) writes: Vec<Slot>,
    pub(crate) calls: Vec<u32>,
}

impl<'a> Wires<'a> {
    fn new(builder: &'a mut Builder, instance: u32, name: &'static str) -> Wires<'a> {
        Wires { builder, instance, name, reads: Vec::new(), writes: Vec::new(), calls: Vec::new() }
    }

    fn reading(&mut self, slot: Slot) -> In {
        self.reads.push(slot);
        In(slot)
    }

    /// Simulated time, s.
    pub fn time(&mut self) -> In {
        self.reading(0)
    }

    /// Reads `kind`: the total of a sum; else this instance's own value, the
    /// one the setup chooses under `from:`, or the only one there is.
    pub fn reads(&mut self, kind: &Kind) -> In {
        let slot = self.builder.resolve(self.instance, self.name, kind, None);
        self.reading(slot)
    }

    /// Like [`Wires::reads`], but `default` where nobody provides the kind.
    pub fn reads_or(&mut self, kind: &Kind, default: f64) -> In {
        let slot = self.builder.resolve_or(self.instance, self.name, kind, default);
        self.reading(slot)
    }

    /// Reads `kind` of the instance named.
    pub fn reads_from(&mut self, instance: &str, kind: &Kind) -> In {
        let slot = self.builder.resolve(self.instance, self.name, kind, Some(instance));
        self.reading(slot)
    }

    /// Reads the sum of what all other instances contribute to `kind`. What
    /// this instance adds is worked out afterwards, from the answer.
    pub fn reads_others(&mut self, kind: &Kind) -> In {
        let slot = self.builder.others(self.instance, kind);
        self.reading(slot)
    }

    /// Writes this instance's `kind`.
    pub fn writes(&mut self, kind: &Kind) -> Out {
        let slot = self.builder.claim(self.instance, kind, "", self.name);
        self.writes.push(slot);
        Out(slot)
    }

    /// This instance's contribution to a sum or list; assigned, not accumulated.
    pub fn adds(&mut self, kind: &Kind) -> Out {
        self.adds_as(kind, "")
    }

    /// A contribution with a label of its own, where a part gives several.
    pub fn adds_as(&mut self, kind: &Kind, label: &'static str) -> Out {
        let slot = self.builder.claim(self.instance, kind, label, self.name);
        self.writes.push(slot);
        Out(slot)
    }

    /// Rate of change of one of this instance's states, per second.
    pub fn rate_of(&mut self, state: &Kind) -> Out {
        let slot = self.builder.rate(self.instance, self.name, state);
        self.writes.push(slot);
        Out(slot)
    }

    /// Reads the rate of change of a state, per second.
    pub fn reads_rate(&mut self, state: &Kind) -> In {
        let slot = self.builder.resolve_rate(self.instance, self.name, state);
        self.reading(slot)
    }

    /// A state or mode of this instance that an event's action changes.
    pub fn sets(&mut self, kind: &Kind) -> Out {
        let slot = self.builder.settable(self.instance, self.name, kind);
        Out(slot)
    }

    /// A law that another part publishes.
    pub fn calls(&mut self, kind: &Kind) -> Law {
        let index = self.builder.resolve_law(self.instance, self.name, kind);
        self.calls.push(index);
        Law(index)
    }
}

impl Builder {
    fn claim(&mut self, instance: u32, kind: &Kind, label: &'static str, writer: &'static str) -> Slot {
        self.know(kind);
        let key: Key = (instance, kind.name, label);
        if self.wiring {
            return self.slots.get(&key).copied().unwrap_or_else(|| {
                self.changed = true;
                0
            });
        }
        if let Some(&slot) = self.slots.get(&key) {
            let first = self.info[slot as usize].writer.to_string();
            self.problems.push(Problem::TwoWriters {
                instance: self.instances[instance as usize].clone(),
                kind: kind.name.into(),
                first,
                second: writer.into(),
            });
            return slot;
        }
        let slot = self.allocate(key, kind, writer);
        match kind.reducer {
            Reducer::Single | Reducer::Law => {
                self.providers.entry(kind.name).or_default().push((instance, slot));
            }
            Reducer::Sum | Reducer::Each => {
                self.contributions.entry(kind.name).or_default().push(slot);
            }
        }
        slot
    }

    fn claim_rate(&mut self, instance: u32, kind: &Kind) -> Slot {
        let key: Key = (instance, kind.name, RATE);
        if self.wiring {
            return self.slots.get(&key).copied().unwrap_or(0);
        }
        self.slots.get(&key).copied().unwrap_or_else(|| self.allocate(key, kind, "state"))
    }

    fn claim_law(&mut self, instance: u32, kind: &Kind) -> u32 {
        self.know(kind);
        let key: Key = (instance, kind.name, LAW_LABEL);
        if let Some(&index) = self.law_index.get(&key) {
            return index;
        }
        let index = self.law_index.len() as u32;
        self.law_index.insert(key, index);
        self.law_providers.entry(kind.name).or_default().push((instance, index));
        index
    }

    fn look(&mut self, instance: u32, kind: &Kind, label: &'static str) -> Slot {
        let found = self.slots.get(&(instance, kind.name, label)).copied();
        if found.is_none() && self.wiring {
            self.not_owned(instance, "declaration", kind);
        }
        found.unwrap_or(0)
    }

    fn rate(&mut self, instance: u32, equation: &'static str, kind: &Kind) -> Slot {
        let found = self.slots.get(&(instance, kind.name, RATE)).copied();
        match found {
            Some(slot) => {
                if !self.info[slot as usize].rate_set {
                    self.info[slot as usize].rate_set = true;
                }
                slot
            }
            None => {
                if self.wiring {
                    self.not_owned(instance, equation, kind);
                }
                0
            }
        }
    }

    fn settable(&mut self, instance: u32, event: &'static str, kind: &Kind) -> Slot {
        let found = self.slots.get(&(instance, kind.name, "")).copied();
        if found.is_none() && self.wiring {
            self.not_owned(instance, event, kind);
        }
        found.unwrap_or(0)
    }
}
