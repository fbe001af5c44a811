//! Who owns a quantity: slots for what a part says it writes.

use super::builder::{Builder, Key, LAW_LABEL, RATE};
use super::error::Problem;
use super::frame::Slot;
use crate::quantity::{Kind, Reducer};

impl Builder {
    pub(super) fn claim(
        &mut self,
        instance: u32,
        kind: &Kind,
        label: &'static str,
        writer: &'static str,
    ) -> Slot {
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

    pub(super) fn claim_rate(&mut self, instance: u32, kind: &Kind) -> Slot {
        let key: Key = (instance, kind.name, RATE);
        if self.wiring {
            return self.slots.get(&key).copied().unwrap_or(0);
        }
        self.slots.get(&key).copied().unwrap_or_else(|| self.allocate(key, kind, "state"))
    }

    pub(super) fn claim_law(&mut self, instance: u32, kind: &Kind) -> u32 {
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

    pub(super) fn look(&mut self, instance: u32, kind: &Kind, label: &'static str) -> Slot {
        let found = self.slots.get(&(instance, kind.name, label)).copied();
        if found.is_none() && self.wiring {
            self.not_owned(instance, "declaration", kind);
        }
        found.unwrap_or(0)
    }

    pub(super) fn rate(&mut self, instance: u32, equation: &'static str, kind: &Kind) -> Slot {
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

    pub(super) fn settable(&mut self, instance: u32, event: &'static str, kind: &Kind) -> Slot {
        let found = self.slots.get(&(instance, kind.name, "")).copied();
        if found.is_none() && self.wiring {
            self.not_owned(instance, event, kind);
        }
        found.unwrap_or(0)
    }
}
