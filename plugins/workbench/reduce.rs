//! What one reading says: powers, torque, duty, coefficients, the momentum ceiling, and which limit holds.

mod limits;
mod text;

use std::f64::consts::TAU;

use super::drive::{Drive, DriveUnsure};
use super::point::*;
use super::row::{Row, Unsure};
use crate::controller::limits::Losses;
use crate::handbook::copper::resistance_ratio;
use crate::handbook::loss_torque::loss_torque;
use crate::handbook::momentum::figure_of_merit;
use crate::motor::equivalent_dc::voltage;

pub use super::point::Reduced;
pub use limits::Limit;
pub use text::{BIAS, budget_table, text};

/// A reading, reduced.
#[derive(Debug, Clone, PartialEq)]
pub struct Reduction {
    /// Line in the file.
    pub line: usize,
    /// What was worked out, in a fixed order.
    pub quantities: Vec<Reduced>,
    /// How far each limit is, the tightest first; those that cannot be told last.
    pub limits: Vec<Limit>,
    /// What was assumed.
    pub notes: Vec<String>,
}

impl Reduction {
    /// A quantity by its name.
    pub fn get(&self, name: &str) -> Option<&Reduced> {
        self.quantities.iter().find(|q| q.name == name)
    }
}

/// Resistance of winding and leads \[Ω\] at the winding's temperature.
fn resistance(p: &Point) -> f64 {
    p.drive.r * resistance_ratio(p.t_w, p.drive.temperature) + p.drive.r_leads
}

/// Torque at the propeller \[N·m\]: Q = K I − (c₀ + c₁ ω + c₂ ω²), the shaft turning steadily.
fn torque(p: &Point) -> f64 {
    p.drive.k * p.i_m - loss_torque(p.drive.c0, p.drive.c1, p.drive.c2, p.omega)
}

/// Power at the propeller Q ω \[W\].
fn shaft_power(p: &Point) -> f64 {
    torque(p) * p.omega
}

/// Duty that speed and volts ask for, in phase with the current: (K ω + (R + R_c) I)/V.
pub(super) fn duty_by_speed(p: &Point) -> f64 {
    voltage(p.drive.k, resistance(p) + p.drive.r_ctrl, p.omega, p.i_m) / p.v
}

/// The same from the currents, by the controller's balance of power V I_b = D V I + P₀ + k_sw V I: (I_b − P₀/V)/I − k_sw.
pub(super) fn duty_by_currents(p: &Point) -> f64 {
    (p.i_b - p.drive.idle / p.v) / p.i_m - p.drive.switching
}

/// Duty the bridge must reach: [`duty_by_speed`] with the reactive voltage across it.
fn bridge_duty(p: &Point) -> f64 {
    duty_by_speed(p).hypot(p.drive.reactance * p.omega * p.i_m / p.v)
}

/// Losses of the controller \[W\].
fn controller_loss(p: &Point) -> f64 {
    let losses = Losses { idle: p.drive.idle, resistance: p.drive.r_ctrl, switching: p.drive.switching };
    losses.power(p.v, p.i_m)
}

/// n \[rev/s\].
fn revs(p: &Point) -> f64 {
    p.omega / TAU
}

pub(super) const BY_SPEED: &[Symbol] = &[V, I_M, OMEGA, T_W, K, R, R_LEADS, R_CTRL];
pub(super) const BY_CURRENTS: &[Symbol] = &[V, I_B, I_M, IDLE, SWITCHING];
pub(super) const SHAFT: &[Symbol] = &[I_M, OMEGA, K, C0, C1, C2];

/// Symbols of several lists, each once.
pub(super) fn together(lists: &[&[Symbol]]) -> Vec<Symbol> {
    let mut all: Vec<Symbol> = Vec::new();
    for symbol in lists.iter().flat_map(|list| list.iter()) {
        if all.iter().all(|known| known.name != symbol.name) {
            all.push(*symbol);
        }
    }
    all
}

