//! Where an electric drive settles: the smallest shaft speed that any limit allows.
//!
//! Rotor inertia is left out: the shaft is always where the torques balance,
//!
//! K I = Q(ω), V_m = √((K ω + R I)² + (X ω I)²),
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

/// The battery and all that lies between its cells and the controller.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Source {
    /// Thévenin voltage V_oc [V]; 0 or less: disconnected.
    pub voltage: f64,
    /// Thévenin resistance R_b [Ω], cables included.
    pub resistance: f64,
}

/// The motor at its present temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motor {
    /// Torque constant K [N·m/A] per DC-equivalent ampere.
    pub torque_constant: f64,
    /// Line-to-line resistance R [Ω], phase leads included.
    pub resistance: f64,
    /// Reactance over speed and current, X = 2 p L [H]; 0: left out.
    pub reactance: f64,
}

/// The controller's losses P₀ + R_c I² + k_sw V_b I.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Controller {
    /// Idle power P₀ [W].
    pub idle: f64,
    /// Conduction resistance R_c [Ω].
    pub resistance: f64,
    /// Switching loss k_sw, dimensionless.
    pub switching: f64,
}

/// What the throttle sets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Throttle {
    /// A fraction of the greatest duty: the throttle sets a speed.
    Duty,
    /// A fraction of the greatest motor current: the throttle sets a torque.
    Current,
}

/// Limits; an absent one is infinite (`cut_off`: 0).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Greatest duty D, V_m ≤ D V_b. The conduction drop R_c I counts as motor voltage.
    pub duty: f64,
    /// What the throttle means.
    pub throttle_sets: Throttle,
    /// Throttle from 0 to 1.
    pub throttle: f64,
    /// Greatest motor current [A], DC equivalent.
    pub motor_current: f64,
    /// Fraction of it left by the motor's temperature.
    pub motor_fold_back: f64,
    /// Fraction of it left by the controller's temperature.
    pub controller_fold_back: f64,
    /// Greatest battery current [A].
    pub battery_current: f64,
    /// Lowest voltage at the controller [V]; the controller reduces current to hold it.
    pub cut_off: f64,
    /// Greatest shaft speed [rad/s].
    pub speed: f64,
}

/// Number of limits.
pub const LIMITS: usize = 9;

/// Names of the limits, in the order of [`OperatingPoint::margins`].
pub const LIMIT_NAMES: [&str; LIMITS] = [
    "duty",
    "throttle",
    "motor current",
    "motor temperature",
    "controller temperature",
    "battery current",
    "under-voltage",
    "shaft speed",
    "battery power",
];

/// Margin of a limit that is not in force.
const SLACK: f64 = -1.0;

/// A steady state of the drive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OperatingPoint {
    /// Shaft speed ω [rad/s].
    pub omega: f64,
    /// Motor current I, DC equivalent [A].
    pub motor_current: f64,
    /// Motor voltage in phase with the current, K ω + R I [V].
    pub motor_voltage: f64,
    /// Share of the battery voltage that the controller's bridge needs, V_m/V_b, reactive part and R_c I included.
    pub duty: f64,
    /// Battery current I_b [A].
    pub battery_current: f64,
    /// Voltage at the controller V_b [V].
    pub battery_voltage: f64,
    /// Per limit, (used − allowed)/scale: 0 where it binds, negative where there is slack.
    /// −1 also where a limit is switched off, and for a throttle or a fold-back that is fully open.
    pub margins: [f64; LIMITS],
    /// `false` where the source cannot even feed the controller's idle power; then nothing flows.
    pub supplied: bool,
}

/// Everything that follows from one shaft speed.
struct Trial {
    point: OperatingPoint,
    worst: f64,
}

/// Fixed data of one solution, with the reciprocals that the inner loop needs.
struct Drive {
    source: Source,
    motor: Motor,
    controller: Controller,
    limits: Limits,
    per_duty: f64,
    per_current: f64,
    per_battery: f64,
    per_cut_off: f64,
    per_speed: f64,
    duty_throttle: f64,
    current_throttle: f64,
}

impl Drive {
    fn new(source: Source, motor: Motor, controller: Controller, limits: Limits) -> Drive {
        let throttle = limits.throttle.clamp(0.0, 1.0);
        let (duty_throttle, current_throttle) = match limits.throttle_sets {
            Throttle::Duty => (throttle, 1.0),
            Throttle::Current => (1.0, throttle),
        };
        Drive {
            per_duty: 1.0 / (limits.duty * source.voltage),
            per_current: 1.0 / limits.motor_current,
            per_battery: 1.0 / limits.battery_current,
            per_cut_off: if limits.cut_off > 0.0 {
                1.0 / limits.cut_off
            } else {
                0.0
            },
            per_speed: 1.0 / limits.speed,
            source,
            motor,
            controller,
            limits,
            duty_throttle,
            current_throttle,
        }
    }

    /// Margin of a motor current held to `fraction` of its limit.
    fn current_margin(&self, current: f64, fraction: f64) -> f64 {
        current * self.per_current - fraction
    }

