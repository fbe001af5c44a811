//! A permanent-magnet motor as an equivalent direct-current machine with two temperatures.

pub mod equivalent_dc;
mod parameters;
pub mod temperature;
pub mod thermal;

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::quantity::Kind;

use self::equivalent_dc::NoLoad;
use self::temperature::{magnet_ratio, resistance_ratio};
use self::thermal::TwoNodes;
use crate::handbook::loss_torque;
use crate::handbook::mass::{self, Mass};
use crate::nomenclature::*;

/// Entry in the list of parts.
pub const PART: PartKind = PartKind {
    name: "motor",
    about: "permanent-magnet motor: constants at temperature, losses, winding and case temperature",
    read: parameters::read,
};

/// R I².
pub const COPPER_LOSS: Kind = Kind::single("copper_loss", "W", "heat in the winding");
/// Hysteresis and eddy currents.
pub const IRON_LOSS: Kind = Kind::single("iron_loss", "W", "heat in the iron: hysteresis and eddy currents");
/// Friction and windage.
pub const FRICTION_LOSS: Kind = Kind::single("friction_loss", "W", "heat of bearings and windage");

/// A motor, its data at 20 °C.
struct Motor {
    torque_constant: f64,
    resistance: f64,
    no_load: NoLoad,
    /// Share of i₀ that is hysteresis.
    iron_share: f64,
    pole_inductance: f64,
    magnet_coefficient: f64,
    nodes: TwoNodes,
    start_temperature: f64,
    body: Mass,
}

impl Part for Motor {
    fn declare(&self, m: &mut Declare) {
        let Motor { torque_constant, resistance, no_load, iron_share, nodes, .. } = *self;
        let alpha = self.magnet_coefficient;
        mass::place(m, self.body);
        m.constant(&POLE_INDUCTANCE, self.pole_inductance);
        m.state(&WINDING_TEMPERATURE, self.start_temperature, 30.0).within(-40.0, 200.0);
        m.state(&CASE_TEMPERATURE, self.start_temperature, 30.0).within(-40.0, 200.0);

        m.equation("constants at temperature", |e| {
            let (winding, case) = (e.reads(&WINDING_TEMPERATURE), e.reads(&CASE_TEMPERATURE));
            let (k, r) = (e.writes(&TORQUE_CONSTANT), e.writes(&WINDING_RESISTANCE));
            let (c0, c1, c2) = (e.writes(&LOSS_TORQUE_0), e.writes(&LOSS_TORQUE_1), e.writes(&LOSS_TORQUE_2));
            move |at| {
                at[k] = torque_constant * magnet_ratio(at[case], alpha);
                at[r] = resistance * resistance_ratio(at[winding], 20.0);
                at[c0] = at[k] * no_load.i0;
                at[c1] = at[k] * no_load.i1;
                at[c2] = at[k] * no_load.i2;
            }
        });

        m.equation("losses", |e| {
            let (omega, current) = (e.reads(&SHAFT_SPEED), e.reads(&MOTOR_CURRENT));
            let (k, r) = (e.reads(&TORQUE_CONSTANT), e.reads(&WINDING_RESISTANCE));
            let (copper, iron, friction) =
                (e.writes(&COPPER_LOSS), e.writes(&IRON_LOSS), e.writes(&FRICTION_LOSS));
            let sinks = [
                e.adds_as(&ENERGY_SINK, "copper"),
                e.adds_as(&ENERGY_SINK, "iron"),
                e.adds_as(&ENERGY_SINK, "friction"),
            ];
            move |at| {
                let w = at[omega];
                let dry = at[k] * loss_torque::dry(no_load.i0, w) * w;
                let eddy = at[k] * no_load.i1 * w * w;
                let windage = at[k] * no_load.i2 * w * w * w.abs();
                at[copper] = at[r] * at[current] * at[current];
                at[iron] = iron_share * dry + eddy;
                at[friction] = (1.0 - iron_share) * dry + windage;
                at[sinks[0]] = at[copper];
                at[sinks[1]] = at[iron];
                at[sinks[2]] = at[friction];
            }
        });

        m.equation("temperatures", |e| {
            let (winding, case) = (e.reads(&WINDING_TEMPERATURE), e.reads(&CASE_TEMPERATURE));
            let water = e.reads(&WATER_TEMPERATURE);
            let (copper, iron, friction) =
                (e.reads(&COPPER_LOSS), e.reads(&IRON_LOSS), e.reads(&FRICTION_LOSS));
            let (dw, dc) = (e.rate_of(&WINDING_TEMPERATURE), e.rate_of(&CASE_TEMPERATURE));
            move |at| {
                let in_case = at[iron] + at[friction];
                (at[dw], at[dc]) = nodes.rates(at[winding], at[case], at[water], at[copper], in_case);
            }
        });

        m.watch(&WINDING_TEMPERATURE, -20.0, 130.0, "the insulation of ordinary windings ends near 130 °C");
        m.watch(
            &CASE_TEMPERATURE,
            -20.0,
            80.0,
            "plain NdFeB magnets lose strength for good above about 80 °C",
        );
    }
}
