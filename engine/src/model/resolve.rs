//! Where each reader finds what it reads.

use super::builder::{Builder, DEFAULT, Key, OTHERS, RATE, SlotInfo, hint};
use super::error::Problem;
use super::frame::Slot;
use crate::quantity::{Kind, Reducer};

impl Builder {
    fn reader(&self, instance: u32, equation: &str) -> String {
        format!("{}: {equation}", self.instances[instance as usize])
    }

    fn chosen(&self, instance: u32, kind: &Kind) -> Option<&str> {
        let list = &self.from[instance as usize];
        list.iter().find(|(k, _)| k == kind.name).map(|(_, source)| source.as_str())
    }

    /// Notes that the setup may choose where `instance` takes `kind` from.
    fn take(&mut self, instance: u32, kind: &Kind) {
        if !self.from[instance as usize].is_empty() {
            self.taken.push((instance, kind.name));
        }
    }

    /// The one provider that serves `instance`, or why there is none.
    fn provider<T: Copy>(
        &self,
        all: &[(u32, T)],
        instance: u32,
        equation: &str,
        kind: &Kind,
        from: Option<&str>,
    ) -> Result<T, Problem> {
        if let Some(source) = from.or_else(|| self.chosen(instance, kind)) {
            let found = all.iter().find(|(i, _)| self.instances[*i as usize] == source);
            return found.map(|(_, t)| *t).ok_or_else(|| Problem::WrongSource {
                reader: self.reader(instance, equation),
                kind: kind.name.into(),
                instance: source.into(),
                hint: hint(source, all.iter().map(|(i, _)| self.instances[*i as usize].as_str())),
            });
        }
        if let Some((_, own)) = all.iter().find(|(i, _)| *i == instance) {
            return Ok(*own);
        }
        match all {
            [(_, only)] => Ok(*only),
            [] => Err(Problem::NobodyWrites {
                reader: self.reader(instance, equation),
                kind: kind.name.into(),
                unit: kind.unit.into(),
                hint: hint(kind.name, self.providers.keys().copied()),
            }),
            many => {
                let mut candidates: Vec<String> =
                    many.iter().map(|(i, _)| self.instances[*i as usize].clone()).collect();
                candidates.sort();
                Err(Problem::Ambiguous {
                    reader: self.reader(instance, equation),
                    instance: self.instances[instance as usize].clone(),
                    kind: kind.name.into(),
                    candidates,
                })
            }
        }
    }

    pub(crate) fn resolve(
        &mut self,
        instance: u32,
        equation: &'static str,
        kind: &Kind,
        from: Option<&str>,
    ) -> Slot {
        self.know(kind);
        if !self.wiring {
            if kind.reducer == Reducer::Sum {
                self.total(kind);
            }
            return 0;
        }
        if kind.reducer == Reducer::Sum {
            return match from {
                None => self.totals.get(kind.name).copied().unwrap_or(0),
                Some(source) => self.part_of_sum(instance, equation, kind, source),
            };
        }
        if from.is_none() {
            self.take(instance, kind);
        }
        let all = self.providers.get(kind.name).map_or(&[][..], Vec::as_slice);
        match self.provider(all, instance, equation, kind, from) {
            Ok(slot) => slot,
            Err(problem) => {
                self.report(problem);
                0
            }
        }
    }

    fn part_of_sum(&mut self, instance: u32, equation: &'static str, kind: &Kind, source: &str) -> Slot {
        let index = self.instances.iter().position(|name| name == source);
        let slot = index.and_then(|i| self.slots.get(&(i as u32, kind.name, "")).copied());
        slot.unwrap_or_else(|| {
            let problem = Problem::WrongSource {
                reader: self.reader(instance, equation),
                kind: kind.name.into(),
                instance: source.into(),
                hint: hint(source, self.instances.iter().map(String::as_str)),
            };
            self.report(problem);
            0
        })
    }

    pub(crate) fn resolve_or(
        &mut self,
        instance: u32,
        equation: &'static str,
        kind: &Kind,
        default: f64,
    ) -> Slot {
        self.know(kind);
        let provided = self.providers.get(kind.name).is_some_and(|all| !all.is_empty());
        if !self.wiring || provided || self.chosen(instance, kind).is_some() {
            return self.resolve(instance, equation, kind, None);
        }
        self.take(instance, kind);
        let key: Key = (instance, kind.name, DEFAULT);
        let slot = match self.slots.get(&key) {
            Some(&slot) => slot,
            None => self.allocate(key, kind, DEFAULT),
        };
        self.out.values.push((slot, default));
        slot
    }

    pub(crate) fn resolve_rate(&mut self, instance: u32, equation: &'static str, kind: &Kind) -> Slot {
        if !self.wiring {
            return 0;
        }
        self.take(instance, kind);
        let all: Vec<(u32, Slot)> = (0..self.instances.len() as u32)
            .filter_map(|i| self.slots.get(&(i, kind.name, RATE)).map(|&slot| (i, slot)))
            .collect();
        match self.provider(&all, instance, equation, kind, None) {
            Ok(slot) => slot,
            Err(problem) => {
                self.report(problem);
                0
            }
        }
    }

    pub(crate) fn resolve_law(&mut self, instance: u32, equation: &'static str, kind: &Kind) -> u32 {
        self.know(kind);
        if !self.wiring {
            return 0;
        }
        self.take(instance, kind);
        let all = self.law_providers.get(kind.name).cloned().unwrap_or_default();
        match self.provider(&all, instance, equation, kind, None) {
            Ok(index) => index,
            Err(problem) => {
                self.report(problem);
                0
            }
        }
    }

    /// Slot for the total of a sum; it exists once somebody reads it.
    fn total(&mut self, kind: &Kind) -> Slot {
        if let Some(&slot) = self.totals.get(kind.name) {
            return slot;
        }
        let slot = self.info.len() as Slot;
        self.info.push(SlotInfo {
            name: format!("total.{}", kind.name),
            unit: kind.unit,
            about: kind.about,
            writer: "total",
            rate_set: false,
        });
        self.totals.insert(kind.name, slot);
        slot
    }

    pub(crate) fn others(&mut self, instance: u32, kind: &Kind) -> Slot {
        self.know(kind);
        if let Some(&slot) = self.others.get(&(kind.name, instance)) {
            return slot;
        }
        if self.wiring {
            self.changed = true;
            return 0;
        }
        let slot = self.allocate((instance, kind.name, OTHERS), kind, OTHERS);
        self.others.insert((kind.name, instance), slot);
        slot
    }
}
