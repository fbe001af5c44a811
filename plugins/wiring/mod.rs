//! Cables and contacts between battery, controller and motor.

pub mod conductor;

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::setup::{Invalid, Params};
use engine::units::*;

use self::conductor::{CLASS_5, battery_side, phase_side, resistance_per_metre};
use crate::handbook::copper::resistance_ratio;
use crate::nomenclature::*;

/// Entry in the list of parts.
pub const PART: PartKind =
    PartKind { name: "wiring", about: "cables and contacts on the battery side and the motor side", read };

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let battery_area = p.value("battery_area", AREA, "cross-section of the battery leads").or("10 mm²");
    let battery_run =
        p.value("battery_run", LENGTH, "length of the battery leads, one way").within(0.0, 50.0).required();
    let battery_contacts = p.count("battery_contacts", "contacts in the battery circuit, both poles").or(4);
    let phase_area = p.value("phase_area", AREA, "cross-section of the motor leads").or("10 mm²");
    let phase_run = p.value("phase_run", LENGTH, "length of the motor leads").within(0.0, 50.0).required();
    let phase_contacts = p.count("phase_contacts", "contacts in each motor lead").or(1);
    let contact = p
        .value("contact_resistance", RESISTANCE, "resistance of one contact")
        .within(0.0, 0.1)
        .usual(1e-4, 2e-3)
        .source("common practice, no source: 0.2 to 1 mΩ")
        .or("0.5 mΩ");
    let plating = p.choice("strands", &["plain", "tinned"], "bare or tinned copper").or("plain");
    let temperature = p
        .value("temperature", TEMPERATURE, "temperature of the cables during the run")
        .within(-40.0, 150.0)
        .or("30 °C");

    p.part(|| {
        let per_metre = |key: &str, area: f64| {
            resistance_per_metre(area, plating == "tinned").ok_or_else(|| {
                let sizes: Vec<String> = CLASS_5.iter().map(|(size, ..)| size.to_string()).collect();
                Invalid::at(key, format!("{} mm² is no size of IEC 60228 class 5", area * 1e6))
                    .help(format!("sizes in mm²: {}", sizes.join(", ")))
            })
        };
        let warm = resistance_ratio(temperature, 20.0);
        let battery = per_metre("battery_area", battery_area)? * warm;
        let phase = per_metre("phase_area", phase_area)? * warm;
        Ok(Wiring {
            battery: battery_side(battery, battery_run, battery_contacts.into(), contact),
            phase: phase_side(phase, phase_run, phase_contacts.into(), contact),
        })
    })
}

/// Resistances at the cables' temperature [Ω].
struct Wiring {
    battery: f64,
    phase: f64,
}

impl Part for Wiring {
    fn declare(&self, m: &mut Declare) {
        let Wiring { battery, phase } = *self;
        m.constant(&CABLE_RESISTANCE, battery);
        m.constant(&PHASE_LEAD_RESISTANCE, phase);
        m.equation("heat in the cables", |e| {
            let (i_b, i_m) = (e.reads(&BATTERY_CURRENT), e.reads(&MOTOR_CURRENT));
            let (in_battery, in_phase) =
                (e.adds_as(&ENERGY_SINK, "battery leads"), e.adds_as(&ENERGY_SINK, "motor leads"));
            move |at| {
                at[in_battery] = battery * at[i_b] * at[i_b];
                at[in_phase] = phase * at[i_m] * at[i_m];
            }
        });
    }
}
