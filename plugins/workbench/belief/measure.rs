//! What a craft would show at a row of its readings, and what else could be read there.

use engine::calibration::{Problem, Role, at_row};
use engine::fit::{Fitted, Outlook};
use engine::profile::Profile;
use engine::run::Run;

use crate::lever::SCALE_READING;
use crate::nomenclature::*;

/// Something that is usually read at a bench.
pub struct Usual {
    /// Kind of quantity.
    pub kind: &'static str,
    /// What people call it.
    pub says: &'static str,
    /// Standard uncertainty of one reading, in the unit below.
    absolute: f64,
    /// The unit, and SI units in one of it.
    unit: (&'static str, f64),
    /// Standard uncertainty as a share of the reading.
    share: f64,
}

/// Usual readings and how well simple instruments know them: common practice, no source.
pub const USUAL: [Usual; 6] = [
    usual(SHAFT_SPEED.name, "the speed of the shaft", 2.0, ("rpm", std::f64::consts::TAU / 60.0), 0.003),
    usual(MOTOR_CURRENT.name, "motor amps", 0.3, ("A", 1.0), 0.02),
    usual(BATTERY_CURRENT.name, "battery amps", 0.3, ("A", 1.0), 0.01),
    usual(BUS_VOLTAGE.name, "volts at the controller", 0.1, ("V", 1.0), 0.002),
    usual(SCALE_READING.name, "the scale of the lever", 0.2, ("kg", 1.0), 0.01),
    usual("terminal_voltage", "volts at the pack", 0.1, ("V", 1.0), 0.002),
];

const fn usual(
    kind: &'static str,
    says: &'static str,
    absolute: f64,
    unit: (&'static str, f64),
    share: f64,
) -> Usual {
    Usual { kind, says, absolute, unit, share }
}

impl Usual {
    /// Standard uncertainty of one reading of a value, SI.
    pub fn u(&self, value: f64) -> f64 {
        (self.absolute * self.unit.1).hypot(self.share * value)
    }

    /// How well it is known, in words.
    pub fn known(&self) -> String {
        let number = engine::units::number;
        format!("{} {} and {} %, by custom", number(self.absolute), self.unit.0, number(100.0 * self.share))
    }

    /// Full name of the quantity in a set's craft, if one part has it and it is predicted there.
    fn quantity(&self, problem: &Problem, set: usize) -> Option<String> {
        let model = &problem.sets.get(set)?.craft.model;
        match model.providers(self.kind)[..] {
            [only] if !model.inputs().contains(&only) => Some(model.name(only).to_owned()),
            _ => None,
        }
    }
}

/// Usual readings that no set has.
pub fn unread(problem: &Problem) -> impl Iterator<Item = &'static Usual> + '_ {
    let read = |usual: &&Usual| {
        let mut channels = problem.sets.iter().flat_map(|set| &set.channels);
        channels.any(|c| c.kind == usual.kind && c.role == Role::Seen)
    };
    USUAL.iter().filter(move |usual| !read(usual))
}

/// A row at which something is asked, with another throttle if one is told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct At {
    /// Place of the set.
    pub set: usize,
    /// Place of the row among its readings.
    pub row: usize,
    /// Throttle in place of the row's.
    pub throttle: Option<f64>,
}

impl At {
    /// The row of a set with the highest throttle; the last row if no throttle was read.
    pub fn highest(problem: &Problem, set: usize) -> Option<At> {
        let this = problem.sets.get(set)?;
        let row = match this.channel(THROTTLE.name).and_then(|place| this.channels.get(place)) {
            Some(channel) => {
                let read = |&&row: &&usize| this.read_at(row, channel);
                this.rows.iter().filter(|row| read(row).is_some()).max_by(|a, b| {
                    let (a, b) = (read(a).unwrap_or_default(), read(b).unwrap_or_default());
                    a.total_cmp(&b)
                })
            }
            None => this.rows.last(),
        };
        row.map(|&row| At { set, row, throttle: None })
    }

    /// The throttle there, if one is put.
    pub fn throttle(&self, problem: &Problem) -> Option<f64> {
        let set = problem.sets.get(self.set)?;
        let channel = set.channel(THROTTLE.name).and_then(|place| set.channels.get(place));
        self.throttle.or_else(|| set.read_at(self.row, channel?))
    }

