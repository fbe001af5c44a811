//! What one reads of a drive at rest, at one throttle.

use engine::diagnostic::{Diagnostic, Diagnostics};
use engine::run::Run;
use std::f64::consts::TAU;

use super::bench::{Bench, Probes};
use super::held::Held;
use super::text::percent;
use crate::handbook::momentum::figure_of_merit;
use crate::verdict::limits::{BINDING, name};

/// A steady reading, SI.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    pub throttle: f64,
    /// Of the propeller.
    pub thrust: f64,
    /// What reaches the craft, forward: guard, thrust deduction and the tilt of the shaft taken off.
    pub net_thrust: f64,
    /// ω, rad/s.
    pub omega: f64,
    pub duty: f64,
    pub duty_max: f64,
    /// DC-equivalent.
    pub motor_current: f64,
    pub motor_current_max: f64,
    pub battery_current: f64,
    pub battery_current_max: f64,
    /// At the controller.
    pub bus_voltage: f64,
    pub voltage_min: f64,
    pub shaft_speed_max: f64,
    /// Of the cells at no current.
    pub emf: f64,
    /// Cells and cables.
    pub source_resistance: f64,
    pub torque_constant: f64,
    pub winding_resistance: f64,
    /// Of the propeller, N·m.
    pub torque: f64,
    /// At the propeller, Q ω.
    pub shaft_power: f64,
    /// At the pack's terminals: the cables' loss is in it.
    pub battery_power: f64,
    /// Ideal power over shaft power, and over battery power.
    pub merit: Option<f64>,
    pub overall: Option<f64>,
    /// Greatest duty and motor current with the throttle wide open.
    pub duty_open: f64,
    pub motor_current_open: f64,
    /// Names of the limits that bind.
    pub limits: Vec<String>,
    /// The foremost of them.
    pub held: Held,
}

impl Bench {
    /// The steady state at a throttle.
    ///
    /// # Errors
    /// The drive has no steady state there, or a quantity is no number.
    pub fn reading(&self, throttle: f64) -> Result<Reading, Diagnostics> {
        let mut open = self.run(1.0);
        let wide = (open.value(self.probes.duty_max), open.value(self.probes.motor_current_max));
        let reading = read(&mut self.steady(throttle), &self.probes, throttle, wide);
        let numbers = [
            ("thrust", reading.thrust),
            ("net thrust", reading.net_thrust),
            ("shaft speed", reading.omega),
            ("torque", reading.torque),
            ("duty", reading.duty),
            ("motor current", reading.motor_current),
            ("battery current", reading.battery_current),
            ("bus voltage", reading.bus_voltage),
        ];
        match numbers.iter().find(|(_, value)| !value.is_finite()) {
            None => Ok(reading),
            Some((what, value)) => {
                let at = percent(throttle);
                let error = format!("at {at} throttle the drive has no steady state: its {what} is {value}");
                Err(Diagnostic::error(error).into())
            }
        }
    }
}

fn read(run: &mut Run, p: &Probes, throttle: f64, wide: (f64, f64)) -> Reading {
    let margins: Vec<(String, f64)> = p
        .limits
        .iter()
        .map(|&limit| {
            let name = name(run.model(), limit);
            (name, run.value(limit))
        })
        .collect();
    let mut limits: Vec<String> =
        margins.into_iter().filter(|(_, margin)| *margin > -BINDING).map(|(name, _)| name).collect();
    limits.sort();
    limits.dedup();

    let mut value = |probe| run.value(probe);
    let (thrust, omega) = (value(p.thrust), value(p.shaft_speed));
    let torque = p.torque.map_or(f64::NAN, &mut value);
    let (bus_voltage, battery_current) = (value(p.bus_voltage), value(p.battery_current));
    let cable = p.cable_resistance.map_or(0.0, &mut value);
    let shaft_power = torque * omega;
    let battery_power = (bus_voltage + cable * battery_current) * battery_current;
    let disc = p.density.map(&mut value).zip(p.diameter.map(&mut value));
    let merit =
        |power| disc.and_then(|(density, diameter)| figure_of_merit(thrust, density, diameter, power));
    let mut reading = Reading {
        throttle,
        thrust,
        net_thrust: p.net_thrust.map_or(f64::NAN, &mut value),
        omega,
        duty: value(p.duty),
        duty_max: value(p.duty_max),
        motor_current: value(p.motor_current),
        motor_current_max: value(p.motor_current_max),
        battery_current,
        battery_current_max: value(p.battery_current_max),
        bus_voltage,
        voltage_min: value(p.voltage_min),
        shaft_speed_max: value(p.shaft_speed_max),
        emf: value(p.emf),
        source_resistance: value(p.battery_resistance) + cable,
        torque_constant: value(p.torque_constant),
        winding_resistance: value(p.winding_resistance),
        torque,
        shaft_power,
        battery_power,
        merit: merit(shaft_power),
        overall: merit(battery_power),
        duty_open: wide.0,
        motor_current_open: wide.1,
        limits,
        held: Held::Nothing,
    };
    reading.held = Held::of(&reading);
    reading
}

impl Reading {
    /// Shaft speed, rpm.
    pub fn rpm(&self) -> f64 {
        60.0 * self.revs()
    }

    /// Shaft speed n, rev/s.
    pub fn revs(&self) -> f64 {
        self.omega / TAU
    }

    /// What the propeller asks for, Q/n² [N·m/(rev/s)²], the same at every speed at rest; `None` on a still shaft.
    pub fn torque_per_revs2(&self) -> Option<f64> {
        let n = self.revs();
        (n > 0.0 && self.torque > 0.0).then(|| self.torque / (n * n))
    }

    /// Thrust per battery watt, N/W.
    pub fn thrust_per_watt(&self) -> Option<f64> {
        (self.battery_power > 0.0).then(|| self.thrust / self.battery_power)
    }

    /// Whether it is the throttle that sets the duty or the motor current that holds it: less than it would
    /// allow wide open.
    pub fn by_throttle(&self) -> bool {
        let part = |now: f64, open: f64| now < open * (1.0 - 1e-9);
        match self.held {
            Held::Duty => part(self.duty_max, self.duty_open),
            Held::MotorCurrent => part(self.motor_current_max, self.motor_current_open),
            Held::Closed => true,
            _ => false,
        }
    }
}
