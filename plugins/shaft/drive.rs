//! A drive at a given shaft speed and torque: its voltages and currents, and how far its limits are.

use crate::handbook::source::current_for_power;

/// The battery and all that lies between its cells and the controller.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Source {
    /// Thévenin voltage V_oc \[V\]; 0 or less: disconnected.
    pub voltage: f64,
    /// Thévenin resistance R_b \[Ω\], cables included.
    pub resistance: f64,
}

/// The motor at its present temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motor {
    /// Torque constant K [N·m/A] per DC-equivalent ampere.
    pub torque_constant: f64,
    /// Line-to-line resistance R \[Ω\], phase leads included.
    pub resistance: f64,
    /// Reactance over speed and current, X = 2 p L \[H\]; 0: left out.
    pub reactance: f64,
}

/// The controller's losses P₀ + R_c I² + k_sw V_b I.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Controller {
    /// Idle power P₀ \[W\].
    pub idle: f64,
    /// Conduction resistance R_c \[Ω\].
    pub resistance: f64,
    /// Switching loss k_sw, dimensionless.
    pub switching: f64,
}

/// What is allowed now, throttle and fold-back included; an absent limit is infinite (`cut_off`: 0).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Greatest duty D: the bridge reaches at most D V_b.
    pub duty: f64,
    /// Greatest motor current \[A\], DC equivalent.
    pub motor_current: f64,
    /// Greatest battery current \[A\].
    pub battery_current: f64,
    /// Lowest voltage at the controller \[V\]; the controller reduces current to hold it.
    pub cut_off: f64,
    /// Greatest shaft speed [rad/s].
    pub speed: f64,
}

impl Limits {
    pub(super) fn all_numbers(&self) -> bool {
        let Limits { duty, motor_current, battery_current, cut_off, speed } = self;
        ![duty, motor_current, battery_current, cut_off, speed].into_iter().any(|x| x.is_nan())
    }
}

/// Number of limits.
pub const LIMITS: usize = 6;

/// Names of the limits, in the order of [`OperatingPoint::margins`]. The last is the source's own:
/// no source gives more than V_oc²/4R_b.
pub const LIMIT_NAMES: [&str; LIMITS] =
    ["duty", "motor current", "battery current", "under-voltage", "shaft speed", "battery power"];

/// Margin of a limit that is not in force.
pub(super) const SLACK: f64 = -1.0;

/// A steady state of the drive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OperatingPoint {
    /// Shaft speed ω [rad/s].
    pub omega: f64,
    /// Motor current I, DC equivalent \[A\].
    pub motor_current: f64,
    /// Motor voltage in phase with the current, K ω + R I \[V\].
    pub motor_voltage: f64,
    /// Share of the battery voltage that the controller's bridge needs, V_m/V_b, reactive part and R_c I included.
    pub duty: f64,
    /// Battery current I_b \[A\].
    pub battery_current: f64,
    /// Voltage at the controller V_b \[V\].
    pub battery_voltage: f64,
    /// Per limit, used/allowed − 1 or the like: 0 where it binds, negative where there is slack;
    /// −1 where there is no such limit, 0 where nothing at all is allowed.
    pub margins: [f64; LIMITS],
    /// `false` where the source cannot even feed the controller's idle power; then nothing flows.
    pub supplied: bool,
}

/// Currents and voltages that follow from one shaft speed and torque.
struct Electrical {
    /// Motor current I.
    current: f64,
    /// K ω + R I.
    voltage: f64,
    /// What the bridge must reach, R_c I and the reactive part included.
    bridge: f64,
    battery_current: f64,
    battery_voltage: f64,
    /// Power drawn over the greatest the source can give, 4 R_b P/V².
    strain: f64,
}

/// Fixed data of one solution.
pub(super) struct Drive {
    source: Source,
    motor: Motor,
    controller: Controller,
    limits: Limits,
    /// Greatest battery current [A] of the limit on it and of the lowest voltage.
    battery_current: f64,
    /// Reciprocals for the inner loop, where a division costs as much as all the rest of a line.
    per_current: f64,
    per_battery_current: f64,
    per_duty: f64,
    per_speed: f64,
    per_torque: f64,
}

impl Drive {
    pub(super) fn new(source: Source, motor: Motor, controller: Controller, limits: Limits) -> Drive {
        // a lowest voltage is a greatest current: R_b I_b = V_oc − V_cut
        let to_cut_off = if limits.cut_off > 0.0 {
            (source.voltage - limits.cut_off).max(0.0) / source.resistance.max(1e-12)
        } else {
            f64::INFINITY
        };
        let battery_current = limits.battery_current.min(to_cut_off);
        Drive {
            battery_current,
            per_current: 1.0 / limits.motor_current,
            per_battery_current: 1.0 / battery_current,
            per_duty: 1.0 / (limits.duty * source.voltage),
            per_speed: 1.0 / limits.speed,
            per_torque: 1.0 / motor.torque_constant,
            source,
            motor,
            controller,
            limits,
        }
    }

