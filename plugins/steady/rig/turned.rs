//! A drive on its rig, turned up or down.

use std::sync::Arc;

use engine::analysis::Craft;
use engine::diagnostic::{Diagnostic, Diagnostics};
use engine::model::{Model, Probe};
use engine::part::PartKind;
use engine::run::{Options, Run};

use super::super::tub::bench::Bench;
use super::super::tub::reading::Reading;
use crate::nomenclature::*;

/// Limits a controller takes, A.
const TAKEN: (f64, f64) = (0.1, 2000.0);

/// A rig whose motor-current limit can be set.
pub struct Turned<'a> {
    craft: &'a Craft,
    kinds: &'a [PartKind],
    /// As the setup has it.
    pub model: Arc<Model>,
    path: String,
    /// The setup's limit, A, as it counts amperes.
    pub present: f64,
    /// DC-equivalent amperes per ampere of the setup.
    pub dc: f64,
    /// Margins, as `part.label`.
    pub names: Vec<String>,
}

/// The rig in one state.
#[derive(Debug, Clone)]
pub struct State {
    /// Limit \[A\] or throttle.
    pub at: f64,
    pub reading: Reading,
    /// In the order of the names.
    pub margins: Vec<f64>,
}

impl<'a> Turned<'a> {
    /// # Errors
    /// The setup has no rig or not one drive.
    pub fn rigged(craft: &'a Craft, kinds: &'a [PartKind]) -> Result<Turned<'a>, Diagnostics> {
        if margins(&craft.model).is_empty() {
            let error = Diagnostic::error("no part of this setup tells a margin of a bench rig");
            return Err(error.help("add the parts of the rig: `lever`, and `arm`, `key` or `fuse`").into());
        }
        Turned::of(craft, kinds)
    }

    /// With or without a rig.
    ///
    /// # Errors
    /// The setup has not one drive.
    pub fn of(craft: &'a Craft, kinds: &'a [PartKind]) -> Result<Turned<'a>, Diagnostics> {
        let model = craft.model.clone();
        let names: Vec<String> = margins(&model).into_iter().map(|(name, _)| name).collect();
        // one drive and one propeller, or it says what is missing
        let bench = Bench::new(craft)?;
        let open = |model: &Arc<Model>| {
            let probe = model.providers(MOTOR_CURRENT_MAX.name).first().copied();
            let throttle = model.providers(THROTTLE.name).first().copied();
            let mut run = Run::new(model.clone(), Options { settle: false, ..Options::default() });
            if let Some(profile) = throttle.and_then(|p| run.input(p)) {
                *profile = engine::profile::Profile::constant(1.0);
            }
            probe.map_or(f64::NAN, |p| run.value(p))
        };
        let part = model.name(bench.probes.motor_current_max).split('.').next().unwrap_or_default();
        let path = format!("{part}.motor_current");
        // what the setup's ampere is worth follows from a limit of known size
        let sample = 100.0;
        let now = open(&model);
        let worth = open(&craft.changed([(path.as_str(), sample)], kinds)?.model) / sample;
        let present = now / worth;
        // folded back by heat from the start, nothing is allowed
        if !(present.is_finite() && present > 0.0) {
            let error = Diagnostic::error(format!("{path} allows no current at full throttle: {now} A"));
            return Err(error.help("look at the temperatures the setup starts from").into());
        }
        Ok(Turned { craft, kinds, model, path, present, dc: worth, names })
    }

    /// A limit that a controller takes, A.
    pub fn allowed(&self, limit: f64) -> f64 {
        limit.clamp(TAKEN.0, TAKEN.1)
    }

    /// The rig at another motor-current limit, A.
    ///
    /// # Errors
    /// The limit is refused, or the craft cannot be held.
    pub fn at_limit(&self, limit: f64) -> Result<Bench, Diagnostics> {
        Bench::new(&self.craft.changed([(self.path.as_str(), limit)], self.kinds)?)
    }

    /// Reading and margins at a throttle.
    ///
    /// # Errors
    /// There is no steady state, or a margin is no number.
    pub fn state(&self, bench: &Bench, at: f64, throttle: f64) -> Result<State, Diagnostics> {
        let reading = bench.reading(throttle)?;
        let mut run = bench.steady(throttle);
        let model = run.model().clone();
        let margins: Vec<f64> = margins(&model).into_iter().map(|(_, p)| run.value(p)).collect();
        match self.names.iter().zip(&margins).find(|(_, margin)| !margin.is_finite()) {
            Some((name, margin)) => Err(Diagnostic::error(format!("the margin {name} is {margin}")).into()),
            None => Ok(State { at, reading, margins }),
        }
    }
}

/// The margins of a rig with their names, in the order of names.
fn margins(model: &Model) -> Vec<(String, Probe)> {
    let between = format!(".{}.", RIG_MARGIN.name);
    let named = |p: Probe| (model.name(p).replacen(&between, ".", 1), p);
    let mut all: Vec<(String, Probe)> = model.contributions(RIG_MARGIN.name).into_iter().map(named).collect();
    all.sort_by(|a, b| a.0.cmp(&b.0));
    all
}
