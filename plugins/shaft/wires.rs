//! What the shaft reads from the other parts and what it tells them.

use engine::model::{Frame, In, Law, Out, Wires};

use super::operating_point::{Controller, LIMITS, Limits, Motor, OperatingPoint, Source};
use crate::handbook::loss_torque::loss_torque;
use crate::nomenclature::*;

/// Source, motor, controller and limits as they are now.
pub(super) struct Given {
    emf: In,
    inner: In,
    cable: In,
    lead: In,
    tripped: In,
    k: In,
    r: In,
    pole_inductance: In,
    idle: In,
    conduction: In,
    switching: In,
    duty: In,
    motor_current: In,
    battery_current: In,
    voltage_min: In,
    speed: In,
}

impl Given {
    pub fn new(e: &mut Wires) -> Given {
        Given {
            emf: e.reads(&BATTERY_EMF),
            inner: e.reads(&BATTERY_RESISTANCE),
            cable: e.reads_or(&CABLE_RESISTANCE, 0.0),
            lead: e.reads_or(&PHASE_LEAD_RESISTANCE, 0.0),
            tripped: e.reads_or(&TRIPPED, 0.0),
            k: e.reads(&TORQUE_CONSTANT),
            r: e.reads(&WINDING_RESISTANCE),
            pole_inductance: e.reads_or(&POLE_INDUCTANCE, 0.0),
            idle: e.reads(&CONTROLLER_IDLE_POWER),
            conduction: e.reads(&CONTROLLER_RESISTANCE),
            switching: e.reads(&CONTROLLER_SWITCHING),
            duty: e.reads(&DUTY_MAX),
            motor_current: e.reads(&MOTOR_CURRENT_MAX),
            battery_current: e.reads(&BATTERY_CURRENT_MAX),
            voltage_min: e.reads(&VOLTAGE_MIN),
            speed: e.reads(&SHAFT_SPEED_MAX),
        }
    }

    pub fn values(&self, at: &Frame) -> (Source, Motor, Controller, Limits) {
        let source = Source {
            // an opened pack is no source at all
            voltage: if at[self.tripped] > 0.5 { 0.0 } else { at[self.emf] },
            resistance: at[self.inner] + at[self.cable],
        };
        let motor = Motor {
            torque_constant: at[self.k],
            resistance: at[self.r] + at[self.lead],
            reactance: 2.0 * at[self.pole_inductance],
        };
        let controller = Controller {
            idle: at[self.idle],
            resistance: at[self.conduction],
            switching: at[self.switching],
        };
        let limits = Limits {
            duty: at[self.duty],
            motor_current: at[self.motor_current],
            battery_current: at[self.battery_current],
            cut_off: at[self.voltage_min],
            speed: at[self.speed],
        };
        (source, motor, controller, limits)
    }
}

/// The torque that the shaft takes: propeller, seal and the motor's own losses.
pub(super) struct Load {
    propeller: Law,
    c0: In,
    c1: In,
    c2: In,
    seal: f64,
}

impl Load {
    pub fn new(e: &mut Wires, seal: f64) -> Load {
        Load {
            propeller: e.calls(&PROPELLER_TORQUE_LAW),
            c0: e.reads(&LOSS_TORQUE_0),
            c1: e.reads(&LOSS_TORQUE_1),
            c2: e.reads(&LOSS_TORQUE_2),
            seal,
        }
    }

    /// As a function of shaft speed [rad/s], in N·m.
    pub fn torque<'a>(&self, at: &'a Frame) -> impl Fn(f64) -> f64 + 'a {
        let (propeller, c0, c1, c2) = (self.propeller, at[self.c0] + self.seal, at[self.c1], at[self.c2]);
        move |omega| at.call(propeller, omega) + loss_torque(c0, c1, c2, omega)
    }
}

/// Currents and voltages for the other parts.
pub(super) struct Answer {
    duty: Out,
    motor_current: Out,
    motor_voltage: Out,
    battery_current: Out,
    bus_voltage: Out,
    power_margin: Out,
}

impl Answer {
    pub fn new(e: &mut Wires) -> Answer {
        Answer {
            duty: e.writes(&DUTY),
            motor_current: e.writes(&MOTOR_CURRENT),
            motor_voltage: e.writes(&MOTOR_VOLTAGE),
            battery_current: e.writes(&BATTERY_CURRENT),
            bus_voltage: e.writes(&BUS_VOLTAGE),
            power_margin: e.adds_as(&LIMIT_MARGIN, "battery power"),
        }
    }

    /// A load that is no number or has no balance must not pass unnoticed: it ends the run.
    pub fn write(&self, at: &mut Frame, point: Option<OperatingPoint>) {
        let of = |value: fn(&OperatingPoint) -> f64| point.as_ref().map_or(f64::NAN, value);
        at[self.duty] = of(|p| p.duty);
        at[self.motor_current] = of(|p| p.motor_current);
        at[self.motor_voltage] = of(|p| p.motor_voltage);
        at[self.battery_current] = of(|p| p.battery_current);
        at[self.bus_voltage] = of(|p| p.battery_voltage);
        at[self.power_margin] = of(|p| p.margins[LIMITS - 1]);
    }
}
