//! Names to slots: who writes what, and where each reader finds it.

use std::collections::{BTreeMap, BTreeSet, HashMap};
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
    /// Kinds that an instance with wiring choices takes from one instance or another.
    pub taken: Vec<(u32, &'static str)>,
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

    pub(crate) fn out_of_range(&mut self, slot: Slot, value: f64, range: (f64, f64)) {
        let SlotInfo { name, unit, .. } = self.info[slot as usize].clone();
        let (instance, kind) = name.split_once('.').unwrap_or((&name, ""));
        self.report(Problem::OutOfRange {
            instance: instance.into(),
            kind: kind.into(),
            value: told(value, unit),
            range: told_range(range, unit),
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
        let mut missing: Vec<(u32, &'static str)> = self
            .slots
            .iter()
            .filter(|((_, _, label), slot)| *label == RATE && !self.info[**slot as usize].rate_set)
            .map(|((instance, kind, _), _)| (*instance, *kind))
            .collect();
        // a hash map has no order; mistakes are told in one
        missing.sort_unstable();
        for (instance, kind) in missing {
            let instance = self.instances[instance as usize].clone();
            self.report(Problem::NoRate { instance, kind: kind.into() });
        }
    }

    /// Wiring choices that no equation has asked for.
    pub(crate) fn unused_sources(&mut self) {
        for (instance, name) in self.instances.clone().into_iter().enumerate() {
            let own = |&&(i, _): &&(u32, &'static str)| i as usize == instance;
            let taken: BTreeSet<&str> = self.taken.iter().filter(own).map(|(_, kind)| *kind).collect();
            let choices = self.from[instance].iter().map(|(kind, _)| kind);
            let unused: Vec<String> =
                choices.filter(|kind| !taken.contains(kind.as_str())).cloned().collect();
            for kind in unused {
                let hint = match hint(&kind, taken.iter().copied()) {
                    none if none.is_empty() && !taken.is_empty() => {
                        format!("; it takes {}", Vec::from_iter(taken.iter().copied()).join(", "))
                    }
                    hint => hint,
                };
                self.report(Problem::UnusedSource { instance: name.clone(), kind, hint });
            }
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

/// A value with its unit.
pub(crate) fn told(value: f64, unit: &str) -> String {
    let unit = match unit {
        "1" => String::new(),
        "degC" => " °C".into(),
        "ohm" => " Ω".into(),
        other => format!(" {other}"),
    };
    // plain digits for what one would write so, an exponent for what one would not
    match value.abs() {
        size if size != 0.0 && !(1e-4..1e6).contains(&size) => format!("{value:e}{unit}"),
        _ => format!("{value}{unit}"),
    }
}

/// `from 0 to 1`, with the unit.
pub(crate) fn told_range((low, high): (f64, f64), unit: &str) -> String {
    format!("from {} to {}", told(low, "1"), told(high, unit))
}
