//! What can be read off the record of a run, once through.

use std::collections::BTreeMap;

use engine::model::{Model, Probe};
use engine::quantity::Kind;
use engine::run::Sampler;
use engine::scenario::Finished;

use crate::handbook::G;
use crate::nomenclature::*;

/// Longest time between two looks at the record, s: the resolution of intervals and peaks.
pub const SPACING: f64 = 0.02;
/// A limit binds when it is this near, relative to itself.
const BINDING: f64 = 5e-3;
/// Throttle counts as fully open within this share of its highest value.
const OPEN: f64 = 0.99;

/// Share of his reach from which a rider counts as at its end.
const AT_END_OF_REACH: f64 = 0.95;
/// Departure from the trim wanted that counts as lost, rad (6°).
const TRIM_LOST: f64 = 0.105;
/// Share of separated flow from which a wing counts as stalled.
const SEPARATED: f64 = 0.5;
/// Speed from which resistance is told, m/s: below it there is hardly any.
const UNDER_WAY: f64 = 0.5;

/// Take-off as it happened.
#[derive(Debug, Clone, PartialEq)]
pub struct TakeOff {
    pub time: f64,
    pub distance: f64,
    pub speed: f64,
    pub energy_wh: Option<f64>,
    pub charge_ah: Option<f64>,
}

/// A stretch of time in which a limit held the drive back.
#[derive(Debug, Clone, PartialEq)]
pub struct Interval {
    pub limit: String,
    pub from: f64,
    pub to: f64,
}

/// Thrust against resistance at one moment on the way to take-off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pull {
    pub margin: f64,
    pub speed: f64,
    pub time: f64,
    pub resistance: f64,
    pub thrust: f64,
}

/// An extreme value of a quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Peak {
    pub quantity: String,
    pub unit: &'static str,
    pub lowest: bool,
    pub value: f64,
    pub time: f64,
}

/// Unit in which a person reads a quantity, with the factor from SI.
fn shown_unit(unit: &'static str) -> (&'static str, f64) {
    match unit {
        "rad/s" => ("rpm", 60.0 / std::f64::consts::TAU),
        "rad" => ("deg", 180.0 / std::f64::consts::PI),
        other => (other, 1.0),
    }
}

impl Peak {
    /// Value in the unit a person reads.
    pub fn shown(&self) -> f64 {
        self.value * shown_unit(self.unit).1
    }

    /// The unit a person reads.
    pub fn shown_unit(&self) -> &'static str {
        shown_unit(self.unit).0
    }

    /// `motor_current_A`, `bus_voltage_lowest_V`: with its instance where a kind has several.
    pub fn key(&self) -> String {
        let unit = match self.shown_unit() {
            "1" => String::new(),
            "m/s" => "_m_s".into(),
            other => format!("_{}", other.replace(['/', '.'], "_")),
        };
        let lowest = if self.lowest { "_lowest" } else { "" };
        format!("{}{lowest}{unit}", self.quantity)
    }
}

/// The energy ledger at the end, J.
#[derive(Debug, Clone, PartialEq)]
pub struct Ledger {
    pub sources: BTreeMap<String, f64>,
    pub sinks: BTreeMap<String, f64>,
    pub stores: BTreeMap<String, f64>,
    pub error: f64,
}

impl Ledger {
    /// Error relative to all that came in.
    pub fn relative(&self) -> f64 {
        let total: f64 = self.sources.values().map(|v| v.abs()).sum();
        self.error.abs() / total.max(f64::MIN_POSITIVE)
    }
}

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
    pub take_off: Option<TakeOff>,
    pub touch_down: Option<f64>,
    pub duration: f64,
    pub distance: Option<f64>,
    pub speed_at_end: Option<f64>,
    pub acceleration_at_end: Option<f64>,
    pub energy_wh: Option<f64>,
    pub charge_ah: Option<f64>,
    pub peaks: Vec<Peak>,
    /// Where resistance was greatest.
    pub hump: Option<Pull>,
    /// Where the surplus of thrust was smallest with the throttle open.
    pub tightest: Option<Pull>,
    pub static_thrust: Option<f64>,
    pub limits: Vec<Interval>,
    pub reach: Option<f64>,
    /// When the rider, at the end of his reach, first lost the trim he wanted.
    pub trim_lost: Option<f64>,
    pub throttle_opened: bool,
    pub tripped: bool,
    pub breached: Option<f64>,
    pub stalled: Option<f64>,
    pub ledger: Option<Ledger>,
    pub warnings: Vec<Warning>,
    pub advice: Vec<String>,
    pub weight: Option<f64>,
}

