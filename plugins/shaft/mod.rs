//! The shaft: where battery, controller, motor and propeller settle.

pub mod operating_point;

#[cfg(test)]
mod drive_train_tests;

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::setup::Params;
use engine::units::TORQUE;

use self::operating_point::{Controller, LIMITS, Limits, Motor, Source, operating_point};
use crate::handbook::loss_torque::{self, loss_torque};
use crate::nomenclature::*;

/// Entry in the list of parts.
pub const PART: PartKind = PartKind {
    name: "shaft",
    about: "propeller shaft without inertia: speed, currents and voltages where all torques and limits agree",
    read,
};

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let seal = p
        .value("seal_torque", TORQUE, "friction torque of the shaft seal")
        .within(0.0, 5.0)
        .usual(0.0, 0.5)
        .or("0.05 N·m");
    p.part(|| Ok(Shaft { seal }))
}

struct Shaft {
    seal: f64,
}

impl Part for Shaft {
    fn declare(&self, m: &mut Declare) {
        let seal = self.seal;

        m.equation("operating point", |e| {
            let load = e.calls(&PROPELLER_TORQUE_LAW);
            let (emf, inner) = (e.reads(&BATTERY_EMF), e.reads(&BATTERY_RESISTANCE));
            let (cable, lead) = (e.reads_or(&CABLE_RESISTANCE, 0.0), e.reads_or(&PHASE_LEAD_RESISTANCE, 0.0));
            let tripped = e.reads_or(&TRIPPED, 0.0);
            let (k, r, x) =
                (e.reads(&TORQUE_CONSTANT), e.reads(&WINDING_RESISTANCE), e.reads_or(&POLE_INDUCTANCE, 0.0));
            let c = [e.reads(&LOSS_TORQUE_0), e.reads(&LOSS_TORQUE_1), e.reads(&LOSS_TORQUE_2)];
            let (idle, conduction, switching) = (
                e.reads(&CONTROLLER_IDLE_POWER),
                e.reads(&CONTROLLER_RESISTANCE),
                e.reads(&CONTROLLER_SWITCHING),
            );
            let (duty_max, motor_max) = (e.reads(&DUTY_MAX), e.reads(&MOTOR_CURRENT_MAX));
            let (battery_max, v_min) = (e.reads(&BATTERY_CURRENT_MAX), e.reads(&VOLTAGE_MIN));
            let speed_max = e.reads(&SHAFT_SPEED_MAX);
            let (omega, duty) = (e.writes(&SHAFT_SPEED), e.writes(&DUTY));
            let (i_m, v_m) = (e.writes(&MOTOR_CURRENT), e.writes(&MOTOR_VOLTAGE));
            let (i_b, v_b) = (e.writes(&BATTERY_CURRENT), e.writes(&BUS_VOLTAGE));
            let power_margin = e.adds_as(&LIMIT_MARGIN, "battery power");
            move |at| {
                let source = Source {
                    // an opened pack is no source at all
                    voltage: if at[tripped] > 0.5 { 0.0 } else { at[emf] },
                    resistance: at[inner] + at[cable],
                };
                let motor =
                    Motor { torque_constant: at[k], resistance: at[r] + at[lead], reactance: 2.0 * at[x] };
                let controller =
                    Controller { idle: at[idle], resistance: at[conduction], switching: at[switching] };
                let limits = Limits {
                    duty: at[duty_max],
                    motor_current: at[motor_max],
                    battery_current: at[battery_max],
                    cut_off: at[v_min],
                    speed: at[speed_max],
                };
                let (c0, c1, c2) = (at[c[0]] + seal, at[c[1]], at[c[2]]);
                let torque = |w: f64| at.call(load, w) + loss_torque(c0, c1, c2, w);
                match operating_point(source, motor, controller, limits, torque) {
                    Some(p) => {
                        at[omega] = p.omega;
                        at[duty] = p.duty;
                        at[i_m] = p.motor_current;
                        at[v_m] = p.motor_voltage;
                        at[i_b] = p.battery_current;
                        at[v_b] = p.battery_voltage;
                        at[power_margin] = p.margins[LIMITS - 1];
                    }
                    // a load that is no number or has no balance must not pass unnoticed
                    None => {
                        for out in [omega, duty, i_m, v_m, i_b, v_b, power_margin] {
                            at[out] = f64::NAN;
                        }
                    }
                }
            }
        });

        m.equation("seal friction", |e| {
            let omega = e.reads(&SHAFT_SPEED);
            let sink = e.adds_as(&ENERGY_SINK, "seal");
            move |at| at[sink] = loss_torque::dry(seal, at[omega]) * at[omega]
        });
    }
}
