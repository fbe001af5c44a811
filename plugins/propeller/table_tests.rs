//! The part on the bench, and tables that are refused.

use crate::PARTS as KINDS;
use crate::handbook::bench::{Bench, State};
use crate::propeller::b_series::BSeries;
use engine::setup::Setup;
use std::path::Path;

fn parts(j: &[f64], k_t: &[f64], k_q: &[f64]) -> String {
    format!(
        "  water: {{}}\n  propeller: {{part: propeller_table, diameter: 160 mm, forward: 0.6 m, below: 0.7 m, \
         area_ratio: 0.5, pitch_ratio: 0.9, open_water: {{J: {j:?}, KT: {k_t:?}, KQ: {k_q:?}}}}}\n"
    )
}

#[test]
fn a_table_of_the_series_is_as_good_as_the_series() {
    let law = BSeries { blades: 3, area_ratio: 0.5, pitch_ratio: 0.9 }.open_water(0.16, 1.0);
    let j: Vec<f64> = (0..=20).map(|i| law.zero_thrust_advance_ratio() * f64::from(i) / 20.0).collect();
    let k = |f: &dyn Fn(f64) -> f64| j.iter().map(|&j| f(j)).collect::<Vec<_>>();
    let text = parts(&j, &k(&|j| law.k_t(j)), &k(&|j| law.k_q(j)));
    let bollard = law.thrust(999.1026, 40.0, 0.0);
    for u in [-1.0, 0.0, 2.1, 4.2, 6.0, 8.0] {
        let state = State { u, omega: 40.0 * std::f64::consts::TAU, cg_depth: 0.0, ..State::default() };
        let thrust = Bench::new(&text, state).get("propeller.thrust");
        // 21 points: slopes at the knots miss by about 1e-3 of themselves
        assert!((thrust - law.thrust(999.1026, 40.0, u)).abs() < 1e-3 * bollard, "{u} m/s: {thrust}");
    }
}

#[test]
fn a_torque_column_of_ten_k_q_or_of_nonsense_is_named() {
    let error = |k_q: &[f64]| {
        let text = format!("setup: 1\nparts:\n{}", parts(&[0.0, 0.5, 1.0], &[0.4, 0.2, 0.0], k_q));
        let setup = Setup::from_text("a.yaml", &text, Path::new(".")).unwrap();
        setup.read_parts(KINDS).map(|_| ()).unwrap_err().to_string()
    };
    assert!(error(&[0.05, -0.01, 0.01]).contains("thrust without torque"));
    assert!(error(&[0.01, 0.02, 0.09]).contains("torque fall"));
}

#[test]
fn a_slip_of_ten_in_the_torque_draws_advice() {
    let advice = |factor: f64| {
        let k_q = [0.055, 0.035, 0.01].map(|k| k * factor);
        Bench::new(&parts(&[0.0, 0.5, 0.95], &[0.4, 0.22, 0.0], &k_q), State::default()).advice()
    };
    assert!(advice(1.0).is_empty());
    assert!(advice(10.0)[0].contains("10 K_Q") && advice(0.1)[0].contains("10 K_Q"));
}

#[test]
fn the_example_of_the_readme_thrusts() {
    let readme = include_str!("README.md");
    let example: String = readme
        .lines()
        .skip_while(|line| !line.starts_with("    propeller:"))
        .take_while(|line| line.starts_with("    "))
        .map(|line| format!("{}\n", &line[2..]))
        .collect();
    let state = State { omega: 250.0, ..State::default() };
    let thrust = Bench::new(&format!("  water: {{}}\n{example}"), state).get("propeller.thrust");
    // K_T(0) ρ n² D⁴
    let n = 250.0 / std::f64::consts::TAU;
    assert!((thrust / (0.40 * 999.1026 * n * n * 0.16_f64.powi(4)) - 1.0).abs() < 1e-12);
}
