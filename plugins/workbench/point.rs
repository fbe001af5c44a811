//! Where a formula is evaluated: readings and constants of the drive side by side, and the symbols that stand for them.

use engine::statistics::uncertainty::{Budget, Input, budget};

use super::drive::{Cause, Drive, DriveUnsure, Shift};
use super::row::{Row, Unsure};

/// Values of one reading; not a number where nothing was read.
#[derive(Debug, Clone, Copy)]
pub(super) struct Point {
    pub v: f64,
    pub i_b: f64,
    pub i_m: f64,
    pub omega: f64,
    pub duty: f64,
    pub thrust: f64,
    pub t_w: f64,
    pub drive: Drive,
}

/// A symbol of a formula: its name, where it stands, and what it is to the drive or to a reading.
#[derive(Clone, Copy)]
pub(super) struct Symbol {
    pub name: &'static str,
    pub place: fn(&mut Point) -> &mut f64,
    of: Of,
}

#[derive(Clone, Copy)]
enum Of {
    /// With the standard uncertainty of the reading.
    Reading(fn(&Sure) -> f64),
    /// With its change by a cause.
    Drive(fn(&Shift) -> f64),
}

macro_rules! symbols {
    ($($id:ident, $name:literal, $kind:ident, $($path:ident).+;)+) => {
        $(pub(super) const $id: Symbol = symbols!(@ $kind, $name, $($path).+);)+
    };
    (@ reading, $name:literal, $field:ident) => {
        Symbol { name: $name, place: |p| &mut p.$field, of: Of::Reading(|u| u.$field) }
    };
    (@ drive, $name:literal, $field:ident) => {
        Symbol { name: $name, place: |p| &mut p.drive.$field, of: Of::Drive(|shift| shift.$field) }
    };
}

symbols! {
    V, "pack voltage", reading, v;
    I_B, "battery current", reading, i_b;
    I_M, "motor current", reading, i_m;
    OMEGA, "shaft speed", reading, omega;
    DUTY, "duty", reading, duty;
    THRUST, "thrust", reading, thrust;
    T_W, "winding temperature", reading, t_w;
    K, "torque constant K", drive, k;
    R, "winding resistance R", drive, r;
    R_LEADS, "resistance of the leads", drive, r_leads;
    R_CTRL, "controller's resistance", drive, r_ctrl;
    C0, "loss torque c0", drive, c0;
    C1, "loss torque c1", drive, c1;
    C2, "loss torque c2", drive, c2;
    IDLE, "idle power", drive, idle;
    SWITCHING, "switching loss", drive, switching;
    D, "propeller diameter", drive, diameter;
    RHO, "water density", drive, rho;
}

/// Standard uncertainties of one reading.
#[derive(Debug, Clone, Copy)]
struct Sure {
    v: f64,
    i_b: f64,
    i_m: f64,
    omega: f64,
    duty: f64,
    thrust: f64,
    t_w: f64,
}

/// A quantity that was worked out, or why not.
#[derive(Debug, Clone, PartialEq)]
pub struct Reduced {
    /// What it is.
    pub name: &'static str,
    /// SI unit, `1` for a pure number.
    pub unit: &'static str,
    /// Value and budget, or the reason there is none.
    pub result: Result<Budget, String>,
    /// Readings it stands on of which no uncertainty was told: they count as exact, so u is too small.
    pub untold: Vec<&'static str>,
}

impl Reduced {
    /// The value, if there is one.
    pub fn value(&self) -> Option<f64> {
        self.result.as_ref().ok().map(|b| b.value)
    }

    /// Its standard uncertainty.
    pub fn u(&self) -> Option<f64> {
        self.result.as_ref().ok().map(|b| b.u)
    }
}

/// One reading with the drive it was taken from.
pub(super) struct Case<'a> {
    at: Point,
    u: Sure,
    causes: &'a [Cause],
    untold: Vec<&'static str>,
}