    /// State at speed `omega` with motor torque `torque`; braking torque is not asked for.
    fn at(&self, omega: f64, torque: f64) -> Trial {
        let (m, c, l) = (&self.motor, &self.controller, &self.limits);
        let current = (torque / m.torque_constant).max(0.0);
        let voltage = m.torque_constant * omega + m.resistance * current;

        // battery side: the switching part of the current is set aside, the rest carries constant power
        let switching = c.switching * current;
        let power = (voltage + c.resistance * current) * current + c.idle;
        let v = self.source.voltage - self.source.resistance * switching;
        let share = 4.0 * self.source.resistance * power;
        let square = v * v - share;
        let (battery_current, battery_voltage) = if v > 0.0 && square >= 0.0 {
            let i = 2.0 * power / (v + square.sqrt());
            (switching + i, v - self.source.resistance * i)
        } else {
            // beyond the greatest power: go on from the state at the greatest power, finite
            let half = 0.5 * v.max(0.0);
            (switching + half / self.source.resistance, half)
        };

        // what the bridge must reach
        let in_phase = voltage + c.resistance * current;
        let reactive = m.reactance * omega * current;
        let bridge = if reactive == 0.0 {
            in_phase
        } else {
            in_phase.hypot(reactive)
        };
        let reach = l.duty * battery_voltage;

        let margins = [
            (bridge - reach) * self.per_duty,
            if self.duty_throttle < 1.0 {
                (bridge - self.duty_throttle * reach) * self.per_duty
            } else if self.current_throttle < 1.0 {
                self.current_margin(current, self.current_throttle)
            } else {
                SLACK
            },
            self.current_margin(current, 1.0),
            if l.motor_fold_back < 1.0 {
                self.current_margin(current, l.motor_fold_back)
            } else {
                SLACK
            },
            if l.controller_fold_back < 1.0 {
                self.current_margin(current, l.controller_fold_back)
            } else {
                SLACK
            },
            battery_current * self.per_battery - 1.0,
            if l.cut_off > 0.0 {
                1.0 - battery_voltage * self.per_cut_off
            } else {
                SLACK
            },
            omega * self.per_speed - 1.0,
            if v > 0.0 { share / (v * v) - 1.0 } else { 1.0 },
        ];
        Trial {
            // `max` passes over a NaN, so a torque that is none is handed on by hand
            worst: if torque.is_finite() {
                margins.iter().copied().fold(f64::NEG_INFINITY, f64::max)
            } else {
                f64::NAN
            },
            point: OperatingPoint {
                omega,
                motor_current: current,
                motor_voltage: voltage,
                duty: bridge / battery_voltage,
                battery_current,
                battery_voltage,
                margins,
                supplied: true,
            },
        }
    }
}

impl Drive {
    /// Standstill against a torque `needed` that the limits do not allow: as much current as they do.
    /// The shaft is not let run backwards.
    fn stalled(&self, needed: f64) -> Option<Trial> {
        let allowed = if self.at(0.0, 0.0).worst >= 0.0 {
            0.0
        } else {
            root::bracketed(|torque| self.at(0.0, torque).worst, 0.0, needed)?
        };
        Some(self.at(0.0, allowed))
    }
}

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
    let positive = |x: f64| x.is_finite() && x > 0.0;
    if !(positive(motor.torque_constant) && positive(limits.duty) && source.voltage.is_finite()) {
        return None;
    }
    // a source that cannot feed the idle power leaves the controller dead
    let v = source.voltage;
    if v <= 0.0 || v * v < 4.0 * source.resistance * controller.idle {
        let omega = windmill(&torque, 0.0)?;
        return Some(OperatingPoint {
            omega,
            motor_current: 0.0,
            motor_voltage: motor.torque_constant * omega,
            duty: 0.0,
            battery_current: 0.0,
            battery_voltage: v.max(0.0),
            margins: std::array::from_fn(|k| if k == LIMITS - 1 { 0.0 } else { SLACK }),
            supplied: false,
        });
    }

    let drive = Drive::new(source, motor, controller, limits);
    let worst = |omega: f64| drive.at(omega, torque(omega)).worst;
    // no current flows at K ω = D V_oc or above it, whatever the load
    let fastest = (limits.duty * drive.duty_throttle * v / motor.torque_constant).min(limits.speed);
    let still = worst(0.0);
    let omega = if still >= 0.0 {
        0.0
    } else {
        root::bracketed(worst, 0.0, fastest)?
    };
    let q = torque(omega);
    if !q.is_finite() {
        return None;
    }
    if q > 0.0 && still > 0.0 {
        return Some(drive.stalled(q)?.point);
    }
    if q >= 0.0 {
        return Some(drive.at(omega, q).point);
    }
    // the water drives the shaft: no current, and speed from the balance of load and losses
    let omega = windmill(&torque, omega)?;
    Some(drive.at(omega, 0.0).point)
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
