//! Steady flight at one speed.

use engine::balance::{Balance, NoBalance, Point};
use engine::diagnostic::Diagnostic;
use engine::model::{Model, Probe};
use engine::quantity::Kind;

use crate::battery::{FAST_POLARISATION, SLOW_POLARISATION, TERMINAL_POWER};
use crate::nomenclature::*;
use crate::steady::curve::station::Gauges;
use crate::steady::trim::Trim;

/// Throttle at which searches begin, and a usual change of it.
const THROTTLE_GUESS: f64 = 0.6;
const THROTTLE_SIZE: f64 = 0.3;
/// Usual size of a cell's polarisation, V.
const POLARISATION_SIZE: f64 = 0.1;

/// Questions about steady flight of one craft.
pub struct Flight<'a> {
    /// Trim at full throttle.
    pub trim: &'a Trim,
    /// Trim, throttle and polarisation free; the speed is to be held.
    pub balance: Balance,
    /// The throttle, an input.
    pub throttle: Probe,
    gauges: Gauges,
    probes: Probes,
}

struct Probes {
    power: Vec<Probe>,
    battery_current: Vec<Probe>,
    motor_current: Vec<Probe>,
    duty: Option<Probe>,
    shaft_speed: Option<Probe>,
}

/// Steady flight at a speed; SI units.
#[derive(Clone)]
pub struct Level {
    /// Speed over ground, m/s.
    pub speed: f64,
    /// Throttle that holds it, 0 to 1.
    pub throttle: f64,
    /// Power at the packs' terminals.
    pub power: f64,
    /// Current from the packs, A.
    pub battery_current: f64,
    /// Motor current, DC-equivalent, A.
    pub motor_current: f64,
    /// Share of the bus voltage that the motor sees.
    pub duty: f64,
    /// Speed of the shaft, rad/s.
    pub shaft_speed: f64,
    /// Height of the lowest point of the board, m.
    pub height: f64,
    /// Share of the rider's reach in use.
    pub reach: Option<f64>,
    /// Limits of the drive that bind, the throttle left out.
    pub limits: Vec<String>,
    /// The equilibrium.
    pub point: Point,
}

fn one(model: &Model, kind: &Kind) -> Option<Probe> {
    model.providers(kind.name).first().copied()
}

/// What a search that led nowhere says, without its numbers.
fn in_short(why: &NoBalance) -> String {
    match why {
        NoBalance::Bounds { bounds, .. } => {
            let names: Vec<&str> = bounds.iter().map(|(name, ..)| name.as_str()).collect();
            format!("not within the range of {}", names.join(", "))
        }
        NoBalance::NotConverged { .. } => "no equilibrium was found; thrust and resistance just miss".into(),
        other => other.to_string(),
    }
}

impl<'a> Flight<'a> {
    /// The questions for a craft.
    ///
    /// # Errors
    /// The craft has no throttle, or more than one.
    pub fn of(trim: &'a Trim) -> Result<Flight<'a>, Diagnostic> {
        let model = trim.model();
        let &[throttle] = trim.throttle() else {
            let error = Diagnostic::error(format!("this setup has {} throttles", trim.throttle().len()));
            return Err(error.expected("one: in cruise it is what is sought"));
        };
        let mut balance = trim.balance().clone();
        balance.free(throttle, 0.0, 1.0, THROTTLE_SIZE);
        balance.rest(trim.speed());
        for kind in [&FAST_POLARISATION, &SLOW_POLARISATION] {
            for state in model.providers(kind.name) {
                balance.free(state, f64::NEG_INFINITY, f64::INFINITY, POLARISATION_SIZE);
                balance.rest(state);
            }
        }
        let probes = Probes {
            power: model.providers(TERMINAL_POWER.name),
            battery_current: model.providers(BATTERY_CURRENT.name),
            motor_current: model.providers(MOTOR_CURRENT.name),
            duty: one(model, &DUTY),
            shaft_speed: one(model, &SHAFT_SPEED),
        };
        Ok(Flight { trim, balance, throttle, gauges: Gauges::of(model), probes })
    }

    /// Steady flight at a speed, m/s, sought near another one if there is one.
    ///
    /// # Errors
    /// Why there is none, in words.
    pub fn at(&self, speed: f64, near: Option<&Level>) -> Result<Level, String> {
        let mut question = self.balance.clone();
        if !question.hold(self.trim.speed(), speed) {
            return Err("the speed cannot be held".into());
        }
        let mut missed = None;
        if let Some(near) = near {
            match question.solve(&near.point.free) {
                Ok(point) if self.flies(&point) => return Ok(self.read(speed, point)),
                Ok(_) => missed = Some("the board is in the water".to_string()),
                Err(why) => missed = Some(in_short(&why)),
            }
        }
        // from the trims that the craft has at several throttles
        for throttle in [THROTTLE_GUESS, 0.3, 1.0] {
            let (points, nearest) = self.trim.at_throttle(throttle).all_at(speed);
            if points.is_empty() {
                missed = missed.or(nearest.as_ref().map(in_short));
            }
            for trimmed in points.iter().filter(|p| self.flies(p)) {
                let start: Vec<f64> = question
                    .unknowns()
                    .iter()
                    .map(|&u| if u == self.throttle { throttle } else { trimmed.value(u) })
                    .collect();
                match question.solve(&start) {
                    Ok(point) if self.flies(&point) => return Ok(self.read(speed, point)),
                    Ok(_) => missed = Some("the board is in the water".into()),
                    Err(why) => missed = Some(in_short(&why)),
                }
            }
        }
        Err(self.in_words(speed, missed))
    }

    /// Too slow to fly, too fast for the drive, or what the search says.
    fn in_words(&self, speed: f64, missed: Option<String>) -> String {
        let (full, _) = self.trim.all_at(speed);
        let total = self.trim.model().total(SURGE_FORCE.name);
        let flying: Vec<&Point> = full.iter().filter(|p| self.flies(p)).collect();
        if flying.is_empty() {
            return missed.unwrap_or_else(|| "the board does not stay clear of the water".into());
        }
        let margin = total.map(|t| flying.iter().map(|p| p.value(t)).fold(f64::NEG_INFINITY, f64::max));
        match margin {
            Some(margin) if margin < 0.0 => format!("full throttle is {:.0} N short", -margin),
            _ => missed.unwrap_or_else(|| "no equilibrium was found".into()),
        }
    }

    /// Whether the board is clear of the water.
    pub fn flies(&self, point: &Point) -> bool {
        self.gauges.flying(point)
    }

    /// Reads an equilibrium at a speed, m/s.
    pub fn read(&self, speed: f64, point: Point) -> Level {
        let value = |probe: Option<Probe>| probe.map_or(f64::NAN, |p| point.value(p));
        let sum = |list: &[Probe]| list.iter().map(|&p| point.value(p)).sum::<f64>();
        let p = &self.probes;
        Level {
            speed,
            throttle: point.value(self.throttle),
            power: sum(&p.power),
            battery_current: sum(&p.battery_current),
            motor_current: sum(&p.motor_current),
            duty: value(p.duty),
            shaft_speed: value(p.shaft_speed),
            height: self.gauges.clearance(&point).unwrap_or(f64::NAN),
            reach: self.gauges.reach(&point),
            limits: self.gauges.limits(&point).into_iter().filter(|name| name != "throttle").collect(),
            point,
        }
    }
}
