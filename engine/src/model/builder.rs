//! Names to slots: who writes what, and where each reader finds it.

use std::collections::{BTreeMap, HashMap};
use std::ops::{Deref, DerefMut};
use std::sync::Arc;

use super::declare::Declared;
use super::error::Problem;
use super::frame::Slot;
use crate::quantity::{Kind, Reducer};

/// Instance, kind, label.
pub(crate) type Key = (u32, &'static str, &'static str);

pub(crate) const RATE: &str = "rate";
pub(crate) const OTHERS: &str = "others";
pub(crate) const LAW_LABEL: &str = "law";
const DEFAULT: &str = "default";

/// What is known about one slot.
#[derive(Debug, Clone)]
pub(crate) struct SlotInfo {
    pub name: String,
    pub unit: &'static str,
    pub about: &'static str,
    pub writer: &'static str,
    pub rate_set: bool,
}

/// The symbol table, filled in a first pass over all parts (the census) and
/// consulted in a second one (the wiring).
#[derive(Default, Clone)]
pub(crate) struct Table {
    pub instances: Vec<String>,
    pub from: Vec<Vec<(String, String)>>,
    pub kinds: HashMap<&'static str, Kind>,
    pub slots: HashMap<Key, Slot>,
    pub info: Vec<SlotInfo>,
    pub providers: HashMap<&'static str, Vec<(u32, Slot)>>,
    pub contributions: HashMap<&'static str, Vec<Slot>>,
    pub totals: BTreeMap<&'static str, Slot>,
    pub others: BTreeMap<(&'static str, u32), Slot>,
    pub law_index: HashMap<Key, u32>,
    pub law_providers: HashMap<&'static str, Vec<(u32, u32)>>,
}

/// The table at work. Clones share it until one of them adds something, so
/// that a part can be declared anew without copying it.
#[derive(Default, Clone)]
pub(crate) struct Builder {
    table: Arc<Table>,
    pub wiring: bool,
    /// Set when a part, declared again, asks for something new.
    pub changed: bool,
    pub problems: Vec<Problem>,
    pub out: Declared,
}

impl Deref for Builder {
    type Target = Table;
    fn deref(&self) -> &Table {
        &self.table
    }
}

impl DerefMut for Builder {
    fn deref_mut(&mut self) -> &mut Table {
        Arc::make_mut(&mut self.table)
    }
}

impl Builder {
    pub(crate) fn new(instances: Vec<String>, from: Vec<Vec<(String, String)>>) -> Builder {
        let time = SlotInfo {
            name: "time".into(),
            unit: "s",
            about: "simulated time",
            writer: "clock",
            rate_set: false,
        };
        let table = Table { instances, from, info: vec![time], ..Table::default() };
        Builder { table: Arc::new(table), ..Builder::default() }
    }

    /// Notes a kind and checks that its name has only one meaning.
    pub(crate) fn know(&mut self, kind: &Kind) {
        match self.kinds.get(kind.name) {
            None => {
                self.kinds.insert(kind.name, *kind);
            }
            Some(first) if first.unit != kind.unit || first.reducer != kind.reducer => {
                let show = |k: &Kind| format!("{}, {:?}", k.unit, k.reducer).to_lowercase();
                let problem =
                    Problem::Clash { kind: kind.name.into(), first: show(first), second: show(kind) };
                self.report(problem);
            }
            Some(_) => {}
        }
    }

    pub(crate) fn report(&mut self, problem: Problem) {
        if !self.problems.contains(&problem) {
            self.problems.push(problem);
        }
    }

    pub(crate) fn allocate(&mut self, key: Key, kind: &Kind, writer: &'static str) -> Slot {
        let (instance, _, label) = key;
        let mut name = format!("{}.{}", self.instances[instance as usize], kind.name);
        if !label.is_empty() {
            name.push('.');
            name.push_str(label);
        }
        let slot = self.info.len() as Slot;
        self.info.push(SlotInfo { name, unit: kind.unit, about: kind.about, writer, rate_set: false });
        self.slots.insert(key, slot);
        slot
    }

    pub(crate) fn not_finite(&mut self, slot: Slot, value: f64) {
        let name = self.info[slot as usize].name.clone();
        let (instance, kind) = name.split_once('.').unwrap_or((&name, ""));
        self.report(Problem::NotFinite {
            instance: instance.into(),
            kind: kind.into(),
            value: value.to_string(),
        });
    }

    pub(crate) fn not_owned(&mut self, instance: u32, equation: &str, kind: &Kind) {
        self.report(Problem::NotOwned {
            instance: self.instances[instance as usize].clone(),
            equation: equation.into(),
            kind: kind.name.into(),
        });
    }

    fn reader(&self, instance: u32, equation: &str) -> String {
        format!("{}: {equation}", self.instances[instance as usize])
    }

    fn chosen(&self, instance: u32, kind: &Kind) -> Option<&str> {
        let list = &self.from[instance as usize];
        list.iter().find(|(k, _)| k == kind.name).map(|(_, source)| source.as_str())
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

    /// States whose rate no equation sets.
    pub(crate) fn rates_missing(&mut self) {
        let missing: Vec<(u32, &'static str)> = self
            .slots
            .iter()
            .filter(|((_, _, label), slot)| *label == RATE && !self.info[**slot as usize].rate_set)
            .map(|((instance, kind, _), _)| (*instance, *kind))
            .collect();
        for (instance, kind) in missing {
            let instance = self.instances[instance as usize].clone();
            self.report(Problem::NoRate { instance, kind: kind.into() });
        }
    }
}

/// ` (did you mean …?)` or nothing.
pub(crate) fn hint<'a>(name: &str, candidates: impl Iterator<Item = &'a str>) -> String {
    let best = candidates
        .map(|c| (strsim::damerau_levenshtein(name, c), c))
        .filter(|(distance, c)| *distance <= (c.len().max(name.len()) / 3).max(1))
        .min();
    best.map_or(String::new(), |(_, c)| format!(" (did you mean {c}?)"))
}
