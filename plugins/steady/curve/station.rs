//! One speed of a curve: what is read off an equilibrium.

use engine::balance::{Linear, Point};
use engine::model::{Model, Probe};
use engine::quantity::Kind;

use crate::handbook::G;
use crate::nomenclature::*;
use crate::steady::trim::{Trim, owner};
use crate::verdict::limits::{BINDING, margins};

/// Share of his reach beyond which a rider counts as out of it: as in the warning of a run.
const OUT_OF_REACH: f64 = 0.97;

/// Which numbers of a model are read.
pub struct Gauges {
    thrust: Vec<Probe>,
    /// Parts that resist, by name, with their contributions to the force forward.
    resisting: Vec<(String, Vec<Probe>)>,
    total: Option<Probe>,
    mass: Option<Probe>,
    added: Option<Probe>,
    pitch: Option<Probe>,
    depth: Option<Probe>,
    clearance: Option<Probe>,
    free: Option<Probe>,
    load: Option<Probe>,
    /// Vertical forces of the wings, down.
    wings: Vec<Probe>,
    reach: Option<Probe>,
    shift: Option<Probe>,
    limits: Vec<(String, Probe)>,
}

/// What is read at a speed, SI.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Speed over ground, m/s.
    pub speed: f64,
    /// The equilibrium.
    pub point: Point,
    /// Resistance by part, N, in the order of [`Gauges::resisting`].
    pub by_part: Vec<f64>,
    /// Total resistance, N.
    pub resistance: f64,
    /// Net thrust, N: what reaches the craft along its path.
    pub thrust: f64,
    /// Net thrust less resistance, N.
    pub margin: f64,
    /// Acceleration that the margin would give, m/s².
    pub acceleration: f64,
    /// Limits of the drive that bind.
    pub limits: Vec<String>,
    /// Pitch, rad.
    pub pitch: f64,
    /// Depth of the CG, m.
    pub depth: f64,
    /// Height of the lowest point of the bottom, m; negative: its sinkage.
    pub clearance: Option<f64>,
    /// Share of the weight on the board.
    pub on_board: Option<f64>,
    /// Share of the weight on the wings.
    pub on_wings: Option<f64>,
    /// Whether the board is clear.
    pub flying: bool,
    /// Share of the rider's reach in use.
    pub reach: Option<f64>,
    /// Shift of the rider's mass, m forward.
    pub shift: Option<f64>,
    /// Pace at which it has to change as the craft gathers speed with this margin, m/s.
    pub shift_pace: Option<f64>,
    /// How disturbances die away or grow; none where the rates have no slopes.
    pub stability: Option<Stability>,
}

/// How small disturbances go on, with the speed held.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stability {
    /// Time constant of the slowest disturbance that dies away, s.
    pub slowest: Option<f64>,
    /// Of the least damped oscillation: frequency, Hz, and damping ratio.
    pub least_damped: Option<(f64, f64)>,
    /// Of those that grow, growth, 1/s, and frequency, Hz (0: without oscillation), the fastest first.
    pub unstable: Vec<(f64, f64)>,
}

impl Stability {
    /// That of an equilibrium; none where the rates have no slopes.
    pub fn of(trim: &Trim, point: &Point) -> Option<Stability> {
        trim.disturbed(point).ok().map(|linear| Stability::read(&linear))
    }

    /// Reads modes.
    pub fn read(linear: &Linear) -> Stability {
        let hertz = |rad: f64| rad / std::f64::consts::TAU;
        let dying = linear.modes.iter().map(|m| -m.growth).filter(|&decay| decay > 0.0);
        let swinging = linear.modes.iter().filter(|m| m.frequency > 0.0);
        let least = swinging.min_by(|a, b| a.damping().total_cmp(&b.damping()));
        let slowest = dying.fold(f64::INFINITY, f64::min);
        Stability {
            slowest: slowest.is_finite().then(|| 1.0 / slowest),
            least_damped: least.map(|m| (hertz(m.growth.hypot(m.frequency)), m.damping())),
            unstable: linear.unstable().map(|m| (m.growth, hertz(m.frequency))).collect(),
        }
    }

    /// Whether every disturbance dies away.
    pub fn is_stable(&self) -> bool {
        self.unstable.is_empty()
    }
}