/// The one provider of a kind; the first in name where there are several.
pub fn first(model: &Model, kind: &Kind) -> Option<Probe> {
    model.providers(kind.name).first().copied()
}

/// Contribution of everything that gives thrust to the force forward.
pub fn thrusters(model: &Model) -> Vec<Probe> {
    let instance = |p: &Probe| model.name(*p).split('.').next().map(str::to_string);
    let named = model.providers(THRUST.name).iter().filter_map(instance).collect::<Vec<_>>();
    named.iter().filter_map(|name| model.find(&format!("{name}.surge_force"))).collect()
}

/// Kinds whose extremes are told: name, whether the lowest value matters.
const EXTREMES: &[(&Kind, bool)] = &[
    (&MOTOR_CURRENT, false),
    (&BATTERY_CURRENT, false),
    (&BUS_VOLTAGE, true),
    (&DUTY, false),
    (&SHAFT_SPEED, false),
    (&THRUST, false),
    (&WINDING_TEMPERATURE, false),
    (&CASE_TEMPERATURE, false),
    (&CONTROLLER_TEMPERATURE, false),
    (&CELL_TEMPERATURE, false),
    (&SURGE_SPEED, false),
    (&PITCH, false),
];

impl Facts {
    /// Reads the record.
    pub fn gather(finished: &Finished) -> Facts {
        let run = &finished.run;
        let model = run.model().as_ref();
        let warnings = run
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
            .collect();
        let mut facts = Facts { warnings, ..Facts::default() };
        facts.advice =
            model.advice().into_iter().map(|(instance, text)| format!("{instance}: {text}")).collect();
        facts.advice.extend(finished.setup_warnings.iter().cloned());
        if run.trajectory().times().is_empty() {
            return facts;
        }
        let (begin, end) = run.trajectory().span();
        facts.duration = end - begin;
        let mut sampler = Sampler::new(model, run.trajectory());
        sampler.go(end);
        let at_end = |kind: &Kind| first(model, kind).map(|p| sampler.value(p));
        facts.distance = at_end(&DISTANCE);
        facts.speed_at_end = at_end(&SURGE_SPEED);
        facts.acceleration_at_end = first(model, &SURGE_SPEED)
            .and_then(|p| model.find(&format!("{}.rate", model.name(p))))
            .map(|p| sampler.value(p));
        facts.energy_wh = sum(model, &sampler, &ENERGY_DRAWN).map(|j| j / 3600.0);
        facts.charge_ah = sum(model, &sampler, &CHARGE_DRAWN).map(|c| c / 3600.0);
        facts.tripped = model.providers(TRIPPED.name).iter().any(|&p| sampler.value(p) > 0.5);
        let mode = |kind: &Kind| at_end(kind).filter(|&v| v >= 0.0);
        let foilborne = at_end(&FOILBORNE).is_some_and(|v| v > 0.5);
        facts.touch_down = mode(&TOUCH_DOWN_TIME);
        facts.take_off = mode(&TAKE_OFF_TIME).filter(|_| foilborne).map(|time| TakeOff {
            time,
            distance: at_end(&TAKE_OFF_DISTANCE).unwrap_or(0.0),
            speed: at_end(&TAKE_OFF_SPEED).unwrap_or(0.0),
            energy_wh: None,
            charge_ah: None,
        });
        if let Some(take_off) = &mut facts.take_off {
            sampler.go(take_off.time);
            take_off.energy_wh = sum(model, &sampler, &ENERGY_DRAWN).map(|j| j / 3600.0);
            take_off.charge_ah = sum(model, &sampler, &CHARGE_DRAWN).map(|c| c / 3600.0);
        }
        facts.walk(model, &mut sampler);
        facts.ledger = ledger(model, &mut sampler, begin, end);
        facts
    }

