//! Limits and invariants of the open-water law.

use super::*;
use engine::real::Dual;
use engine::table::TableError;

const BLADES: Blades =
    Blades { area_ratio: 0.55, pitch_ratio: 1.0, stopped_drag_coefficient: STOPPED_DRAG_COEFFICIENT };

/// Round numbers near a four-bladed propeller of P/D = 1.
fn law() -> OpenWater {
    let (k_t, k_q) = ([0.42, -0.3, -0.12, 0.03], [0.061, -0.031, -0.022, 0.004]);
    OpenWater::from_cubics(0.16, k_t, k_q, 1.0, BLADES)
}

/// Shaft speeds and inflows of every regime and on every border.
fn states() -> Vec<(f64, f64)> {
    let mut states = Vec::new();
    for i in -20..=60 {
        for k in -20..=40 {
            states.push((f64::from(i), 0.4 * f64::from(k)));
        }
    }
    states
}

#[test]
fn bollard_thrust_is_the_definition_of_k_t() {
    // T = K_T ρ n² D⁴ = 0.42 · 1000 · 2500 · 0.16⁴
    assert!((law().thrust(1000.0, 50.0, 0.0) - 688.128).abs() < 1e-9);
    assert!((law().torque(1000.0, 50.0, 0.0) - 0.061 * 2.5e6 * 0.16_f64.powi(5)).abs() < 1e-9);
}

#[test]
fn everything_is_finite_and_at_rest_zero() {
    let law = law();
    for (n, v) in states() {
        assert!(law.thrust(1000.0, n, v).is_finite() && law.torque(1000.0, n, v).is_finite());
    }
    assert_eq!(law.thrust(1000.0, 0.0, 0.0), 0.0);
    assert_eq!(law.torque(1000.0, 0.0, 0.0), 0.0);
}

#[test]
fn a_stopped_propeller_drags_and_is_turned_by_the_water() {
    let law = law();
    // c v² ρ D⁴ with c = 0.55 π/8 is ½ ρ C_D A_E V²
    let drag = 0.5 * 1000.0 * 0.55 * PI / 4.0 * 0.16 * 0.16 * 9.0;
    assert!((law.thrust(1000.0, 0.0, 3.0) + drag).abs() < 1e-9);
    assert!((law.thrust(1000.0, 0.0, -3.0) - drag).abs() < 1e-9);
    assert!(law.torque(1000.0, 0.0, 3.0) < 0.0);
}

#[test]
fn the_surface_is_continuous_and_smooth_while_turning_ahead() {
    let law = law();
    let smooth = |f: &dyn Fn(f64) -> f64, x: f64, scale: f64| {
        // Left and right quotients differ by (second derivative) · h; a corner would differ by more.
        let h = 1e-6;
        let (left, right) = ((f(x) - f(x - h)) / h, (f(x + h) - f(x)) / h);
        assert!((left - right).abs() < 1e-3 * scale, "{left} {right} at {x}");
    };
    for n in [0.5, 5.0, 40.0] {
        // borders: V_A = 0 and J = J_c
        for v in [0.0, 0.16 * n] {
            smooth(&|v| law.thrust(1000.0, n, v), v, 1.0);
            smooth(&|v| law.torque(1000.0, n, v), v, 1.0);
        }
        smooth(&|m| law.thrust(1000.0, m, 0.16 * n), n, 1.0);
        smooth(&|m| law.torque(1000.0, m, 0.16 * n), n, 1.0);
    }
    for v in [-3.0, 0.0, 3.0] {
        // through the stopped shaft: continuous (with a corner), so the step is of the order of h
        let step = law.thrust(1000.0, 1e-9, v) - law.thrust(1000.0, -1e-9, v);
        assert!(step.abs() < 1e-6);
    }
}

#[test]
fn dual_numbers_give_the_slope_of_the_difference_quotient() {
    let law = law();
    for (n, v) in states() {
        // off the borders, where a central quotient straddles two forms
        let (n, v) = (n + 0.37, v + 0.0123);
        let exact = law.thrust(1000.0, Dual::variable(n), Dual::constant(v));
        let h = 1e-4;
        let up = law.thrust(1000.0, n + h, v);
        let quotient = (up - law.thrust(1000.0, n - h, v)) / (2.0 * h);
        assert_eq!(exact.value, law.thrust(1000.0, n, v));
        // round-off of 1e-16 · 1e3 N / 1e-4 and truncation of h²; slopes reach 30 N per rev/s
        assert!((exact.slope - quotient).abs() < 1e-5, "n {n}, V_A {v}");
    }
}

#[test]
fn a_table_of_a_cubic_comes_back_and_its_ends_are_extended() {
    let law = law();
    let j: Vec<f64> = (0..=50).map(|i| 0.02 * f64::from(i)).collect();
    let k_t: Vec<f64> = j.iter().map(|&j| law.k_t(j)).collect();
    let k_q: Vec<f64> = j.iter().map(|&j| law.k_q(j)).collect();
    let table = OpenWater::from_table(0.16, &j, &k_t, &k_q, BLADES).unwrap();
    for (n, v) in states() {
        let (a, b) = (table.thrust(1000.0, n, v), law.thrust(1000.0, n, v));
        // slopes estimated from points 0.02 apart miss by the order of 0.02² K‴ and, through the
        // harmonic mean, (0.02 K″)²/K′: 7e-5 and 8e-5, a twelfth of it in the value at worst
        let scale = 1000.0 * 0.16_f64.powi(4) * (n * n + v * v / 0.0256);
        assert!((a - b).abs() <= 1.5e-5 * scale, "n {n}, V_A {v}: {a} against {b}");
    }
    assert!((table.zero_thrust_advance_ratio() - law.zero_thrust_advance_ratio()).abs() < 1e-4);
}

#[test]
fn impossible_tables_are_refused_with_their_reason() {
    let table =
        |j: &[f64], k_t: &[f64], k_q: &[f64]| OpenWater::from_table(0.16, j, k_t, k_q, BLADES).map(|_| ());
    let (j, k_t) = ([0.0, 0.5, 1.0], [0.4, 0.2, 0.0]);
    assert_eq!(table(&j, &k_t, &[0.06, 0.04, 0.01]), Ok(()));
    assert!(matches!(table(&j, &k_t, &[0.06, -0.04, 0.01]), Err(OpenWaterError::FreeThrust { .. })));
    assert!(matches!(table(&j, &k_t, &[0.01, 0.02, 0.09]), Err(OpenWaterError::TorqueFalls { .. })));
    assert!(matches!(
        table(&[-0.1, 0.5, 1.0], &k_t, &[0.06, 0.04, 0.01]),
        Err(OpenWaterError::NegativeAdvanceRatio(_))
    ));
    assert!(matches!(
        table(&j, &[-0.4, 0.2, 0.0], &[0.06, 0.04, 0.01]),
        Err(OpenWaterError::NoThrustAtRest { .. })
    ));
    assert!(matches!(
        table(&[0.0, 0.5], &k_t, &[0.06, 0.04]),
        Err(OpenWaterError::Table(TableError::Uneven { .. }))
    ));
}
