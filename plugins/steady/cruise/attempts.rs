//! Several attempts to take off from one pack, with rests between: charge, polarisation and
//! heat are carried over, the craft begins each attempt at rest.

use std::sync::Arc;

use engine::model::{Crossing, Model, Probe};
use engine::run::{Condition, Options, Pause, Run};
use serde_json::{Value, json};

use crate::nomenclature::*;
use crate::steady::trim::Trim;

/// Longest attempt, s.
const LONGEST: f64 = 20.0;
/// The throttle begins to open, s.
const BEGIN: f64 = 0.5;

/// How the throttle is opened.
#[derive(Debug, Clone, Copy)]
pub struct Opening {
    /// To what, 0 to 1.
    pub to: f64,
    /// Within, s.
    pub within: f64,
}

/// One attempt.
pub struct Attempt {
    /// Time to take-off, s; none if it did not within the longest time.
    pub take_off: Option<f64>,
    /// State of charge afterwards.
    pub charge: Option<f64>,
    /// Hottest winding, controller and cells in the attempt, °C.
    pub hottest: Vec<(String, f64)>,
    /// Why it broke off.
    pub broke_off: Option<String>,
}

/// States that outlast an attempt: all but those of motion and of what only adds up.
fn lasting(model: &Model, trim: &Trim) -> Vec<Probe> {
    let away = model.providers(DISTANCE.name);
    let passing = |p: &Probe| trim.quick().contains(p) || *p == trim.speed() || away.contains(p);
    model.state_probes().into_iter().filter(|p| !passing(p)).collect()
}

/// Attempts one after the other, with `rest` seconds between, the throttle opened as `opening` says.
pub fn in_a_row(
    model: &Arc<Model>,
    trim: &Trim,
    attempts: usize,
    rest: f64,
    opening: Opening,
) -> Vec<Attempt> {
    let lasting = lasting(model, trim);
    let foilborne = model.providers(FOILBORNE.name).first().copied();
    let mut carried: Vec<f64> = lasting.iter().map(|&p| model.start_value(p)).collect();
    let mut all = Vec::new();
    for _ in 0..attempts {
        let mut run = Run::new(model.clone(), Options::default());
        for (&state, &value) in lasting.iter().zip(&carried) {
            run.place(state, value);
        }
        for &throttle in trim.throttle() {
            if let Some(input) = run.input(throttle) {
                input.change(BEGIN, opening.within, opening.to);
            }
        }
        let up = foilborne.map(|quantity| Condition { quantity, crossing: Crossing::Rising, level: 0.5 });
        let ended = run.advance(LONGEST, up.as_slice());
        let mut attempt = Attempt {
            take_off: None,
            charge: None,
            hottest: hottest(model, &run),
            broke_off: ended.as_ref().err().map(ToString::to_string),
        };
        if matches!(ended, Ok(Pause::Condition(_) | Pause::Ended)) {
            attempt.take_off =
                model.providers(TAKE_OFF_TIME.name).first().map(|&p| run.value(p)).filter(|t| *t >= 0.0);
        }
        attempt.charge = model.providers(STATE_OF_CHARGE.name).first().map(|&p| run.value(p));
        carried = lasting.iter().map(|&p| run.value(p)).collect();
        let broke_off = attempt.broke_off.is_some();
        all.push(attempt);
        if broke_off {
            break;
        }
        carried = rested(model, trim, &lasting, carried, rest);
    }
    all
}

/// The lasting states after a rest at no throttle, the craft afloat.
fn rested(model: &Arc<Model>, trim: &Trim, lasting: &[Probe], carried: Vec<f64>, rest: f64) -> Vec<f64> {
    if rest <= 0.0 {
        return carried;
    }
    let slowly = Options { max_step: 1.0, ..Options::default() };
    let mut run = trim.motionless(slowly, |state| model.start_value(state));
    for (&state, &value) in lasting.iter().zip(&carried) {
        run.place(state, value);
    }
    match run.advance(rest, &[]) {
        Ok(_) => lasting.iter().map(|&p| run.value(p)).collect(),
        Err(_) => carried,
    }
}

fn hottest(model: &Model, run: &Run) -> Vec<(String, f64)> {
    let kinds = [&WINDING_TEMPERATURE, &CONTROLLER_TEMPERATURE, &CELL_TEMPERATURE];
    let probes: Vec<(String, Probe)> = kinds
        .iter()
        .flat_map(|kind| model.providers(kind.name).into_iter().map(|p| (kind.name.replace('_', " "), p)))
        .collect();
    let mut best = vec![f64::NEG_INFINITY; probes.len()];
    let mut sampler = engine::run::Sampler::new(model, run.trajectory());
    sampler.walk(0.1, |_, s| {
        for ((_, probe), best) in probes.iter().zip(&mut best) {
            *best = best.max(s.value(*probe));
        }
    });
    probes.into_iter().map(|(name, _)| name).zip(best).filter(|(_, t)| t.is_finite()).collect()
}

impl Attempt {
    /// For a machine.
    pub fn value(&self) -> Value {
        let hottest =
            self.hottest.iter().map(|(name, t)| (format!("{name}_degC").replace(' ', "_"), json!(t)));
        json!({"take_off_s": self.take_off, "state_of_charge": self.charge, "broke_off": self.broke_off,
               "hottest": hottest.collect::<serde_json::Map<String, Value>>()})
    }
}