    /// Once through the record.
    fn walk(&mut self, model: &Model, sampler: &mut Sampler) {
        let extremes: Vec<(Probe, bool)> = EXTREMES
            .iter()
            .flat_map(|(kind, lowest)| model.providers(kind.name).into_iter().map(move |p| (p, *lowest)))
            .collect();
        let limits = model.contributions(LIMIT_MARGIN.name);
        let (throttle, speed) = (first(model, &THROTTLE), first(model, &SURGE_SPEED));
        let (net, mass) = (model.total(SURGE_FORCE.name), model.total(MASS.name));
        let thrust = thrusters(model);
        let free = first(model, &FREE_MARGIN);
        let reach = first(model, &REACH_USED);
        let trim = first(model, &PITCH).zip(first(model, &TRIM_COMMAND));
        let (depths, stalls) = (model.providers(WING_DEPTH.name), model.providers(STALL.name));
        let open = throttle.map(|p| {
            let mut open: f64 = 0.0;
            sampler.walk(SPACING, |_, s| open = open.max(s.value(p)));
            open * OPEN
        });
        self.throttle_opened = open.is_none_or(|open| open > 0.0);
        let lift_off = self.take_off.as_ref().map_or(f64::INFINITY, |t| t.time);
        let mut peaks: Vec<Option<(f64, f64)>> = vec![None; extremes.len()];
        let mut binding: Vec<Option<f64>> = vec![None; limits.len()];
        let mut last = 0.0;
        sampler.walk(SPACING, |t, s| {
            for ((probe, lowest), peak) in extremes.iter().zip(&mut peaks) {
                let value = s.value(*probe);
                if peak.is_none_or(|(best, _)| if *lowest { value < best } else { value > best }) {
                    *peak = Some((value, t));
                }
            }
            for (k, &limit) in limits.iter().enumerate() {
                match (s.value(limit) > -BINDING, binding[k]) {
                    (true, None) => binding[k] = Some(t),
                    (false, Some(from)) => {
                        self.note(model.name(limit), from, last);
                        binding[k] = None;
                    }
                    _ => {}
                }
            }
            if let Some(reach) = reach {
                let used = s.value(reach).abs();
                self.reach = Some(self.reach.unwrap_or(0.0).max(used));
                if let (None, Some((pitch, wanted))) = (self.trim_lost, trim) {
                    let off = (s.value(pitch) - s.value(wanted)).abs();
                    if used > AT_END_OF_REACH && off > TRIM_LOST {
                        self.trim_lost = Some(t);
                    }
                }
            }
            let pushing = thrust.iter().map(|&p| s.value(p)).sum::<f64>();
            let opened = throttle.is_none_or(|p| open.is_none_or(|open| open > 0.0 && s.value(p) >= open));
            if opened && self.static_thrust.is_none() && !thrust.is_empty() {
                // at rest, or as good as: the first moment of full throttle tells the tub's figure only there
                let still = speed.is_none_or(|p| s.value(p).abs() < 0.05);
                if still {
                    self.static_thrust = Some(pushing);
                }
            }
            if let (Some(net), Some(speed), Some(_)) = (net, speed, free) {
                let (force, v) = (s.value(net), s.value(speed));
                if t < lift_off && v > UNDER_WAY {
                    let here = Pull {
                        margin: force,
                        speed: v,
                        time: t,
                        resistance: pushing - force,
                        thrust: pushing,
                    };
                    if self.hump.is_none_or(|h| here.resistance > h.resistance) {
                        self.hump = Some(here);
                    }
                    if opened && self.tightest.is_none_or(|h| here.margin < h.margin) {
                        self.tightest = Some(here);
                    }
                }
            }
            if t > lift_off && t < lift_off + 5.0 {
                if self.breached.is_none() && depths.iter().any(|&p| s.value(p) <= 0.0) {
                    self.breached = Some(t);
                }
                if self.stalled.is_none() && stalls.iter().any(|&p| s.value(p) > SEPARATED) {
                    self.stalled = Some(t);
                }
            }
            if let Some(mass) = mass {
                self.weight = Some(s.value(mass) * G);
            }
            last = t;
        });
        for (k, from) in binding.iter().enumerate() {
            if let Some(from) = from {
                self.note(model.name(limits[k]), *from, last);
            }
        }
        self.limits.sort_by(|a, b| a.from.total_cmp(&b.from).then_with(|| a.limit.cmp(&b.limit)));
        self.peaks = extremes
            .iter()
            .zip(peaks)
            .filter_map(|(&(probe, lowest), peak)| {
                let (value, time) = peak?;
                let name = model.name(probe);
                let (instance, kind) = name.split_once('.').unwrap_or(("", name));
                let several =
                    extremes.iter().filter(|(p, _)| model.name(*p).ends_with(&format!(".{kind}"))).count()
                        > 1;
                let quantity = if several { format!("{instance}_{kind}") } else { kind.to_string() };
                Some(Peak { quantity, unit: model.unit(probe), lowest, value, time })
            })
            .collect();
    }