/// Reduces one reading. What cannot be worked out says why.
///
/// The thrust coefficients stand on the pull that was measured, which is net of guard, thrust deduction and the
/// strut's drag in the tub's return flow; the pull in `row` must have been worked out from the scale before.
pub fn reduce(row: &Row, unsure: &Unsure, drive: &Drive, drive_unsure: &DriveUnsure) -> Reduction {
    let case = Case::new(row, unsure, drive, drive_unsure);
    let q = |name, unit, symbols: &[Symbol], formula: fn(&Point) -> f64| {
        case.quantity(name, unit, symbols, formula)
    };
    let disc = together(&[SHAFT, &[THRUST, RHO, D]]);
    let mut quantities = vec![
        q("electrical_power", "W", &[V, I_B], |p| p.v * p.i_b),
        q("current_ratio", "1", &[I_B, I_M], |p| p.i_b / p.i_m),
        q("duty_by_currents", "1", BY_CURRENTS, duty_by_currents),
        q("duty_by_speed", "1", BY_SPEED, duty_by_speed),
        q("bridge_duty", "1", BY_SPEED, bridge_duty),
        q("shaft_torque", "N·m", SHAFT, torque),
        q("shaft_power", "W", SHAFT, shaft_power),
        q("copper_loss", "W", &[I_M, T_W, R, R_LEADS], |p| resistance(p) * p.i_m * p.i_m),
        q("controller_loss", "W", &[V, I_M, R_CTRL, IDLE, SWITCHING], controller_loss),
        q("drive_efficiency", "1", &together(&[SHAFT, &[V, I_B]]), |p| shaft_power(p) / (p.v * p.i_b)),
        q("thrust_coefficient", "1", &[THRUST, OMEGA, RHO, D], |p| {
            p.thrust / (p.drive.rho * revs(p).powi(2) * p.drive.diameter.powi(4))
        }),
        q("torque_coefficient", "1", &together(&[SHAFT, &[RHO, D]]), |p| {
            torque(p) / (p.drive.rho * revs(p).powi(2) * p.drive.diameter.powi(5))
        }),
        q("figure_of_merit", "1", &disc, merit),
        // by T_ideal = (2 ρ A P²)^(1/3)
        q("share_of_ideal_thrust", "1", &disc, |p| merit(p).powf(2.0 / 3.0)),
        q("figure_of_merit_overall", "1", &[V, I_B, THRUST, RHO, D], |p| merit_of(p, p.v * p.i_b)),
        q("thrust_per_power", "N/W", &[V, I_B, THRUST], |p| p.thrust / (p.v * p.i_b)),
    ];
    let power = quantities.iter().find(|q| q.name == "shaft_power").and_then(Reduced::value);
    for quantity in &mut quantities {
        let needs_power = ["figure_of_merit", "share_of_ideal_thrust"].contains(&quantity.name);
        if needs_power && power.is_some_and(|p| p <= 0.0) {
            quantity.result = Err("by these readings no power reaches the propeller".into());
        }
    }
    let merits = ["figure_of_merit", "share_of_ideal_thrust", "figure_of_merit_overall"];
    if row.thrust.is_some_and(|thrust| thrust <= 0.0) {
        for quantity in quantities.iter_mut().filter(|q| q.result.is_ok() && merits.contains(&q.name)) {
            quantity.result = Err("by these readings nothing pulls forward".into());
        }
    }
    let mut notes = Vec::new();
    if row.winding_temperature.is_none() && (row.motor_current.is_some() || row.shaft_speed.is_some()) {
        notes.push(format!(
            "the winding's temperature was not read: R is taken at {:.0} °C, and rises by 0.39 % per kelvin",
            drive.temperature
        ));
    }
    notes.push(
        "K is taken at the magnets' temperature of the setup: warm magnets give about 0.1 % less per kelvin"
            .into(),
    );
    let exact = drive_unsure.exact();
    if !exact.is_empty() {
        notes
            .push(format!("taken for exact, so that results look surer than they are: {}", exact.join(", ")));
    }
    Reduction { line: row.line, quantities, limits: limits::limits(row, drive, &case), notes }
}

fn merit(p: &Point) -> f64 {
    merit_of(p, shaft_power(p))
}

fn merit_of(p: &Point, power: f64) -> f64 {
    figure_of_merit(p.thrust, p.drive.rho, p.drive.diameter, power).unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests;
