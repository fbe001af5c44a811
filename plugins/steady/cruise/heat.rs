//! How warm it gets: where temperatures tend to in steady flight, and how long full
//! throttle lasts from cold.

use engine::model::{Model, Probe};
use engine::profile::Profile;
use engine::run::{Options, Run, Sampler};
use serde_json::{Value, json};

use super::level::{Flight, Level};
use crate::nomenclature::*;
use crate::steady::card::stop::{CELLS, fold_back};
use crate::verdict::limits::{BINDING, margins};
use crate::verdict::outcome::EMPTY;

/// Longest time looked at, s.
const LONGEST: f64 = 1800.0;
/// Step of slow states, s: motion is held, heat and charge are what moves.
const STEP: f64 = 2.0;
/// Usual size of a temperature, K.
const SIZE: f64 = 30.0;
/// Highest temperature that counts as steady, °C: no winding, switch or cell stands more.
const HOTTEST: f64 = 250.0;

/// Full throttle from cold.
pub struct Heat {
    /// Speed that is held, m/s.
    pub speed: f64,
    /// Limits of temperature, with the time from which each takes current back; none within the time looked at.
    pub limits: Vec<(String, Option<f64>)>,
    /// Time at which a range of the model's is first left, in words.
    pub warnings: Vec<(String, f64)>,
    /// Highest temperatures, by name, °C, and when.
    pub highest: Vec<(String, f64, f64)>,
    /// Time from which thrust falls short of the resistance, s, and what holds the drive back there.
    pub short: Option<(f64, String)>,
    /// Length, s.
    pub lasted: f64,
    /// Why it ended before the longest time, if it did.
    pub ended: Option<String>,
}

/// States that are temperatures, with their names for people.
fn temperatures(model: &Model) -> Vec<(String, Probe)> {
    let kinds = [&WINDING_TEMPERATURE, &CASE_TEMPERATURE, &CONTROLLER_TEMPERATURE, &CELL_TEMPERATURE];
    let states =
        kinds.iter().flat_map(|kind| model.providers(kind.name).into_iter().map(move |p| (kind.name, p)));
    states
        .filter(|(_, p)| model.state_index(*p).is_some())
        .map(|(name, p)| (name.replace('_', " "), p))
        .collect()
}

/// Temperatures that steady flight tends to, with the losses at these temperatures.
pub fn steady(flight: &Flight, level: &Level) -> Result<Vec<(String, f64)>, String> {
    let states = temperatures(flight.trim.model());
    if states.is_empty() {
        return Ok(Vec::new());
    }
    let mut question = flight.balance.clone();
    question.hold(flight.trim.speed(), level.speed);
    for (_, state) in &states {
        question.free(*state, f64::NEG_INFINITY, HOTTEST, SIZE);
        question.rest(*state);
    }
    let start: Vec<f64> = question.unknowns().iter().map(|&u| level.point.value(u)).collect();
    match question.solve(&start) {
        Ok(point) if flight.flies(&point) => {
            Ok(states.into_iter().map(|(name, p)| (name, point.value(p))).collect())
        }
        _ => Err("none: it gets warmer until a limit takes current back".into()),
    }
}

/// Temperatures that are not to be exceeded, by name, °C: where the controller begins to take current back, and the cells'.
pub fn bearable(flight: &Flight) -> Vec<(String, f64)> {
    let model = flight.trim.model();
    let mut run = Run::new(model.clone(), Options { settle: false, ..Options::default() });
    if let Some(profile) = run.input(flight.throttle) {
        *profile = Profile::constant(1.0);
    }
    let allowed = model.providers(MOTOR_CURRENT_MAX.name).first().copied();
    let kinds = [&WINDING_TEMPERATURE, &CONTROLLER_TEMPERATURE].into_iter();
    let folds =
        kinds.filter_map(|kind| Some((kind.name.replace('_', " "), fold_back(run.clone(), allowed?, kind)?)));
    let cells = (CELL_TEMPERATURE.name.replace('_', " "), CELLS);
    folds.chain(std::iter::once(cells)).collect()
}

