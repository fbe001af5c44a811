//! Parameters of the battery.

use engine::part::Part;
use engine::setup::{Invalid, Params};
use engine::units::*;
use std::sync::Arc;

use super::Battery;
use super::cell::{Cell, activation_energy};
use super::nmc_chen2020::OCV;
use super::pack::Pack;
use super::protection::OverCurrent;
use crate::handbook::mass::Mass;

pub(super) fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let series = p.count("cells_in_series", "cells in series").within(1, 200).required();
    let parallel = p.count("strings_in_parallel", "strings in parallel").within(1, 200).required();
    let capacity = p
        .value("cell_capacity", CHARGE, "charge of one cell between state of charge 0 and 1")
        .within(360.0, 1.08e6)
        .source("Chen et al. 2020, 21700 energy cell")
        .or("5.1532 A·h");
    let data_up_to = p
        .value(
            "data_up_to",
            CURRENT,
            "current of one cell up to which its data are known to hold, warned of beyond; left out: 2C",
        )
        .within(0.01, 1000.0)
        .optional();
    let (s, v): (Vec<f64>, Vec<f64>) = OCV.iter().copied().unzip();
    let [s, v] = p
        .table(
            "open_circuit",
            &[("state_of_charge", FRACTION), ("voltage", VOLTAGE)],
            "open-circuit voltage of one cell over its state of charge",
        )
        .rows(2)
        .ascending()
        .source("Chen et al. 2020, NMC811 against graphite–SiOx")
        .or([&s, &v]);
    let resistance = p
        .value(
            "cell_resistance",
            RESISTANCE,
            "R₀ of one cell at half charge and 25 °C; scales the default cell's shape over charge",
        )
        .within(1e-4, 1.0)
        .source("fitted to the pulse test of Chen et al. 2020, see the README")
        .or("26.553 mΩ");
    let mut at = |key, about| p.value(key, RESISTANCE, about).within(1e-4, 1.0).optional();
    let given = [
        at("resistance_at_10", "R₀ of one cell at 10 % charge and below; left out: the default shape"),
        at("resistance_at_30", "R₀ of one cell at 30 % charge; left out: the default shape"),
        at("resistance_at_70", "R₀ of one cell at 70 % charge; left out: the default shape"),
        at("resistance_at_90", "R₀ of one cell at 90 % charge; left out: the default shape"),
        at("resistance_at_100", "R₀ of one cell at full charge; left out: the default shape"),
    ];
    let fast_r =
        p.value("fast_resistance", RESISTANCE, "R₁ of one cell at 25 °C").within(1e-5, 1.0).or("16.302 mΩ");
    let fast_t =
        p.value("fast_time", TIME, "time constant of the fast pair").within(0.1, 1000.0).or("41.13 s");
    let slow_r =
        p.value("slow_resistance", RESISTANCE, "R₂ of one cell at 25 °C").within(1e-5, 1.0).or("8.841 mΩ");
    let slow_t = p.value("slow_time", TIME, "time constant of the slow pair").within(1.0, 1e5).or("357 s");
    let cold = p
        .value("resistance_at_freezing", NUMBER, "all resistances at 0 °C over those at 25 °C")
        .within(1.0, 10.0)
        .source("common practice, no source: 2 to 4")
        .or("2.4");
    let interconnect = p
        .value("interconnect", RESISTANCE, "welds, bars and protection board, whole pack")
        .within(0.0, 1.0)
        .or("5 mΩ");
    let state_of_charge =
        p.value("state_of_charge", FRACTION, "state of charge at the start").within(0.0, 1.0).or("100 %");
    let temperature = p
        .value("temperature", TEMPERATURE, "temperature of the cells at the start")
        .within(-30.0, 80.0)
        .or("20 °C");
    let cell_heat = p
        .value("cell_heat_capacity", HEAT_CAPACITY, "heat capacity of one cell")
        .within(1.0, 1e4)
        .source("O'Regan et al. 2022, doi:10.1016/j.electacta.2022.140700: 60.6 J/K for a 21700 cell")
        .or("60.6 J/K");
    let to_air = p
        .value("to_air", THERMAL_RESISTANCE, "thermal resistance from the cells to the air around the pack")
        .within(0.001, 1000.0)
        .or("1 K/W");
    let trip_current = p
        .value("trip_current", CURRENT, "current above which the protection counts; none if left out")
        .within(0.1, 5000.0)
        .optional();
    let trip_time = p
        .value("trip_time", TIME, "time above the trip current until the pack opens")
        .within(0.01, 600.0)
        .or("5 s");
    let trip_reset = p
        .value("trip_reset", TIME, "time constant with which the protection forgets")
        .within(0.01, 600.0)
        .or("2 s");
    let mass = p
        .value("mass", MASS, "mass of the pack, 0 if another part's mass contains it")
        .within(0.0, 200.0)
        .or("0 kg");
    let forward = p.value("forward", LENGTH, "place forward of the tail").or("0 mm");
    let below = p.value("below", LENGTH, "place below the board's bottom, negative above").or("0 mm");

    p.part(|| {
        let ocv: Vec<(f64, f64)> = s.into_iter().zip(v).collect();
        let fault = |error: engine::table::TableError| Invalid::at("open_circuit", error.to_string());
        if ocv.iter().any(|&(_, v)| v <= 0.0) {
            return Err(Invalid::at("open_circuit", "holds a voltage that is not above zero"));
        }
        let cell = Cell::shaped(&ocv, resistance, given, capacity)
            .map_err(fault)?
            .with_pairs((fast_r, fast_t / fast_r), (slow_r, slow_t / slow_r))
            .with_activation(activation_energy(cold));
        let pack = Pack { series: series.into(), parallel: parallel.into(), interconnect };
        Ok(Battery {
            cell: Arc::new(cell),
            pack,
            state_of_charge,
            temperature,
            // the default cell was held against a computed 2C discharge, see the README
            data_up_to: data_up_to.unwrap_or(2.0 * capacity / 3600.0),
            heat_capacity: pack.total(cell_heat),
            to_air,
            trip: trip_current.map(|threshold| OverCurrent { threshold, time: trip_time, reset: trip_reset }),
            body: Mass { mass, forward, below, inertia: 0.0 },
        })
    })
}

#[cfg(test)]
mod tests {
    use super::super::nmc_chen2020::{CAPACITY, FAST, R0, SLOW};
    use super::*;

    #[test]
    fn defaults_restate_the_default_cell() {
        let si = |text, dimension| parse(text, dimension).unwrap();
        assert_eq!(si("5.1532 A·h", CHARGE), CAPACITY);
        assert_eq!(si("26.553 mΩ", RESISTANCE), R0[2].1);
        assert_eq!((si("16.302 mΩ", RESISTANCE), si("8.841 mΩ", RESISTANCE)), (FAST.0, SLOW.0));
        // time constants rounded to four and three digits
        assert!((FAST.0 * FAST.1 - 41.13).abs() < 0.005 && (SLOW.0 * SLOW.1 - 357.0).abs() < 0.5);
    }
}
