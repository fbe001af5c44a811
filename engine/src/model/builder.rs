//! Names to slots: who writes what, and where each reader finds it.

use std::collections::{BTreeMap, HashMap};
use std::ops::{Deref, DerefMut};
use std::sync::Arc;

use super::declared::Declared;
use super::error::Problem;
use super::frame::Slot;
use crate::quantity::Kind;

/// Instance, kind, label.
pub(crate) type Key = (u32, &'static str, &'static str);

pub(crate) const RATE: &str = "rate";
pub(crate) const OTHERS: &str = "others";
pub(crate) const LAW_LABEL: &str = "law";
pub(crate) const DEFAULT: &str = "default";

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
