//! Closed forms, limits, and what is refused.

use super::*;

#[track_caller]
fn near(found: f64, expected: f64, relative: f64) {
    assert!((found - expected).abs() <= relative * expected.abs(), "found {found}, expected {expected}");
}

fn exact(name: &str, value: f64, u: f64) -> Input {
    Input::standard(name, value, u, f64::INFINITY).unwrap()
}

#[test]
fn repeated_readings_give_mean_scatter_and_freedom() {
    // 1, 2, 3, 4: mean 2.5, s² = 5/3
    let input = Input::repeated("x", &[1.0, 2.0, 3.0, 4.0]).unwrap();
    near(input.value, 2.5, 1e-15);
    near(input.u, (5.0f64 / 12.0).sqrt(), 1e-15);
    assert_eq!(input.freedom, 3.0);
    // the scatter survives a large mean: 1e9 is known to 1e-7
    let far = Input::repeated("x", &[1e9 + 1.0, 1e9 + 2.0, 1e9 + 3.0, 1e9 + 4.0]).unwrap();
    near(far.u, input.u, 1e-14);
}

#[test]
fn slopes_are_those_of_the_formula() {
    let inputs = [exact("a", 3.0, 0.3), exact("b", 2.0, 0.1), exact("c", 5.0, 0.0)];
    let found = budget(&inputs, &[], &mut |x| x[0].powi(3) * x[1].ln() + x[2]).unwrap();
    // fourth-order remainder: (0.1 u)⁴ of the fifth derivative, zero for a³; of ln b (0.005)⁴ · 24/5!/2⁵ or so
    near(found.rows[0].sensitivity, 27.0 * 2f64.ln(), 1e-11);
    near(found.rows[1].sensitivity, 27.0 / 2.0, 1e-9);
    assert_eq!(found.rows[2].contribution, 0.0);
    near(found.rows.iter().map(|r| r.share).sum(), 1.0, 1e-14);
    assert_eq!(found.freedom, f64::INFINITY);
}

#[test]
fn full_correlation_adds_or_cancels() {
    let inputs = [exact("a", 1.0, 0.2), exact("b", 1.0, 0.2)];
    let of = |r: f64| budget(&inputs, &[("a", "b", r)], &mut |x| x[0] + x[1]).unwrap().u;
    near(of(1.0), 0.4, 1e-12);
    near(of(0.0), 0.08f64.sqrt(), 1e-12);
    assert!(of(-1.0) < 1e-8, "{}", of(-1.0));
}

#[test]
fn equal_inputs_share_freedom_as_pooling_would() {
    // two independent means with the same u and 4 degrees each: u_c⁴ = 4u⁴, so 8
    let one = |name: &str| Input::standard(name, 1.0, 0.1, 4.0).unwrap();
    let found = budget(&[one("a"), one("b")], &[], &mut |x| x[0] - x[1]).unwrap();
    near(found.freedom, 8.0, 1e-9);
    // correlated: no more than the least of them
    let found = budget(&[one("a"), one("b")], &[("a", "b", 0.3)], &mut |x| x[0] - x[1]).unwrap();
    assert_eq!(found.freedom, 4.0);
}

#[test]
fn an_exact_result_has_no_uncertainty_and_no_nan() {
    let found = budget(&[exact("a", 2.0, 0.0)], &[], &mut |x| x[0] * x[0]).unwrap();
    assert_eq!((found.value, found.u, found.freedom, found.rows[0].share), (4.0, 0.0, f64::INFINITY, 0.0));
    assert_eq!(found.expanded(0.95).unwrap(), 0.0);
}

#[test]
fn the_normal_distribution_joins_students() {
    // at the join t exceeds z by (z³ + z)/4ν (Abramowitz and Stegun 26.7.5): 2.4e-6 at 95 %
    let (below, above) = (coverage_factor(0.95, 1e6).unwrap(), coverage_factor(0.95, f64::INFINITY).unwrap());
    assert!((below / above - 1.0).abs() < 2.5e-6, "{below} {above}");
}