    /// Closed by throttle, heat or voltage: no motor current at all.
    pub(super) fn off(&self) -> bool {
        self.limits.duty <= 0.0 || self.limits.motor_current <= 0.0 || self.battery_current <= 0.0
    }

    /// Currents and voltages at speed `omega` and motor torque `torque`; braking torque is not asked for.
    #[inline]
    fn electrical(&self, omega: f64, torque: f64) -> Electrical {
        let (m, c, r) = (&self.motor, &self.controller, self.source.resistance);
        let current = (torque * self.per_torque).max(0.0);
        let voltage = m.torque_constant * omega + m.resistance * current;

        // what the bridge must reach; squares cannot overflow for any sensible drive, so no `hypot`
        let in_phase = voltage + c.resistance * current;
        let reactive = m.reactance * omega * current;
        let bridge = (in_phase * in_phase + reactive * reactive).sqrt();

        // battery side: the switching part of the current is set aside, the rest carries constant power
        let switching = c.switching * current;
        let power = in_phase * current + c.idle;
        let v = self.source.voltage - r * switching;
        let share = 4.0 * r * power;
        let (battery_current, battery_voltage, strain) = match current_for_power(v, r, power) {
            Some(i) => (switching + i, v - r * i, share / (v * v)),
            // beyond the greatest power: go on from the state at the greatest power, finite
            None if v > 0.0 => (switching + 0.5 * v / r, 0.5 * v, share / (v * v)),
            None => (switching, 0.0, 1.0 + switching),
        };
        Electrical { current, voltage, bridge, battery_current, battery_voltage, strain }
    }

    /// The worst excess over any limit, zero where one binds. Currents and power enter as
    /// square roots: a propeller's torque grows with ω², so this is nearly straight in ω and few steps find its root.
    #[inline]
    pub(super) fn excess(&self, omega: f64, torque: f64) -> f64 {
        // a comparison would pass over a NaN
        if !torque.is_finite() {
            return f64::NAN;
        }
        let e = self.electrical(omega, torque);
        let larger = |a: f64, b: f64| if a > b { a } else { b };
        let used = larger(
            larger(e.current * self.per_current, e.battery_current * self.per_battery_current),
            e.strain,
        );
        let duty = (e.bridge - self.limits.duty * e.battery_voltage) * self.per_duty;
        larger(larger(used.sqrt(), omega * self.per_speed) - 1.0, duty)
    }

    /// Every limit's margin, in the order of [`LIMIT_NAMES`].
    fn margins(&self, omega: f64, e: &Electrical) -> [f64; LIMITS] {
        let l = &self.limits;
        let relative = |used: f64, allowed: f64| if allowed > 0.0 { used / allowed - 1.0 } else { 0.0 };
        [
            // relative to the source voltage, finite also where the battery voltage is not there
            if l.duty > 0.0 { (e.bridge - l.duty * e.battery_voltage) * self.per_duty } else { 0.0 },
            relative(e.current, l.motor_current),
            relative(e.battery_current, l.battery_current),
            if l.cut_off > 0.0 { 1.0 - e.battery_voltage / l.cut_off } else { SLACK },
            relative(omega, l.speed),
            e.strain - 1.0,
        ]
    }

    /// The finished operating point.
    pub(super) fn point(&self, omega: f64, torque: f64) -> OperatingPoint {
        let e = self.electrical(omega, torque);
        OperatingPoint {
            omega,
            motor_current: e.current,
            motor_voltage: e.voltage,
            duty: if e.battery_voltage > 0.0 { e.bridge / e.battery_voltage } else { 0.0 },
            battery_current: e.battery_current,
            battery_voltage: e.battery_voltage,
            margins: self.margins(omega, &e),
            supplied: true,
        }
    }
}

/// Whether a source cannot even feed the controller's idle power; then the controller is dead.
pub(super) fn is_dead(source: Source, controller: Controller) -> bool {
    let v = source.voltage;
    v <= 0.0 || v * v < 4.0 * source.resistance * controller.idle
}

/// The point of a dead controller whose shaft turns at ω.
pub(super) fn dead(source: Source, motor: Motor, omega: f64) -> OperatingPoint {
    OperatingPoint {
        omega,
        motor_current: 0.0,
        motor_voltage: motor.torque_constant * omega,
        duty: 0.0,
        battery_current: 0.0,
        battery_voltage: source.voltage.max(0.0),
        margins: std::array::from_fn(|k| if k == LIMITS - 1 { 0.0 } else { SLACK }),
        supplied: false,
    }
}
