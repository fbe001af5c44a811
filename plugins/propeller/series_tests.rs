//! The part on the bench: force, torque, power, advice.

use super::b_series::BSeries;
use crate::handbook::bench::{Bench, CG_BELOW_HELD, CG_FORWARD_HELD, State, states};
use crate::nomenclature::*;
use std::f64::consts::TAU;

const PARTS: &str = "  water: {temperature: 15 °C, salinity: 0 ‰, current: 0.3 m/s}\n  propeller: {part: propeller_series, diameter: 160 mm, pitch_ratio: 0.9, area_ratio: 0.5, forward: 0.6 m, below: 0.7 m, inclination: 3 deg, wake_fraction: 8 %, thrust_deduction: 5 %}\n";

/// Depth of the CG [m] at which the level propeller runs 0.5 m deep.
const DEEP: f64 = 0.5 - 0.7 + CG_BELOW_HELD;

#[test]
fn thrust_pushes_along_the_shaft_at_its_place() {
    let state = State { u: 3.3, omega: 40.0 * TAU, cg_depth: DEEP, ..State::default() };
    let mut bench = Bench::new(PARTS, state);
    let (sin, cos) = 3_f64.to_radians().sin_cos();
    let law = BSeries { blades: 3, area_ratio: 0.5, pitch_ratio: 0.9 }.open_water(0.16, 1.0);
    // 3.3 m/s over ground, 0.3 m/s of it the current, 8 % wake, along a shaft 3° up
    let v_a = 0.92 * 3.0 * cos;
    let thrust = law.thrust(bench.get("water.water_density"), 40.0, v_a);
    // the same formulas in another order: round-off
    assert!((bench.get("propeller.thrust") / thrust - 1.0).abs() < 1e-12);
    assert!((bench.sum(&SURGE_FORCE) / (0.95 * thrust * cos) - 1.0).abs() < 1e-12);
    assert!((bench.sum(&HEAVE_FORCE) / (-0.95 * thrust * sin) - 1.0).abs() < 1e-12, "it lifts");
    let (r_x, r_z) = (0.6 - CG_FORWARD_HELD, 0.7 - CG_BELOW_HELD);
    let moment = 0.95 * thrust * (r_z * cos + r_x * sin);
    assert!((bench.sum(&PITCH_MOMENT) / moment - 1.0).abs() < 1e-12);
    let j = v_a / (40.0 * 0.16);
    // the ratio fades below 0.1 rev/s: 0.01/40² of it is missing
    assert!((bench.get("propeller.advance_ratio") / j - 1.0).abs() < 1e-5);
    assert!((bench.get("propeller.efficiency") - law.efficiency(j)).abs() < 1e-5);
}

#[test]
fn the_published_law_is_the_torque() {
    for state in states() {
        let mut bench = Bench::new(PARTS, state);
        assert_eq!(bench.get("held.torque_by_law"), bench.get("propeller.torque"), "{state:?}");
    }
}

#[test]
fn the_shafts_power_is_what_pushes_and_what_is_lost() {
    for state in states() {
        let mut bench = Bench::new(PARTS, state).with("propeller.ventilation", 0.3);
        let shaft = state.omega * bench.get("propeller.torque");
        let (pushed, lost) = (bench.power(state), bench.sum(&ENERGY_SINK));
        // sums of terms up to some kilowatts: round-off only
        let scale = 1.0 + shaft.abs() + pushed.abs();
        assert!((shaft - pushed - lost).abs() < 1e-12 * scale, "{state:?}");
    }
}

#[test]
fn every_quantity_is_finite_everywhere() {
    for state in states() {
        for (name, value) in Bench::new(PARTS, state).all() {
            assert!(value.is_finite(), "{name} = {value} in {state:?}");
        }
    }
}

#[test]
fn air_and_the_surface_take_their_share() {
    let at = |cg_depth: f64, ventilation: f64| {
        let state = State { omega: 250.0, cg_depth, ..State::default() };
        Bench::new(PARTS, state).with("propeller.ventilation", ventilation).get("propeller.thrust")
    };
    let full = at(DEEP, 0.0);
    assert!(full > 100.0);
    assert!((at(DEEP, 0.4) / full - 0.6).abs() < 1e-12);
    assert!((at(DEEP - 0.5, 0.0) / full - 0.5).abs() < 1e-12, "shaft in the surface");
    assert_eq!(at(DEEP - 0.6, 0.0), 0.0, "clear of the water");
}

#[test]
fn factors_multiply_thrust_and_torque_everywhere() {
    let factored = PARTS.replace("diameter", "thrust_factor: 0.9, torque_factor: 1.2, diameter");
    for state in states() {
        let mut plain = Bench::new(PARTS, state);
        let mut scaled = Bench::new(&factored, state);
        for (name, factor) in
            [("propeller.thrust", 0.9), ("propeller.torque", 1.2), ("held.torque_by_law", 1.2)]
        {
            let (found, wanted) = (scaled.get(name), factor * plain.get(name));
            // one product more: round-off of sums of terms of either sign
            let scale = 1.0 + state.omega * state.omega + state.u * state.u;
            assert!((found - wanted).abs() < 1e-12 * scale, "{name} {found} {wanted} {state:?}");
        }
    }
}

#[test]
fn two_blades_are_advised_against() {
    let advice = |blades: u32| {
        let parts = PARTS.replace("area_ratio", &format!("blades: {blades}, area_ratio"));
        Bench::new(&parts, State::default()).advice()
    };
    let warned = |blades| advice(blades).iter().any(|text| text.contains("two blades"));
    assert!(warned(2) && !warned(3));
}

#[test]
fn ranges_that_are_left_are_reported() {
    let warnings = |u: f64, omega: f64| {
        let state = State { u, omega, cg_depth: DEEP, ..State::default() };
        Bench::new(PARTS, state).warnings()
    };
    let nothing: [&str; 0] = [];
    assert_eq!(warnings(3.0, 150.0), nothing);
    // J = 2 windmills; at rest at 60 rev/s Keller asks for 2.2 · 0.87 kN / (104 kPa · 0.0256 m²) = 0.73, more than 0.5
    assert_eq!(warnings(8.0, 150.0), ["propeller.advance_ratio"]);
    assert_eq!(warnings(0.0, 377.0), ["propeller.required_area_ratio"]);
}

#[test]
fn the_blade_reynolds_number_is_that_of_its_chord_and_speed() {
    let state = State { omega: 50.0 * TAU, ..State::default() };
    let mut bench = Bench::new(&PARTS.replace("current: 0.3 m/s", "current: 0 m/s"), state);
    // c = 2.168 · 0.5/3 · 0.16 m = 57.8 mm at 0.7 π 50 · 0.16 = 17.59 m/s in 1.1386e-6 m²/s: 8.93e5
    assert!((bench.get("propeller.reynolds_number") / 8.93e5 - 1.0).abs() < 1e-3);
}