    /// Notes a stretch, joined to the one before if there is hardly a gap.
    fn note(&mut self, name: &str, from: f64, to: f64) {
        // `shaft.limit_margin.motor current` → `motor current`
        let limit = name.rsplit('.').next().unwrap_or(name).to_string();
        let before = self.limits.iter_mut().rev().find(|i| i.limit == limit);
        match before {
            Some(before) if from - before.to <= 2.5 * SPACING => before.to = to,
            _ => self.limits.push(Interval { limit, from, to }),
        }
    }
}

fn sum(model: &Model, sampler: &Sampler, kind: &Kind) -> Option<f64> {
    let all = model.providers(kind.name);
    (!all.is_empty()).then(|| all.iter().map(|&p| sampler.value(p)).sum())
}

/// Integrals of all sources and sinks, changes of all stores, and what does not add up.
pub fn ledger(model: &Model, sampler: &mut Sampler, begin: f64, end: f64) -> Option<Ledger> {
    let entry = |p: Probe| {
        model.name(p).replace(".energy_source", "").replace(".energy_sink", "").replace(".energy_store", "")
    };
    let integrals = |kind: &Kind| -> Option<Vec<(String, Probe)>> {
        let all = model.contributions(kind.name);
        all.into_iter()
            .map(|p| Some((entry(p), model.find(&format!("integral.{}", model.name(p)))?)))
            .collect()
    };
    let (sources, sinks) = (integrals(&ENERGY_SOURCE)?, integrals(&ENERGY_SINK)?);
    if sources.is_empty() && sinks.is_empty() {
        return None;
    }
    let stores: Vec<(String, Probe)> =
        model.contributions(ENERGY_STORE.name).into_iter().map(|p| (entry(p), p)).collect();
    let mut read = |t: f64| {
        sampler.go(t);
        let values = |list: &[(String, Probe)]| -> BTreeMap<String, f64> {
            list.iter().map(|(name, p)| (name.clone(), sampler.value(*p))).collect()
        };
        (values(&sources), values(&sinks), values(&stores))
    };
    let (_, _, before) = read(begin);
    let (sources, sinks, mut stores) = read(end);
    for (name, value) in &mut stores {
        *value -= before.get(name).copied().unwrap_or(0.0);
    }
    let total = |map: &BTreeMap<String, f64>| map.values().sum::<f64>();
    let error = total(&sources) - total(&sinks) - total(&stores);
    Some(Ledger { sources, sinks, stores, error })
}
