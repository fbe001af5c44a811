//! Thrust against resistance.
//!
//! *Thrust* T is the propeller's own, in open water at its inflow; *net thrust*
//! is what reaches the craft along its path: guard, thrust deduction and the
//! tilt of the shaft taken off.

use engine::model::{Model, Probe};
use engine::run::Sampler;

use super::facts::first;
use crate::nomenclature::*;

/// Throttle counts as open within this share of its highest value.
const OPEN: f64 = 0.99;
/// Speed from which resistance is told, m/s: below it there is hardly any.
const UNDER_WAY: f64 = 0.5;
/// Share of the weight on the board below which its hump is behind.
const AFLOAT: f64 = 0.2;
/// Time at the end of a stand test over which the reading is averaged, s.
const READING: f64 = 1.0;

/// Net thrust against resistance at one moment.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Pull {
    /// Net thrust less resistance, N.
    pub margin: f64,
    pub speed: f64,
    pub time: f64,
    pub resistance: f64,
    pub net_thrust: f64,
}

/// A reading on a stand, as a scale would show it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Static {
    /// Propeller thrust T, mean over the last second with the throttle open, N.
    pub thrust: f64,
    /// Net thrust, likewise: what pulls at the stand, N.
    pub net_thrust: f64,
    /// Highest propeller thrust, N.
    pub highest: f64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Moment {
    throttle: f64,
    thrust: f64,
    carried: Option<f64>,
    pull: Pull,
}

/// Looks on, and picks the telling moments afterwards.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Pulls {
    pub hump: Option<Pull>,
    pub tightest: Option<Pull>,
    pub at_rest: Option<Static>,
    /// Highest throttle.
    pub throttle: f64,
    moments: Vec<Moment>,
    probes: Probes,
    take_off: Option<f64>,
    /// Without a take-off: whether the craft has been clear of the water for a moment.
    clear: bool,
    on_stand: bool,
}

#[derive(Debug, Clone, PartialEq, Default)]
struct Probes {
    thrust: Vec<Probe>,
    net_thrust: Vec<Probe>,
    total: Option<Probe>,
    speed: Option<Probe>,
    throttle: Option<Probe>,
    load: Option<Probe>,
    mass: Option<Probe>,
    free: Option<Probe>,
}

/// Contributions of everything that gives thrust to the force forward.
pub fn thrusters(model: &Model) -> Vec<Probe> {
    let owner = |p: &Probe| model.name(*p).split('.').next().map(str::to_string);
    let owners: Vec<String> = model.providers(THRUST.name).iter().filter_map(owner).collect();
    owners.iter().filter_map(|name| model.find(&format!("{name}.{}", SURGE_FORCE.name))).collect()
}

impl Pulls {
    pub fn new(model: &Model, take_off: Option<f64>, on_stand: bool) -> Pulls {
        let probes = Probes {
            thrust: model.providers(THRUST.name),
            net_thrust: thrusters(model),
            total: model.total(SURGE_FORCE.name),
            speed: first(model, &SURGE_SPEED),
            throttle: first(model, &THROTTLE),
            load: first(model, &BOARD_LOAD),
            mass: model.total(MASS.name),
            free: first(model, &FREE_MARGIN),
        };
        Pulls { probes, take_off, on_stand, ..Pulls::default() }
    }

    pub fn look(&mut self, t: f64, s: &Sampler) {
        let p = &self.probes;
        let value = |probe: Option<Probe>| probe.map(|p| s.value(p));
        let sum = |list: &[Probe]| list.iter().map(|&p| s.value(p)).sum::<f64>();
        let throttle = value(p.throttle).unwrap_or(1.0);
        self.throttle = self.throttle.max(throttle);
        // what becomes of a craft that leapt clear and fell back is another story
        self.clear |= self.take_off.is_none() && value(p.free).is_some_and(|margin| margin > 0.0);
        if self.clear || self.take_off.is_some_and(|take_off| t >= take_off) || p.thrust.is_empty() {
            return;
        }
        let (net_thrust, speed) = (sum(&p.net_thrust), value(p.speed).unwrap_or(0.0));
        let margin = value(p.total).unwrap_or(0.0);
        let carried = value(p.load).zip(value(p.mass)).map(|(load, mass)| load / (mass * crate::handbook::G));
        let pull = Pull { margin, speed, time: t, resistance: net_thrust - margin, net_thrust };
        self.moments.push(Moment { throttle, thrust: sum(&p.thrust), carried, pull });
    }

    /// Picks the moments once all have been seen.
    pub fn found(&mut self) {
        let moments = std::mem::take(&mut self.moments);
        let open = |m: &&Moment| m.throttle > 0.0 && m.throttle >= OPEN * self.throttle;
        if self.on_stand {
            self.at_rest = reading(&moments.iter().filter(open).collect::<Vec<_>>());
            return;
        }
        let under_way = || moments.iter().filter(|m| m.pull.speed > UNDER_WAY);
        let afloat = |m: &&Moment| m.carried.is_none_or(|share| share > AFLOAT);
        let by = |f: fn(&Pull) -> f64| move |a: &Pull, b: &Pull| f(a).total_cmp(&f(b));
        self.hump = under_way().filter(afloat).map(|m| m.pull).max_by(by(|p| p.resistance));
        self.tightest = under_way().filter(open).map(|m| m.pull).min_by(by(|p| p.margin));
    }
}

/// Mean over the last second with the throttle open, by time.
fn reading(open: &[&Moment]) -> Option<Static> {
    let last = open.last()?.pull.time;
    let late: Vec<&&Moment> = open.iter().filter(|m| m.pull.time >= last - READING).collect();
    let mean = |f: fn(&Moment) -> f64| {
        let mut area = 0.0;
        let mut span = 0.0;
        for pair in late.windows(2) {
            let dt = pair[1].pull.time - pair[0].pull.time;
            area += 0.5 * dt * (f(pair[0]) + f(pair[1]));
            span += dt;
        }
        if span > 0.0 { area / span } else { late.last().map_or(0.0, |m| f(m)) }
    };
    Some(Static {
        thrust: mean(|m| m.thrust),
        net_thrust: mean(|m| m.pull.net_thrust),
        highest: open.iter().map(|m| m.thrust).fold(0.0, f64::max),
    })
}
