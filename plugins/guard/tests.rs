//! The part on the bench.

use crate::handbook::bench::{Bench, State, states};
use crate::nomenclature::*;

const WATER: &str = "  water: {current: 0.3 m/s}\n";
const GUARD: &str = "  guard: {forward: 0.6 m, below: 0.7 m, diameter: 200 mm, area: 60 cm², drag_coefficient: 0.9, thrust_factor: 90 %}\n";
const PROPELLER: &str = "  propeller: {part: propeller_series, diameter: 160 mm, pitch_ratio: 0.9, area_ratio: 0.5, forward: 0.6 m, below: 0.7 m}\n";

#[test]
fn its_drag_takes_exactly_the_power_it_reports() {
    for state in states() {
        let mut bench = Bench::new(&format!("{WATER}{GUARD}"), state);
        let (power, sink) = (bench.power(state), bench.sum(&ENERGY_SINK));
        // round-off of a few terms
        assert!((power + sink).abs() < 1e-12 * (1.0 + sink.abs()), "{state:?}");
    }
}

#[test]
fn it_leaves_its_share_of_the_thrust_and_the_books_balanced() {
    let state = State { u: 4.0, omega: 300.0, ..State::default() };
    let mut open = Bench::new(&format!("{WATER}{PROPELLER}"), state);
    let mut guarded = Bench::new(&format!("{WATER}{PROPELLER}{GUARD}"), state);
    let force = guarded.get("propeller.surge_force") / open.get("propeller.surge_force");
    assert!((force - 0.9).abs() < 1e-12);
    assert_eq!(open.get("propeller.torque"), guarded.get("propeller.torque"));
    let shaft = 300.0 * guarded.get("propeller.torque");
    let balance = shaft - guarded.power(state) - guarded.sum(&ENERGY_SINK);
    // kilowatts: round-off only
    assert!(balance.abs() < 1e-9, "{balance} W");
}

#[test]
fn an_unknown_thrust_factor_is_said_aloud() {
    let advice = |guard: &str| Bench::new(&format!("{WATER}{guard}"), State::default()).advice();
    assert!(advice(GUARD).is_empty());
    let advised = advice(&GUARD.replace(", thrust_factor: 90 %", ""));
    assert!(advised.len() == 1 && advised[0].contains("thrust_factor is left out"), "{advised:?}");
}
