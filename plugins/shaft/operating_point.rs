//! Where an electric drive settles: the smallest shaft speed that any limit allows.
//!
//! Rotor inertia is left out: the shaft is always where the torques balance,
//!
//! K I = Q(ω), V_m = √((K ω + R I + R_c I)² + (X ω I)²),
//! V_b I_b = (K ω + R I) I + P₀ + R_c I² + k_sw V_b I, V_b = V_oc − R_b I_b.
//!
//! Every limit reads "used ≤ allowed". As a margin g_k it is negative while there is slack and
//! grows with ω at a fixed inflow, so the drive sits at the root of max_k g_k(ω).
//! The controller does not brake: where the water turns the shaft faster than the limits allow,
//! the current is zero and the shaft windmills.
//!
//! # Source
//! Power and torque balance; the way limits act is common practice, no source.
//! The result depends on nothing but its arguments (no warm start).

use engine::root;
use engine::smooth::smoothstep;

pub use super::drive::{Controller, LIMIT_NAMES, LIMITS, Limits, Motor, OperatingPoint, Source};
use super::drive::{Drive, dead, is_dead};

/// Operating point of a drive whose shaft needs the steady motor torque `torque`(ω) [N·m]: load, seal and no-load losses together.
///
/// `torque` is expected to rise with ω where it matters. `None` where it is not finite, or
/// where it pushes the shaft at every speed, or where a constant is not positive.
pub fn operating_point(
    source: Source,
    motor: Motor,
    controller: Controller,
    limits: Limits,
    torque: impl Fn(f64) -> f64,
) -> Option<OperatingPoint> {
    if !sound(source, motor, limits) {
        return None;
    }
    if is_dead(source, controller) {
        return Some(dead(source, motor, windmill(&torque, 0.0)?));
    }
    let drive = Drive::new(source, motor, controller, limits);
    if drive.off() {
        return Some(drive.point(windmill(&torque, 0.0)?, 0.0));
    }
    let at_rest = torque(0.0);
    let still = drive.excess(0.0, at_rest);
    if still >= 0.0 {
        return standstill(&drive, &torque, at_rest);
    }
    // no current flows at K ω = D V_oc or above it, whatever the load
    let fastest = (limits.duty * source.voltage / motor.torque_constant).min(limits.speed);
    let excess = |omega: f64| {
        if omega == 0.0 { still } else { drive.excess(omega, torque(omega)) }
    };
    let omega = root::bracketed(excess, 0.0, fastest)?;
    let q = torque(omega);
    if q >= 0.0 {
        return Some(drive.point(omega, q));
    }
    // the water drives the shaft: no current, and speed from the balance of load and losses
    Some(drive.point(windmill(&torque, omega)?, 0.0))
}

/// The most that a drive gives at shaft speed `omega` [rad/s]: the greatest motor current that every limit allows,
/// zero where none is. For a shaft with inertia, whose speed is a state. A limit on the speed fades over ±2.5 %.
///
/// `None` where a constant is not positive or nothing bounds the current.
pub fn driven(
    source: Source,
    motor: Motor,
    controller: Controller,
    limits: Limits,
    omega: f64,
) -> Option<OperatingPoint> {
    if !(sound(source, motor, limits) && omega.is_finite()) {
        return None;
    }
    if is_dead(source, controller) {
        return Some(dead(source, motor, omega));
    }
    // beyond this current the resistance alone takes more than the greatest voltage, whatever the back-EMF at ω
    let reach = limits.duty * source.voltage + motor.torque_constant * omega.abs();
    let most = limits.motor_current.min(reach / (motor.resistance + controller.resistance));
    // a speed limit would switch the current on and off at its very speed; it fades over ±2.5 % instead
    let fade = smoothstep(20.0 * (1.025 - omega / limits.speed));
    let allowed = Limits { motor_current: most * fade, speed: f64::INFINITY, ..limits };
    if !allowed.all_numbers() {
        return None;
    }
    let drive = Drive::new(source, motor, controller, allowed);
    let excess = |torque: f64| drive.excess(omega, torque);
    let torque = if drive.off() || excess(0.0) >= 0.0 {
        0.0
    } else {
        root::bracketed(excess, 0.0, allowed.motor_current * motor.torque_constant)?
    };
    Some(Drive::new(source, motor, controller, limits).point(omega, torque))
}

fn sound(source: Source, motor: Motor, limits: Limits) -> bool {
    let k = motor.torque_constant;
    k.is_finite() && k > 0.0 && source.voltage.is_finite() && limits.all_numbers()
}

/// The limits do not even allow the torque `needed` at rest: as much current as they do allow.
/// The shaft is not let run backwards.
fn standstill(drive: &Drive, torque: &impl Fn(f64) -> f64, needed: f64) -> Option<OperatingPoint> {
    if needed <= 0.0 {
        return Some(drive.point(windmill(torque, 0.0)?, 0.0));
    }
    let excess = |torque: f64| drive.excess(0.0, torque);
    let allowed = if excess(0.0) >= 0.0 { 0.0 } else { root::bracketed(excess, 0.0, needed)? };
    Some(drive.point(0.0, allowed))
}

/// Speed at or above `from` [rad/s] at which the shaft turns freely, `torque` = 0.
fn windmill(torque: &impl Fn(f64) -> f64, from: f64) -> Option<f64> {
    let q = torque(from);
    if q >= 0.0 {
        return Some(from);
    }
    let mut high = (2.0 * from).max(10.0);
    // ten rad/s times 2²⁰ is beyond any shaft
    for _ in 0..20 {
        let q = torque(high);
        if q >= 0.0 {
            return root::bracketed(torque, from, high);
        }
        high *= 2.0;
    }
    None
}

#[cfg(test)]
mod tests;
