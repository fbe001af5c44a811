//! Parameters of the controller.

use engine::part::Part;
use engine::setup::{Invalid, Params};
use engine::units::*;

use super::limits::{FoldBack, Losses};
use super::{Controller, Throttle};
use crate::handbook::mass::Mass;
use crate::handbook::motor_current::CurrentConvention;

/// Shaft speed that stands for "no limit" [rad/s]; ten million rpm.
const NO_SPEED_LIMIT: f64 = 1e6;

pub(super) fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let throttle =
        p.value("throttle", FRACTION, "throttle until a scenario changes it").within(0.0, 1.0).or("0 %");
    let sets = p
        .choice(
            "throttle_sets",
            &["duty", "current"],
            "what the throttle is a fraction of: greatest duty or motor current",
        )
        .or("duty");
    let duty = p
        .value("duty_max", FRACTION, "greatest duty; 100 % is the end of the linear space-vector range")
        .within(0.05, 1.15)
        .usual(0.85, 1.05)
        .or("95 %");
    let motor_current =
        p.value("motor_current", CURRENT, "greatest motor current").within(0.1, 2000.0).required();
    let convention = p
        .choice("motor_current_is", CurrentConvention::WORDS, "what the motor current is an ampere of")
        .or("dc-equivalent");
    let battery_current =
        p.value("battery_current", CURRENT, "greatest battery current").within(0.1, 2000.0).required();
    let voltage_min = p
        .value(
            "voltage_min",
            VOLTAGE,
            "voltage at the controller below which it holds back; none if left out",
        )
        .within(0.0, 1000.0)
        .optional();
    let speed = p
        .value("speed_max", ROTATION, "greatest shaft speed; none if left out")
        .within(1.0, NO_SPEED_LIMIT)
        .optional();

    let idle = p.value("idle_power", POWER, "power at rest P₀").within(0.0, 100.0).usual(1.0, 10.0).or("5 W");
    let resistance = p
        .value(
            "resistance",
            RESISTANCE,
            "conduction loss per squared motor current, 2 R_ds of the hot switches",
        )
        .within(0.0, 0.1)
        .or("3 mΩ");
    let switching = p
        .value("switching", NUMBER, "switching loss per volt and ampere, ½ (t_r + t_f) f")
        .within(0.0, 0.1)
        .or("0.001");

    let own_start = p
        .value(
            "fold_back_from",
            TEMPERATURE,
            "own temperature at which the motor current limit begins to fall",
        )
        .or("85 °C");
    let own_end =
        p.value("fold_back_to", TEMPERATURE, "own temperature at which nothing is left").or("100 °C");
    let motor_start = p
        .value(
            "motor_fold_back_from",
            TEMPERATURE,
            "winding temperature at which the motor current limit begins to fall",
        )
        .or("100 °C");
    let motor_end = p
        .value("motor_fold_back_to", TEMPERATURE, "winding temperature at which nothing is left")
        .or("120 °C");
    let heat_capacity = p
        .value("heat_capacity", HEAT_CAPACITY, "heat capacity of switches and heat sink")
        .within(0.1, 1e5)
        .or("300 J/K");
    let to_surroundings = p
        .value(
            "to_surroundings",
            THERMAL_RESISTANCE,
            "thermal resistance from switches to air or water, box included",
        )
        .within(0.001, 100.0)
        .or("1.5 K/W");
    let cooled_by = p.choice("cooled_by", &["air", "water"], "what takes the heat of the box").or("air");
    let start_temperature = p
        .value("start_temperature", TEMPERATURE, "temperature at the start")
        .within(-30.0, 150.0)
        .or("20 °C");

    let mass =
        p.value("mass", MASS, "mass, 0 if another part's mass contains it").within(0.0, 100.0).or("0 kg");
    let forward = p.value("forward", LENGTH, "place forward of the tail").or("0 mm");
    let below = p.value("below", LENGTH, "place below the board's bottom, negative above").or("0 mm");

    p.part(|| {
        let fold_back = |key: &str, start: f64, end: f64| match end > start {
            true => Ok(FoldBack { start, end }),
            false => Err(Invalid::at(key, format!("{end} °C does not lie above the start at {start} °C"))),
        };
        Ok(Controller {
            throttle,
            throttle_sets: if sets == "current" { Throttle::Current } else { Throttle::Duty },
            duty,
            motor_current: CurrentConvention::named(convention).to_dc(motor_current),
            battery_current,
            voltage_min: voltage_min.unwrap_or(0.0),
            speed: speed.unwrap_or(NO_SPEED_LIMIT),
            losses: Losses { idle, resistance, switching },
            own_heat: fold_back("fold_back_to", own_start, own_end)?,
            motor_heat: fold_back("motor_fold_back_to", motor_start, motor_end)?,
            heat_capacity,
            to_surroundings,
            cooled_by_water: cooled_by == "water",
            start_temperature,
            body: Mass { mass, forward, below, inertia: 0.0 },
        })
    })
}
