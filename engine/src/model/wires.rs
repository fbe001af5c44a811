//! What an equation touches, and the handles it gets for that.

use super::builder::Builder;
use super::frame::{In, Law, Out, Slot};
use crate::quantity::Kind;

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
    pub(super) fn new(builder: &'a mut Builder, instance: u32, name: &'static str) -> Wires<'a> {
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