    /// The craft at rest there.
    ///
    /// # Errors
    /// A part does not take its value; there is no steady state.
    pub fn run(&self, problem: &Problem, x: &[f64]) -> Result<Run, String> {
        let told = |told: engine::diagnostic::Diagnostics| told.in_short();
        let set = problem.sets.get(self.set).ok_or("there is no such set")?;
        let craft = problem.craft(set, x).map_err(told)?;
        let mut run = at_row(set, &craft, self.row, problem.rest).map_err(told)?;
        if let Some(value) = self.throttle {
            for probe in craft.model.providers(THROTTLE.name) {
                if let Some(input) = run.input(probe) {
                    *input = Profile::constant(value);
                }
            }
            (problem.rest)(&mut run).map_err(told)?;
        }
        Ok(run)
    }

    /// A quantity there, by its full name.
    ///
    /// # Errors
    /// As [`At::run`]; it is none of the craft's, or no number.
    pub fn value(&self, problem: &Problem, x: &[f64], quantity: &str) -> Result<f64, String> {
        let mut run = self.run(problem, x)?;
        let probe = run.model().find(quantity).ok_or_else(|| format!("there is no {quantity}"))?;
        let value = run.value(probe);
        if value.is_finite() { Ok(value) } else { Err(format!("{quantity} is {value}")) }
    }
}

/// The reading of another kind that tells two ways of reading apart best, with their distance in standard
/// uncertainties of that reading and of what the fit says of it.
pub fn telling(
    problem: &Problem,
    as_read: &Fitted,
    other: &Problem,
    x: &[f64],
) -> Option<(&'static Usual, f64)> {
    let mut best: Option<(&'static Usual, f64)> = None;
    for usual in unread(problem) {
        for set in 0..problem.sets.len() {
            let Some((quantity, at)) = usual.quantity(problem, set).zip(At::highest(problem, set)) else {
                continue;
            };
            let Ok(one) = as_read.predict_with(&mut |x| at.value(problem, x, &quantity)) else { continue };
            let Ok(theirs) = at.value(other, x, &quantity) else { continue };
            let apart = (theirs - one.mean).abs() / usual.u(one.mean).hypot(one.sd);
            if apart.is_finite() && best.is_none_or(|(_, known)| apart > known) {
                best = Some((usual, apart));
            }
        }
    }
    best
}

/// Standard deviation of a quantity once a usual reading has been taken at a row, and the reading that leaves least.
pub fn deciding(
    problem: &Problem,
    fitted: &Fitted,
    places: &[At],
    quantity: &mut dyn FnMut(&[f64]) -> Result<f64, String>,
    now: Outlook,
) -> Option<(&'static Usual, At, f64)> {
    let mut best: Option<(&'static Usual, At, f64)> = None;
    for usual in unread(problem) {
        for &at in places {
            let Some(name) = usual.quantity(problem, at.set) else { continue };
            let Some(after) = after(problem, fitted, at, usual, &name, quantity, now) else { continue };
            if best.is_none_or(|(_, _, known)| after < known) {
                best = Some((usual, at, after));
            }
        }
    }
    best
}

/// Linear and normal: var(q | y) = var q − cov(q, y)²/(var y + u²), the covariance from the variance of q/σ_q + y/σ_y.
fn after(
    problem: &Problem,
    fitted: &Fitted,
    at: At,
    usual: &Usual,
    name: &str,
    quantity: &mut dyn FnMut(&[f64]) -> Result<f64, String>,
    now: Outlook,
) -> Option<f64> {
    let read = fitted.predict_with(&mut |x| at.value(problem, x, name)).ok()?;
    if !(now.sd.is_finite() && now.sd > 0.0 && read.sd.is_finite() && read.sd > 0.0) {
        return None;
    }
    let mut both = |x: &[f64]| Ok(quantity(x)? / now.sd + at.value(problem, x, name)? / read.sd);
    let sum = fitted.predict_with(&mut both).ok()?.sd;
    // var(a + b) = 2 + 2 r for two of variance one
    let correlation = (0.5 * sum * sum - 1.0).clamp(-1.0, 1.0);
    let share = read.sd.powi(2) / (read.sd.powi(2) + usual.u(read.mean).powi(2));
    Some(now.sd * (1.0 - correlation * correlation * share).max(0.0).sqrt())
}
