//! The key or pin between shaft and propeller.

pub mod shear;

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::quantity::Kind;
use engine::setup::{Invalid, Params};
use engine::units::{LENGTH, NUMBER, PRESSURE};

use crate::nomenclature::{PROPELLER_TORQUE_LAW, RIG_MARGIN, SHAFT_SPEED, START_UP_FACTOR};

/// τ.
pub const SHEAR_STRESS: Kind =
    Kind::single("shear_stress", "Pa", "peak shear stress in key or pin, start-up included");

/// Entry in the list of parts.
pub const PART: PartKind = PartKind {
    name: "key",
    about: "key or shear pin between shaft and propeller, on a bench rig: shear stress",
    read,
};

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let shaft = p.value("shaft_diameter", LENGTH, "diameter of the shaft").within(1e-3, 0.2).required();
    let width = p.value("width", LENGTH, "width of a key").within(1e-4, 0.1).optional();
    let length = p.value("length", LENGTH, "bearing length of a key").within(1e-4, 0.5).optional();
    let pin = p
        .value("pin_diameter", LENGTH, "diameter of a pin right through the shaft")
        .within(1e-4, 0.1)
        .optional();
    let yields = p
        .value("yield_strength", PRESSURE, "yield strength of key or pin in tension; 1/√3 of it in shear")
        .within(1e6, 3e9)
        .required();
    let safety = p
        .value("safety_factor", NUMBER, "required safety against yielding")
        .within(1.0, 20.0)
        .source("common practice, no source")
        .or("2");
    p.part(|| {
        let link = match (width, length, pin) {
            (Some(width), Some(length), None) if width < shaft => Link::Key { width, length },
            (None, None, Some(pin)) if pin < shaft => Link::Pin(pin),
            (Some(across), ..) | (_, _, Some(across)) if across >= shaft => {
                let why =
                    format!("{:.2} mm across does not fit a shaft of {:.2} mm", 1e3 * across, 1e3 * shaft);
                return Err(Invalid::at("shaft_diameter", why));
            }
            _ => {
                let why = "neither a key (width and length) nor a pin (pin_diameter)";
                return Err(Invalid::part(why).help("give width and length, or pin_diameter alone"));
            }
        };
        Ok(Key { shaft, link, allowed: yields / 3f64.sqrt() / safety })
    })
}

#[derive(Clone, Copy)]
enum Link {
    Key { width: f64, length: f64 },
    Pin(f64),
}

struct Key {
    shaft: f64,
    link: Link,
    allowed: f64,
}

impl Part for Key {
    fn declare(&self, m: &mut Declare) {
        let Key { shaft, link, allowed } = *self;
        m.equation("shear", |e| {
            let (law, omega, factor) =
                (e.calls(&PROPELLER_TORQUE_LAW), e.reads(&SHAFT_SPEED), e.reads(&START_UP_FACTOR));
            let (stress, margin) = (e.writes(&SHEAR_STRESS), e.adds_as(&RIG_MARGIN, "shear"));
            move |at| {
                let torque = at[factor] * at.call(law, at[omega]);
                at[stress] = match link {
                    Link::Key { width, length } => shear::key(torque, shaft, width, length),
                    Link::Pin(pin) => shear::pin(torque, shaft, pin),
                };
                at[margin] = 1.0 - at[stress] / allowed;
            }
        });
    }
}