impl<'a> Case<'a> {
    /// Without a reading of the winding it is taken to be as warm as the drive's resistance belongs to.
    pub fn new(row: &Row, unsure: &Unsure, drive: &Drive, drive_unsure: &'a DriveUnsure) -> Case<'a> {
        let or_nan = |x: Option<f64>| x.unwrap_or(f64::NAN);
        let at = Point {
            v: or_nan(row.bus_voltage),
            i_b: or_nan(row.battery_current),
            i_m: or_nan(row.motor_current),
            omega: or_nan(row.shaft_speed),
            duty: or_nan(row.duty),
            thrust: or_nan(row.thrust),
            t_w: row.winding_temperature.unwrap_or(drive.temperature),
            drive: *drive,
        };
        let told = [
            (row.bus_voltage, unsure.bus_voltage, V.name),
            (row.battery_current, unsure.battery_current, I_B.name),
            (row.motor_current, unsure.motor_current, I_M.name),
            (row.shaft_speed, unsure.shaft_speed, OMEGA.name),
            (row.duty, unsure.duty, DUTY.name),
            (row.thrust, unsure.thrust, THRUST.name),
            (row.winding_temperature, unsure.winding_temperature, T_W.name),
        ];
        let untold =
            told.iter().filter(|(value, u, _)| value.is_some() && u.is_none()).map(|t| t.2).collect();
        let sure = |u: Option<f64>| u.unwrap_or(0.0);
        let u = Sure {
            v: sure(unsure.bus_voltage),
            i_b: sure(unsure.battery_current),
            i_m: sure(unsure.motor_current),
            omega: sure(unsure.shaft_speed),
            duty: sure(unsure.duty),
            thrust: sure(unsure.thrust),
            t_w: if row.winding_temperature.is_some() { sure(unsure.winding_temperature) } else { 0.0 },
        };
        Case { at, u, causes: &drive_unsure.causes, untold }
    }

    /// A quantity by its formula, which may depend on the `symbols` only.
    pub fn quantity(
        &self,
        name: &'static str,
        unit: &'static str,
        symbols: &[Symbol],
        formula: impl Fn(&Point) -> f64,
    ) -> Reduced {
        let mut at = self.at;
        let untold = symbols.iter().map(|s| s.name).filter(|name| self.untold.contains(name)).collect();
        let missing: Vec<&str> =
            symbols.iter().filter(|s| (s.place)(&mut at).is_nan()).map(|s| s.name).collect();
        if !missing.is_empty() {
            let result = Err(format!("needs {}, which was not read", missing.join(" and ")));
            return Reduced { name, unit, result, untold };
        }
        let read: Vec<(&Symbol, f64)> = symbols
            .iter()
            .filter_map(|s| match s.of {
                Of::Reading(u) => Some((s, u(&self.u))),
                Of::Drive(_) => None,
            })
            .collect();
        // what one cause does to several constants adds with its signs: each is an input of its own, in standard uncertainties
        let moves = |cause: &Cause, s: &Symbol| match s.of {
            Of::Drive(shift) => shift(&cause.shift),
            Of::Reading(_) => 0.0,
        };
        let causes: Vec<&Cause> =
            self.causes.iter().filter(|cause| symbols.iter().any(|s| moves(cause, s) != 0.0)).collect();
        let inputs = read
            .iter()
            .map(|(s, u)| Input::standard(s.name, *(s.place)(&mut at), *u, f64::INFINITY))
            .chain(causes.iter().map(|cause| Input::standard(&cause.name, 0.0, 1.0, f64::INFINITY)))
            .collect::<Result<Vec<Input>, _>>();
        let mut of = |x: &[f64]| {
            let mut point = self.at;
            let (values, by) = x.split_at(read.len().min(x.len()));
            for ((symbol, _), &value) in read.iter().zip(values) {
                *(symbol.place)(&mut point) = value;
            }
            for (cause, by) in causes.iter().zip(by) {
                symbols.iter().for_each(|s| *(s.place)(&mut point) += by * moves(cause, s));
            }
            formula(&point)
        };
        let result = inputs.and_then(|inputs| budget(&inputs, &[], &mut of)).map_err(|why| why.to_string());
        Reduced { name, unit, result, untold }
    }
}