#[test]
fn a_drift_in_both_orders_is_taken_out_exactly() {
    // B = 10, A = 10.5, all readings creep by 0.2 per minute; the second of a pair comes 3 minutes later
    let lag = [-3.0f64, 3.0, -3.0, 3.0, 3.0];
    let a: Vec<f64> = (0..5).map(|i| 10.5 + 0.2 * (10.0 * i as f64 + lag[i].max(0.0))).collect();
    let b: Vec<f64> = (0..5).map(|i| 10.0 + 0.2 * (10.0 * i as f64 - lag[i].min(0.0))).collect();
    let found = paired(&a, &b, Some(&lag), 0.95).unwrap();
    // a dozen roundings of numbers near 20
    assert!((found.difference - 0.5).abs() < 1e-13, "{found:?}");
    assert!((found.drift.unwrap().0 - 0.2).abs() < 1e-13 && found.settled());
    let plain = paired(&a, &b, None, 0.95).unwrap();
    assert!((plain.difference - 0.62).abs() < 1e-13 && !plain.settled(), "{plain:?}");
    assert!(matches!(
        paired(&a, &b, Some(&[3.0; 5]), 0.95),
        Err(UncertaintyError::NoContrast { value: 3.0 })
    ));
}

#[test]
fn repeats_are_the_fewest_that_do() {
    for (ratio, confidence) in [(0.4, 0.95), (2.0, 0.9), (7.0, 0.99), (30.0, 0.95)] {
        let n = repeats_for_half_width(1.0, ratio, confidence).unwrap();
        let half = |n: u64| coverage_factor(confidence, (n - 1) as f64).unwrap() * ratio / (n as f64).sqrt();
        assert!(half(n) <= 1.0 && (n == 2 || half(n - 1) > 1.0), "{ratio}: {n}");
    }
    assert!(matches!(repeats_for_half_width(1e-9, 1.0, 0.95), Err(UncertaintyError::Endless { .. })));
}

#[test]
fn nonsense_is_refused_with_its_numbers() {
    use UncertaintyError as E;
    assert!(matches!(Input::repeated("x", &[1.0]), Err(E::TooFew { found: 1, needed: 2, .. })));
    assert!(matches!(Input::repeated("x", &[1.0, f64::NAN]), Err(E::Number { .. })));
    assert!(matches!(Input::rectangular("x", 1.0, -0.1), Err(E::Number { value: -0.1, .. })));
    assert!(matches!(Input::standard("x", 1.0, f64::INFINITY, 3.0), Err(E::Number { .. })));
    assert!(matches!(Input::standard("x", 1.0, 0.1, f64::NAN), Err(E::Number { .. })));
    let ab = [exact("a", 1.0, 0.1), exact("b", 0.0, 0.1), exact("c", 0.0, 0.1)];
    let mut sum = |x: &[f64]| x.iter().sum();
    assert!(matches!(budget(&[], &[], &mut sum), Err(E::TooFew { .. })));
    assert!(matches!(budget(&ab, &[("a", "d", 0.1)], &mut sum), Err(E::NoInput { .. })));
    assert!(matches!(budget(&ab, &[("a", "b", 1.1)], &mut sum), Err(E::Number { value: 1.1, .. })));
    assert!(matches!(budget(&ab, &[("a", "a", 0.1)], &mut sum), Err(E::Number { .. })));
    let contradictory = [("a", "b", 0.9), ("b", "c", 0.9), ("a", "c", -0.9)];
    assert!(matches!(budget(&ab, &contradictory, &mut sum), Err(E::Correlations { .. })));
    assert!(matches!(budget(&ab, &[], &mut |x| x[1].sqrt()), Err(E::Formula { .. })));
    assert!(matches!(paired(&[1.0, 2.0], &[1.0], None, 0.95), Err(E::Lengths { found: 1, expected: 2, .. })));
    assert!(paired(&[1.0, 2.0], &[1.0, 2.0], Some(&[1.0, 2.0]), 0.95).is_err());
    assert!(paired(&[1.0, 2.0], &[1.0, 1.0], None, 1.0).is_err());
    assert!(repeats_for_power(0.0, 1.0, 0.95, 0.8).is_err());
    assert!(repeats_for_power(1.0, 1.0, 0.95, 0.3).is_err());
    assert!(repeats_for_power(1.0, f64::NAN, 0.95, 0.8).is_err());
    assert!(coverage_factor(0.95, f64::NAN).is_err());
}
