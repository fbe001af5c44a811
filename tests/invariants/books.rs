//! Reading the energy ledger of a run.

use engine::model::{Model, Probe};
use engine::run::{Run, Sampler};

use crate::craft::find;

/// Sources, sinks and the change of stores over a run, J.
#[derive(Debug, Clone, Copy)]
pub struct Books {
    pub sources: f64,
    /// All that came in, whichever sign an entry has.
    pub drawn: f64,
    pub sinks: f64,
    pub stored: f64,
}

impl Books {
    /// What does not add up, over all that came in.
    pub fn error(&self) -> f64 {
        (self.sources - self.sinks - self.stored).abs() / self.drawn
    }
}

/// Running integrals of every contribution to a kind.
pub fn integrals(model: &Model, kind: &str) -> Vec<Probe> {
    let of = |p: Probe| find(model, &format!("integral.{}", model.name(p)));
    model.contributions(kind).into_iter().map(of).collect()
}

/// The ledger of a run so far.
pub fn books(run: &Run) -> Books {
    let model = run.model();
    let (begin, end) = run.trajectory().span();
    let mut sampler = Sampler::new(model, run.trajectory());
    let stores = model.contributions("energy_store");
    sampler.go(begin);
    let before: f64 = stores.iter().map(|&p| sampler.value(p)).sum();
    sampler.go(end);
    let sum = |list: &[Probe]| list.iter().map(|&p| sampler.value(p)).sum::<f64>();
    let (sources, sinks) = (integrals(model, "energy_source"), integrals(model, "energy_sink"));
    Books {
        sources: sum(&sources),
        drawn: sources.iter().map(|&p| sampler.value(p).abs()).sum(),
        sinks: sum(&sinks),
        stored: sum(&stores) - before,
    }
}