impl Gauges {
    /// Finds them.
    pub fn of(model: &Model) -> Gauges {
        let thrusting: Vec<&str> =
            model.providers(THRUST.name).into_iter().map(|p| owner(model, p)).collect();
        let (mut thrust, mut resisting) = (Vec::new(), Vec::<(String, Vec<Probe>)>::new());
        for probe in model.contributions(SURGE_FORCE.name) {
            let name = owner(model, probe);
            match resisting.last_mut() {
                _ if thrusting.contains(&name) => thrust.push(probe),
                Some((last, all)) if last == name => all.push(probe),
                _ => resisting.push((name.to_string(), vec![probe])),
            }
        }
        let winged: Vec<&str> =
            model.providers(WING_DEPTH.name).into_iter().map(|p| owner(model, p)).collect();
        let wings = model.contributions(HEAVE_FORCE.name).into_iter();
        let wings = wings.filter(|&p| winged.contains(&owner(model, p))).collect();
        let one = |kind: &Kind| model.providers(kind.name).first().copied();
        Gauges {
            thrust,
            resisting,
            total: model.total(SURGE_FORCE.name),
            mass: model.total(MASS.name),
            added: model.total(ADDED_SURGE_MASS.name),
            pitch: one(&PITCH),
            depth: one(&CG_DEPTH),
            clearance: one(&BOARD_CLEARANCE),
            free: one(&FREE_MARGIN),
            load: one(&BOARD_LOAD),
            wings,
            reach: one(&REACH_USED),
            shift: one(&RIDER_SHIFT),
            limits: margins(model),
        }
    }

    /// Names of the parts that resist, in the order of [`Station::by_part`].
    pub fn resisting(&self) -> impl Iterator<Item = &str> {
        self.resisting.iter().map(|(name, _)| name.as_str())
    }

    /// Weight of the craft, N; 0 where nothing weighs anything.
    pub fn weight(&self, point: &Point) -> f64 {
        self.mass.map_or(0.0, |p| point.value(p) * G)
    }

    /// Net thrust and resistance at an equilibrium, N.
    pub fn pull(&self, point: &Point) -> (f64, f64) {
        let thrust = self.thrust.iter().map(|&p| point.value(p)).sum::<f64>();
        let margin = self.total.map_or(thrust, |p| point.value(p));
        (thrust, thrust - margin)
    }

    /// Net thrust less resistance, N.
    pub fn margin(&self, point: &Point) -> f64 {
        let (thrust, resistance) = self.pull(point);
        thrust - resistance
    }

    /// Whether the board is clear of the water (and unloaded, where somebody watches that).
    pub fn flying(&self, point: &Point) -> bool {
        self.free.or(self.clearance).is_none_or(|p| point.value(p) > 0.0)
    }

    /// Height of the lowest point of the board's bottom, m.
    pub fn clearance(&self, point: &Point) -> Option<f64> {
        self.clearance.map(|p| point.value(p))
    }

    /// Share of the weight on the board; none without a board.
    pub fn on_board(&self, point: &Point) -> Option<f64> {
        let weight = self.weight(point);
        self.load.filter(|_| weight > 0.0).map(|p| point.value(p) / weight)
    }

    /// Whether the rider is at the end of his reach.
    pub fn out_of_reach(&self, point: &Point) -> bool {
        self.reach.is_some_and(|p| point.value(p) > OUT_OF_REACH)
    }

    /// Share of the rider's reach in use.
    pub fn reach(&self, point: &Point) -> Option<f64> {
        self.reach.map(|p| point.value(p))
    }

    /// Limits of the drive that bind, in the order of parts' names.
    pub fn limits(&self, point: &Point) -> Vec<String> {
        let binding = self.limits.iter().filter(|(_, p)| point.value(*p) > -BINDING);
        binding.map(|(name, _)| name.clone()).collect()
    }

    /// Reads one equilibrium.
    pub fn station(&self, speed: f64, point: Point, stability: Option<Stability>) -> Station {
        let value = |probe: Option<Probe>| probe.map(|p| point.value(p));
        let (thrust, resistance) = self.pull(&point);
        let weight = self.weight(&point);
        let inertia = (weight / G) + value(self.added).unwrap_or(0.0);
        let margin = thrust - resistance;
        let sum = |list: &[Probe]| list.iter().map(|&p| point.value(p)).sum::<f64>();
        Station {
            speed,
            by_part: self.resisting.iter().map(|(_, all)| -sum(all)).collect(),
            resistance,
            thrust,
            margin,
            acceleration: if inertia > 0.0 { margin / inertia } else { 0.0 },
            limits: self.limits(&point),
            pitch: value(self.pitch).unwrap_or(0.0),
            depth: value(self.depth).unwrap_or(0.0),
            clearance: value(self.clearance),
            on_board: self.on_board(&point),
            on_wings: (!self.wings.is_empty() && weight > 0.0).then(|| -sum(&self.wings) / weight),
            flying: self.flying(&point),
            reach: value(self.reach),
            shift: value(self.shift),
            shift_pace: None,
            stability,
            point,
        }
    }
}
