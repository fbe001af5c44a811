//! What can be read off the record of a run.

use engine::model::{Model, Probe};
use engine::quantity::Kind;
use engine::run::{RunError, Sampler};
use engine::scenario::Finished;

use super::afloat::{Afloat, under_way};
use super::flight::{Flight, TakeOff};
use super::ledger::Ledger;
use super::limits::{Interval, Limits};
use super::peaks::{Peak, Peaks};
use super::pull::{Pull, Pulls};
use crate::handbook::G;
use crate::nomenclature::*;

/// Longest time between two looks at the record, s: the resolution of intervals and peaks.
pub const SPACING: f64 = 0.02;
/// Time over which the acceleration at the end is averaged, s.
const AT_THE_END: f64 = 1.0;

/// A range that was left.
#[derive(Debug, Clone, PartialEq)]
pub struct Warning {
    pub quantity: String,
    pub message: &'static str,
    pub low: Option<f64>,
    pub high: Option<f64>,
    pub unit: &'static str,
    pub first: f64,
    pub worst: f64,
}

/// All facts of a run.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Facts {
    /// Whether a stand holds the craft, so that there is no take-off to miss.
    pub on_stand: bool,
    pub flight: Flight,
    pub duration: f64,
    pub distance: Option<f64>,
    pub speed_at_end: Option<f64>,
    pub acceleration_at_end: Option<f64>,
    pub throttle_at_end: Option<f64>,
    /// Lowest state of charge of any pack.
    pub charge_at_end: Option<f64>,
    pub energy_wh: Option<f64>,
    pub charge_ah: Option<f64>,
    pub peaks: Vec<Peak>,
    pub pulls: Pulls,
    pub limits: Vec<Interval>,
    pub turned_over: bool,
    pub ledger: Option<Ledger>,
    pub warnings: Vec<Warning>,
    pub advice: Vec<String>,
    /// Why it did not come to rest at the start, where it did not.
    pub not_afloat: Option<String>,
    /// Weight of the craft, N.
    pub weight: Option<f64>,
}

/// The one provider of a kind; the first in name where there are several.
pub fn first(model: &Model, kind: &Kind) -> Option<Probe> {
    model.providers(kind.name).first().copied()
}

/// Sum over all providers of a kind at the sampler's time.
fn sum(model: &Model, sampler: &Sampler, kind: &Kind) -> Option<f64> {
    let all = model.providers(kind.name);
    (!all.is_empty()).then(|| all.iter().map(|&p| sampler.value(p)).sum())
}

impl Facts {
    /// Reads the record.
    pub fn gather(finished: &Finished) -> Facts {
        let run = &finished.run;
        let model = run.model().as_ref();
        let mut facts = Facts {
            on_stand: model.providers(FOILBORNE.name).is_empty(),
            warnings: warnings(finished),
            advice: advice(finished),
            not_afloat: not_afloat(finished),
            ..Facts::default()
        };
        if run.trajectory().times().is_empty() {
            return facts;
        }
        let (begin, end) = run.trajectory().span();
        facts.duration = end - begin;
        let mut sampler = Sampler::new(model, run.trajectory());
        facts.at_the_end(model, &mut sampler, begin, end);

        // once through the record, with every observer looking on
        let take_off = facts.flight.take_off.as_ref().map(|t| t.time);
        let (mut peaks, mut limits) = (Peaks::new(model), Limits::new(model));
        let mut pulls = Pulls::new(model, take_off, facts.on_stand);
        facts.flight.prepare(model);
        sampler.walk(SPACING, |t, s| {
            peaks.look(t, s);
            limits.look(t, s);
            pulls.look(t, s);
            facts.flight.look(t, s);
        });
        facts.peaks = peaks.found(model);
        facts.limits = limits.found(model);
        pulls.found();
        facts.pulls = pulls;
        // whoever holds a state does work that no entry of the ledger knows of
        if !run.holds_a_state() {
            facts.ledger = Ledger::read(model, &mut sampler, begin, end);
        }
        facts
    }

    fn at_the_end(&mut self, model: &Model, sampler: &mut Sampler, begin: f64, end: f64) {
        let speed = first(model, &SURGE_SPEED);
        let before = (end - AT_THE_END).max(begin);
        sampler.go(before);
        let speed_before = speed.map(|p| sampler.value(p));
        sampler.go(end);
        let at_end = |kind: &Kind| first(model, kind).map(|p| sampler.value(p));
        self.distance = at_end(&DISTANCE);
        self.speed_at_end = at_end(&SURGE_SPEED);
        self.acceleration_at_end = self
            .speed_at_end
            .zip(speed_before)
            .map(|(v, before_v)| (v - before_v) / (end - before).max(f64::MIN_POSITIVE));
        self.throttle_at_end = at_end(&THROTTLE);
        let packs = model.providers(STATE_OF_CHARGE.name);
        self.charge_at_end = packs.iter().map(|&p| sampler.value(p)).min_by(f64::total_cmp);
        self.energy_wh = sum(model, sampler, &ENERGY_DRAWN).map(|j| j / 3600.0);
        self.charge_ah = sum(model, sampler, &CHARGE_DRAWN).map(|c| c / 3600.0);
        self.turned_over = at_end(&TURNED_OVER).is_some_and(|v| v > 0.5);
        self.weight = model.total(MASS.name).map(|p| sampler.value(p) * G);
        let mode = |kind: &Kind| at_end(kind).filter(|&v| v >= 0.0);
        let foilborne = at_end(&FOILBORNE).is_some_and(|v| v > 0.5);
        self.flight.touch_down = mode(&TOUCH_DOWN_TIME);
        let take_off = mode(&TAKE_OFF_TIME).filter(|_| foilborne);
        let (distance, speed) = (at_end(&TAKE_OFF_DISTANCE), at_end(&TAKE_OFF_SPEED));
        if let Some(time) = take_off {
            sampler.go(time);
            self.flight.take_off = Some(TakeOff {
                time,
                distance: distance.unwrap_or(0.0),
                speed: speed.unwrap_or(0.0),
                energy_wh: sum(model, sampler, &ENERGY_DRAWN).map(|j| j / 3600.0),
                charge_ah: sum(model, sampler, &CHARGE_DRAWN).map(|c| c / 3600.0),
            });
        }
    }

    /// Where resistance was greatest.
    pub fn hump(&self) -> Option<Pull> {
        self.pulls.hump
    }

    /// Where the surplus of thrust was smallest with the throttle open.
    pub fn tightest(&self) -> Option<Pull> {
        self.pulls.tightest
    }
}

fn warnings(finished: &Finished) -> Vec<Warning> {
    let model = finished.run.model();
    finished
        .run
        .warnings()
        .into_iter()
        .map(|w| Warning {
            quantity: model.name(w.quantity).to_string(),
            message: w.message,
            low: w.low.is_finite().then_some(w.low),
            high: w.high.is_finite().then_some(w.high),
            unit: model.unit(w.quantity),
            first: w.first,
            worst: w.worst,
        })
        .collect()
}

fn not_afloat(finished: &Finished) -> Option<String> {
    matches!(finished.error, Some(RunError::NoEquilibrium { .. })).then_some(())?;
    let model = finished.run.model();
    let found = Afloat::of(model)?;
    Some(format!("{}. What to do: {}; {}", found.words(), found.remedy(), under_way(model)))
}

fn advice(finished: &Finished) -> Vec<String> {
    let model = finished.run.model();
    let of_parts = model.advice().into_iter().map(|(instance, text)| format!("{instance}: {text}"));
    of_parts.chain(finished.setup_warnings.iter().cloned()).collect()
}
