//! The energy ledger of a run.

use std::collections::BTreeMap;

use engine::model::{Model, Probe};
use engine::quantity::Kind;
use engine::run::Sampler;

use crate::nomenclature::{ENERGY_SINK, ENERGY_SOURCE, ENERGY_STORE};

/// What came in, what went out, what is held, and what does not add up; J.
#[derive(Debug, Clone, PartialEq)]
pub struct Ledger {
    pub sources: BTreeMap<String, f64>,
    pub sinks: BTreeMap<String, f64>,
    /// Changes over the run.
    pub stores: BTreeMap<String, f64>,
    pub error: f64,
}

impl Ledger {
    /// Error relative to all that came in.
    pub fn relative(&self) -> f64 {
        let total: f64 = self.sources.values().map(|v| v.abs()).sum();
        self.error.abs() / total.max(f64::MIN_POSITIVE)
    }

    /// Reads the ledger of a run; `None` where none was kept.
    pub fn read(model: &Model, sampler: &mut Sampler, begin: f64, end: f64) -> Option<Ledger> {
        // `motor.energy_sink.copper` is told as `motor.copper`
        let entry = |p: Probe, kind: &Kind| model.name(p).replace(&format!(".{}", kind.name), "");
        let integrals = |kind: &Kind| -> Option<Vec<(String, Probe)>> {
            let all = model.contributions(kind.name);
            let integral =
                |p: Probe| Some((entry(p, kind), model.find(&format!("integral.{}", model.name(p)))?));
            all.into_iter().map(integral).collect()
        };
        let (sources, sinks) = (integrals(&ENERGY_SOURCE)?, integrals(&ENERGY_SINK)?);
        if sources.is_empty() && sinks.is_empty() {
            return None;
        }
        let stores = model.contributions(ENERGY_STORE.name);
        let stores: Vec<(String, Probe)> = stores.into_iter().map(|p| (entry(p, &ENERGY_STORE), p)).collect();
        let values = |s: &Sampler, list: &[(String, Probe)]| -> BTreeMap<String, f64> {
            list.iter().map(|(name, p)| (name.clone(), s.value(*p))).collect()
        };
        sampler.go(begin);
        let before = values(sampler, &stores);
        sampler.go(end);
        let (sources, sinks) = (values(sampler, &sources), values(sampler, &sinks));
        let mut stores = values(sampler, &stores);
        for (name, value) in &mut stores {
            *value -= before.get(name).copied().unwrap_or(0.0);
        }
        let total = |map: &BTreeMap<String, f64>| map.values().sum::<f64>();
        let error = total(&sources) - total(&sinks) - total(&stores);
        Some(Ledger { sources, sinks, stores, error })
    }
}
