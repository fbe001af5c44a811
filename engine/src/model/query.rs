//! What a model answers about itself: names, units, inputs, states.

use super::builder::{self, SlotInfo};
use super::declared::Limits;
use super::frame::Slot;
use super::sums::sorted_contributions;
use super::{Model, Probe};

impl Model {
    pub(crate) fn instance_name(&self, index: u32) -> &str {
        self.layout.builder.instances.get(index as usize).map_or("total", String::as_str)
    }

    pub(super) fn info(&self, probe: Probe) -> &SlotInfo {
        &self.layout.builder.info[probe.0 as usize]
    }

    /// Finds a quantity by its full name, such as `motor.winding_temperature`.
    pub fn find(&self, name: &str) -> Option<Probe> {
        self.layout.names.get(name).copied().map(Probe)
    }

    /// ` (did you mean …?)` for a name that was not found, or nothing.
    pub fn near(&self, name: &str) -> String {
        builder::hint(name, self.layout.names.keys().map(String::as_str))
    }

    /// Full name of a quantity.
    pub fn name(&self, probe: Probe) -> &str {
        &self.info(probe).name
    }

    /// Unit of a quantity.
    pub fn unit(&self, probe: Probe) -> &'static str {
        self.info(probe).unit
    }

    /// Meaning of a quantity.
    pub fn about(&self, probe: Probe) -> &'static str {
        self.info(probe).about
    }

    /// Every quantity, in the order of names.
    pub fn quantities(&self) -> Vec<Probe> {
        let mut all: Vec<Probe> = (0..self.layout.builder.info.len() as Slot).map(Probe).collect();
        all.sort_by_key(|&p| self.name(p));
        all
    }

    /// Contributions to a sum or list by kind name, in the order of names.
    pub fn contributions(&self, kind: &str) -> Vec<Probe> {
        sorted_contributions(&self.layout.builder, kind).into_iter().map(Probe).collect()
    }

    /// Total of a sum by kind name, where somebody reads it.
    pub fn total(&self, kind: &str) -> Option<Probe> {
        self.layout.builder.totals.get(kind).copied().map(Probe)
    }

    /// The single-writer quantities of a kind, one per instance, in the order of names.
    pub fn providers(&self, kind: &str) -> Vec<Probe> {
        let all = self.layout.builder.providers.get(kind);
        let mut probes: Vec<Probe> = all.into_iter().flatten().map(|(_, slot)| Probe(*slot)).collect();
        probes.sort_by_key(|&p| self.name(p));
        probes
    }

    /// All inputs, in the order of names.
    pub fn inputs(&self) -> Vec<Probe> {
        let mut all: Vec<Probe> =
            self.declared.iter().flat_map(|d| d.inputs.iter().copied().map(Probe)).collect();
        all.sort_by_key(|&p| self.name(p));
        all
    }

    fn limits(&self, probe: Probe) -> Option<Limits> {
        self.declared.iter().flat_map(|d| &d.ranges).find(|limits| limits.slot == probe.0).copied()
    }

    /// Least and greatest value that a scenario may give the quantity, where its part says so.
    pub fn range(&self, probe: Probe) -> Option<(f64, f64)> {
        self.limits(probe).map(|limits| (limits.low, limits.high))
    }

    /// That range in words, such as `from 0 to 1`.
    pub fn range_in_words(&self, probe: Probe) -> Option<String> {
        self.range(probe).map(|range| builder::told_range(range, self.unit(probe)))
    }

    /// Whether a scenario may give the quantity this value.
    pub fn allows(&self, probe: Probe, value: f64) -> bool {
        self.limits(probe).is_none_or(|limits| limits.allow(value))
    }

    /// Place of a quantity among the states, if it is one.
    pub fn state_index(&self, probe: Probe) -> Option<usize> {
        self.states.iter().position(|s| s.value == probe.0)
    }

    /// The states in the order they are integrated.
    pub fn state_probes(&self) -> Vec<Probe> {
        self.states.iter().map(|s| Probe(s.value)).collect()
    }

    /// Advice that parts give about how they are set up: instance, text.
    pub fn advice(&self) -> Vec<(&str, &str)> {
        let named = self.instances.iter().zip(&self.declared);
        named.flat_map(|(i, d)| d.advice.iter().map(move |text| (i.name.as_str(), text.as_str()))).collect()
    }

    /// Value a quantity has before a run starts.
    pub fn start_value(&self, probe: Probe) -> f64 {
        self.start[probe.0 as usize]
    }
}
