//! Rated currents of fuse and connectors, and what the leads lose and warm.

pub mod warming;

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::quantity::Kind;
use engine::setup::Params;
use engine::units::{AREA, CURRENT};

use self::warming::adiabatic_rate;
use crate::nomenclature::{BATTERY_CURRENT, CABLE_RESISTANCE, MOTOR_CURRENT, RIG_MARGIN};

/// Volts lost.
pub const LEAD_DROP: Kind = Kind::single("lead_drop", "V", "voltage lost between pack and controller");
/// dT/dt.
pub const BATTERY_LEAD_WARMING: Kind =
    Kind::single("battery_lead_warming", "K/s", "warming of the battery leads if no heat left them");
/// dT/dt.
pub const MOTOR_LEAD_WARMING: Kind =
    Kind::single("motor_lead_warming", "K/s", "warming of the motor leads if no heat left them");

/// Entry in the list of parts.
pub const PART: PartKind = PartKind {
    name: "fuse",
    about: "rated currents of fuse and connectors on a bench rig; volts lost and warming of the leads",
    read,
};

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let fuse = p
        .value("rated_current", CURRENT, "rated current of the fuse, continuous")
        .within(0.1, 5000.0)
        .required();
    let battery = p
        .value("battery_connector", CURRENT, "continuous rating of the connector at the pack")
        .within(0.1, 5000.0)
        .optional();
    let motor = p
        .value(
            "motor_connector",
            CURRENT,
            "continuous rating of a motor connector, as DC-equivalent motor current",
        )
        .within(0.1, 5000.0)
        .optional();
    let battery_area = p
        .value("battery_area", AREA, "cross-section of the battery leads, for their warming")
        .within(1e-8, 1e-2)
        .optional();
    let motor_area = p
        .value("motor_area", AREA, "cross-section of the motor leads, for their warming")
        .within(1e-8, 1e-2)
        .optional();
    p.part(|| Ok(Fuse { fuse, battery, motor, battery_area, motor_area }))
}

struct Fuse {
    fuse: f64,
    battery: Option<f64>,
    motor: Option<f64>,
    battery_area: Option<f64>,
    motor_area: Option<f64>,
}

impl Part for Fuse {
    fn declare(&self, m: &mut Declare) {
        let rated = |m: &mut Declare, name, label, current: &Kind, rating: f64| {
            m.equation(name, |e| {
                let (current, margin) = (e.reads(current), e.adds_as(&RIG_MARGIN, label));
                move |at| at[margin] = 1.0 - at[current].abs() / rating
            });
        };
        rated(m, "margin of the fuse", "fuse rating", &BATTERY_CURRENT, self.fuse);
        if let Some(rating) = self.battery {
            rated(m, "margin of the battery connector", "battery connector", &BATTERY_CURRENT, rating);
        }
        if let Some(rating) = self.motor {
            rated(m, "margin of the motor connector", "motor connector", &MOTOR_CURRENT, rating);
        }
        m.equation("drop in the leads", |e| {
            let (current, r, drop) =
                (e.reads(&BATTERY_CURRENT), e.reads_or(&CABLE_RESISTANCE, 0.0), e.writes(&LEAD_DROP));
            move |at| at[drop] = at[r] * at[current]
        });
        let warms = |m: &mut Declare, name, current: &Kind, rate: &Kind, area: f64| {
            m.equation(name, |e| {
                let (current, rate) = (e.reads(current), e.writes(rate));
                move |at| at[rate] = adiabatic_rate(at[current], area)
            });
        };
        if let Some(area) = self.battery_area {
            warms(m, "warming of the battery leads", &BATTERY_CURRENT, &BATTERY_LEAD_WARMING, area);
        }
        if let Some(area) = self.motor_area {
            warms(m, "warming of the motor leads", &MOTOR_CURRENT, &MOTOR_LEAD_WARMING, area);
        }
    }
}
