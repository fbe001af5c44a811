//! Parameters of the motor: any set of data that fixes its constants.

use engine::part::Part;
use engine::setup::{Invalid, Params};
use engine::units::*;

use super::Motor;
use super::equivalent_dc::{self as dc, CurrentConvention, NoLoad, SpeedConstant};
use super::thermal::TwoNodes;
use crate::handbook::mass::Mass;

fn speed_constant(word: &str) -> SpeedConstant {
    match word {
        "six-step average" => SpeedConstant::SixStepAverage,
        "line-line rms" => SpeedConstant::LineLineRms,
        _ => SpeedConstant::LineLinePeak,
    }
}

pub(super) fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    // any of three ways to state K, any of two to state R
    let k_v = p.value("speed_constant", SPEED_CONSTANT, "speed per volt K_v").within(0.1, 1000.0).optional();
    let k_v_of = p
        .choice(
            "speed_constant_of",
            &["line-line peak", "six-step average", "line-line rms"],
            "voltage that the speed constant refers to",
        )
        .or("line-line peak");
    let k_t =
        p.value("torque_constant", TORQUE_CONSTANT, "torque per ampere K_t").within(1e-4, 10.0).optional();
    let k_t_per = p
        .choice("torque_constant_per", CurrentConvention::WORDS, "ampere that the torque constant refers to")
        .or("dc-equivalent");
    let psi = p
        .value("flux_linkage", FLUX_LINKAGE, "peak phase flux linkage ψ; needs pole_pairs")
        .within(1e-6, 10.0)
        .optional();
    let pole_pairs = p.count("pole_pairs", "pole pairs p").within(1, 100).optional();
    let r_line =
        p.value("resistance", RESISTANCE, "line-to-line resistance R at 20 °C").within(1e-5, 10.0).optional();
    let r_phase = p
        .value("phase_resistance", RESISTANCE, "star-equivalent phase resistance at 20 °C")
        .within(1e-5, 10.0)
        .optional();
    let inductance = p
        .value(
            "phase_inductance",
            INDUCTANCE,
            "phase inductance L, for the reactive voltage; needs pole_pairs",
        )
        .within(0.0, 0.1)
        .optional();

    let i_0 =
        p.value("no_load_current", CURRENT, "no-load current at no_load_speed").within(0.0, 100.0).required();
    let omega_0 = p
        .value("no_load_speed", ROTATION, "speed at which the no-load current was read")
        .within(1.0, 10_000.0)
        .or("3000 rpm");
    let viscous = p
        .value("viscous_share", FRACTION, "share of the no-load current that grows with speed")
        .within(0.0, 1.0)
        .or("30 %");
    let windage = p
        .value("windage_share", FRACTION, "share of the no-load current that grows with speed squared")
        .within(0.0, 1.0)
        .or("0 %");
    let iron_share = p
        .value("iron_share", FRACTION, "share of the constant part that heats the iron, not the bearings")
        .within(0.0, 1.0)
        .or("50 %");

    let magnet_coefficient = p
        .value("magnet_coefficient", PER_KELVIN, "reversible change of remanence per kelvin")
        .within(-0.01, 0.0)
        .source("makers' data: NdFeB −0.09 … −0.12 %/K, SmCo −0.03 … −0.05 %/K")
        .or("-0.11 %/K");
    let winding_capacity = p
        .value(
            "winding_capacity",
            HEAT_CAPACITY,
            "heat capacity of the winding, 385 J/(kg·K) times its copper",
        )
        .within(0.1, 1e5)
        .or("116 J/K");
    let case_capacity = p
        .value("case_capacity", HEAT_CAPACITY, "heat capacity of case, iron and magnets")
        .within(0.1, 1e5)
        .or("600 J/K");
    let winding_to_case = p
        .value("winding_to_case", THERMAL_RESISTANCE, "thermal resistance from winding to case")
        .within(0.001, 100.0)
        .or("0.35 K/W");
    let case_to_water = p
        .value("case_to_water", THERMAL_RESISTANCE, "thermal resistance from case to moving water")
        .within(0.001, 100.0)
        .or("0.15 K/W");
    let start_temperature = p
        .value("start_temperature", TEMPERATURE, "temperature at the start")
        .within(-30.0, 150.0)
        .or("20 °C");
    let body = place(p);

    p.part(|| {
        let pairs = pole_pairs.map(f64::from);
        let need_pairs = |key: &str| {
            Invalid::at(key, "means nothing without the number of pole pairs").help("add `pole_pairs`")
        };
        let mut statements = Vec::new();
        if let Some(k_v) = k_v {
            statements.push(("speed_constant", speed_constant(k_v_of).torque_constant(k_v)));
        }
        if let Some(k_t) = k_t {
            statements.push(("torque_constant", CurrentConvention::named(k_t_per).torque_constant(k_t)));
        }
        if let Some(psi) = psi {
            let pairs = pairs.ok_or_else(|| need_pairs("flux_linkage"))?;
            statements.push(("flux_linkage", dc::torque_constant_of_flux(psi, pairs)));
        }
        let contradiction = |error: dc::Contradiction| {
            Invalid::at(error.second, error.to_string())
                .help("leave one of them out, or say which voltage or current it refers to")
        };
        let torque_constant = dc::agreed(&statements, "N·m/A").map_err(contradiction)?.ok_or_else(|| {
            Invalid::part("nothing says how much torque an ampere makes")
                .help("add `speed_constant`, `torque_constant` or `flux_linkage`")
        })?;
        let mut statements = Vec::new();
        statements.extend(r_line.map(|r| ("resistance", r)));
        statements.extend(r_phase.map(|r| ("phase_resistance", dc::line_resistance(r))));
        let resistance = dc::agreed(&statements, "Ω").map_err(contradiction)?.ok_or_else(|| {
            Invalid::part("the winding's resistance is missing")
                .help("add `resistance` or `phase_resistance`")
        })?;
        if viscous + windage > 1.0 {
            return Err(Invalid::at(
                "windage_share",
                "viscous_share and windage_share exceed 100 % together",
            ));
        }
        let pole_inductance = match inductance {
            Some(l) if l > 0.0 => l * pairs.ok_or_else(|| need_pairs("phase_inductance"))?,
            _ => 0.0,
        };
        Ok(Motor {
            torque_constant,
            resistance,
            no_load: NoLoad::from_shares(i_0, omega_0, viscous, windage),
            iron_share,
            pole_inductance,
            magnet_coefficient,
            nodes: TwoNodes { winding_capacity, case_capacity, winding_to_case, case_to_water },
            start_temperature,
            body,
        })
    })
}

fn place(p: &mut Params) -> Mass {
    let mass =
        p.value("mass", MASS, "mass, 0 if another part's mass contains it").within(0.0, 100.0).or("0 kg");
    let forward = p.value("forward", LENGTH, "place forward of the tail").or("0 mm");
    let below = p.value("below", LENGTH, "place below the board's bottom").or("0 mm");
    Mass { mass, forward, below, inertia: 0.0 }
}