/// Full throttle at the fastest steady flight, from the setup's temperatures.
pub fn full_throttle(flight: &Flight, level: &Level) -> Option<Heat> {
    let model = flight.trim.model();
    let slowly = Options { max_step: STEP, ..Options::default() };
    let mut run = flight.trim.motionless(slowly, |state| level.point.value(state));
    *run.input(flight.throttle)? = Profile::constant(1.0);
    let ended = match run.advance(LONGEST, &[]) {
        Ok(_) => None,
        Err(error) => Some(error.to_string()),
    };
    let limits: Vec<(String, Probe)> =
        margins(model).into_iter().filter(|(name, _)| name.contains("temperature")).collect();
    let sagged: Vec<Probe> =
        margins(model).into_iter().filter(|(name, _)| name == "under-voltage").map(|(_, p)| p).collect();
    let mut since: Vec<Option<f64>> = vec![None; limits.len()];
    let warm = temperatures(model);
    let mut highest: Vec<(String, f64, f64)> =
        warm.iter().map(|(name, _)| (name.clone(), f64::NEG_INFINITY, 0.0)).collect();
    let packs = model.providers(STATE_OF_CHARGE.name);
    let mut until: Option<(f64, f64, bool)> = None;
    let (all, forward) = (margins(model), model.total(SURGE_FORCE.name));
    let mut short: Option<(f64, String)> = None;
    let mut sampler = Sampler::new(model, run.trajectory());
    if run.trajectory().is_empty() {
        return None;
    }
    sampler.walk(STEP, |t, s| {
        // what an empty pack still gives is no full throttle
        let left = packs.iter().map(|&p| s.value(p)).fold(f64::INFINITY, f64::min);
        let low = sagged.iter().any(|&p| s.value(p) > -BINDING);
        if until.is_some() || left < EMPTY || low {
            until = until.or(Some((t, left, low)));
            return;
        }
        if short.is_none() && forward.is_some_and(|p| s.value(p) < 0.0) {
            let binding = all.iter().filter(|(_, p)| s.value(*p) > -BINDING).map(|(name, _)| name.as_str());
            short = Some((t, binding.collect::<Vec<_>>().join(" + ")));
        }
        for ((_, probe), since) in limits.iter().zip(&mut since) {
            if since.is_none() && s.value(*probe) > -BINDING {
                *since = Some(t);
            }
        }
        for ((_, probe), highest) in warm.iter().zip(&mut highest) {
            if s.value(*probe) > highest.1 {
                (highest.1, highest.2) = (s.value(*probe), t);
            }
        }
    });
    let (_, end) = run.trajectory().span();
    let empty = |(_, left, low): (f64, f64, bool)| {
        let left = 100.0 * left.max(0.0);
        let how =
            if low { "it has sagged to the controller's lowest voltage" } else { "it has nothing left" };
        format!("the pack is empty: {how} ({left:.0} % of its charge left)")
    };
    let ended = until.map(empty).or(ended);
    let end = until.map_or(end, |(t, ..)| t);
    let warm = |name: &str| name.contains("temperature");
    let warnings = run.warnings().into_iter().filter(|w| warm(model.name(w.quantity)));
    let warnings =
        warnings.map(|w| (format!("{}: {}", model.name(w.quantity), w.message), w.first)).collect();
    let limits = limits.into_iter().map(|(name, _)| name).zip(since).collect();
    Some(Heat { speed: level.speed, limits, warnings, highest, short, lasted: end, ended })
}

impl Heat {
    /// For a machine.
    pub fn value(&self) -> Value {
        let limits = self.limits.iter().map(|(name, t)| json!({"limit": name, "from_s": t}));
        let highest = self.highest.iter().map(|(name, t, at)| {
            (format!("{name}_degC").replace(' ', "_"), json!({"value": t, "time_s": at}))
        });
        let warnings = self.warnings.iter().map(|(what, t)| json!({"message": what, "first_s": t}));
        json!({"speed_m_s": self.speed, "holds_speed_until_s": self.short.as_ref().map(|(t, _)| t),
               "then_held_back_by": self.short.as_ref().map(|(_, what)| what), "lasted_s": self.lasted, "ended": self.ended,
               "limits": limits.collect::<Vec<Value>>(), "warnings": warnings.collect::<Vec<Value>>(),
               "highest": highest.collect::<serde_json::Map<String, Value>>()})
    }
}
