use crate::handbook::bench::{Bench, State};

const PARTS: &str = "  water: {}\n  propeller: {part: propeller_series, diameter: 150 mm, pitch_ratio: 0.8, area_ratio: 0.55, \
                     forward: 0 mm, below: 400 mm}\n  lever: {propeller_arm: 600 mm, scale_arm: 900 mm, scale_capacity: 50 kg, \
                     hook_capacity: 900 N, pivot_capacity: 2 kN, tub_mass: 250 kg, tub_half_width: 300 mm, pull_height: 800 mm}\n";

fn at(omega: f64) -> Bench {
    Bench::new(PARTS, State { omega, cg_depth: 1.0, ..State::default() })
}

#[test]
fn margins_fall_as_the_pull_rises() {
    let names = ["scale", "hook", "pivot", "tipping"].map(|label| format!("lever.rig_margin.{label}"));
    let mut before = [1.0; 4];
    for omega in [0.0, 60.0, 150.0, 300.0] {
        let mut bench = at(omega);
        for (name, before) in names.iter().zip(&mut before) {
            let now = bench.get(name);
            assert!(now.is_finite() && if omega == 0.0 { now == 1.0 } else { now < *before }, "{name} {now}");
            *before = now;
        }
    }
}

#[test]
fn the_scale_shows_the_lever_ratio() {
    let mut bench = at(200.0);
    let pull = bench.sum(&crate::nomenclature::SURGE_FORCE);
    assert!(pull > 50.0);
    // 0.6/0.9 of it in kgf; round-off
    assert!((bench.get("lever.scale_reading") - pull / 1.5 / 9.80665).abs() < 1e-9);
}
