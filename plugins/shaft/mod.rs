//! The shaft: where battery, controller, motor and propeller settle.

mod drive;
pub mod operating_point;
mod wires;

#[cfg(test)]
mod drive_train_tests;

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::setup::Params;
use engine::units::{INERTIA, TORQUE};

use self::operating_point::{driven, operating_point};
use self::wires::{Answer, Given, Load};
use crate::handbook::loss_torque;
use crate::nomenclature::*;

/// Entry in the list of parts.
pub const PART: PartKind = PartKind {
    name: "shaft",
    about: "propeller shaft: speed, currents and voltages where all torques and limits agree",
    read,
};

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let seal = p
        .value("seal_torque", TORQUE, "friction torque of the shaft seal")
        .within(0.0, 5.0)
        .usual(0.0, 0.5)
        .or("0.05 N·m");
    let inertia = p
        .value("inertia", INERTIA, "rotor and propeller with its water; left out, the shaft follows at once")
        .within(2e-4, 10.0)
        .optional();
    p.part(|| Ok(Shaft { seal, inertia }))
}

struct Shaft {
    seal: f64,
    inertia: Option<f64>,
}

impl Part for Shaft {
    fn declare(&self, m: &mut Declare) {
        match self.inertia {
            None => self.follows_at_once(m),
            Some(inertia) => self.has_inertia(m, inertia),
        }
        let seal = self.seal;
        m.equation("seal friction", |e| {
            let omega = e.reads(&SHAFT_SPEED);
            let sink = e.adds_as(&ENERGY_SINK, "seal");
            move |at| at[sink] = loss_torque::dry(seal, at[omega]) * at[omega]
        });
    }
}

impl Shaft {
    /// Speed where the torques balance.
    fn follows_at_once(&self, m: &mut Declare) {
        let seal = self.seal;
        m.equation("operating point", |e| {
            let (given, load, answer) = (Given::new(e), Load::new(e, seal), Answer::new(e));
            let omega = e.writes(&SHAFT_SPEED);
            move |at| {
                let (source, motor, controller, limits) = given.values(at);
                let torque = load.torque(at);
                let point = operating_point(source, motor, controller, limits, torque);
                at[omega] = point.map_or(f64::NAN, |p| p.omega);
                answer.write(at, point);
            }
        });
    }

    /// Speed as a state: J dω/dt = K I − Q(ω), I the greatest current allowed.
    fn has_inertia(&self, m: &mut Declare, inertia: f64) {
        let seal = self.seal;
        m.state(&SHAFT_SPEED, 0.0, 100.0).within(-5000.0, 5000.0);
        m.equation("drive at shaft speed", |e| {
            let (given, answer) = (Given::new(e), Answer::new(e));
            let omega = e.reads(&SHAFT_SPEED);
            move |at| {
                let (source, motor, controller, limits) = given.values(at);
                answer.write(at, driven(source, motor, controller, limits, at[omega]));
            }
        });
        m.equation("torque balance", |e| {
            let load = Load::new(e, seal);
            let (omega, k, current) =
                (e.reads(&SHAFT_SPEED), e.reads(&TORQUE_CONSTANT), e.reads(&MOTOR_CURRENT));
            let (rate, store) = (e.rate_of(&SHAFT_SPEED), e.adds_as(&ENERGY_STORE, "rotor"));
            move |at| {
                let needed = load.torque(at)(at[omega]);
                at[rate] = (at[k] * at[current] - needed) / inertia;
                at[store] = 0.5 * inertia * at[omega] * at[omega];
            }
        });
    }
}
