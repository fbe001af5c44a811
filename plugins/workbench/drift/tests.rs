use super::*;

/// 12 N per (rev/s)² falling by 8 % with 5 s, readings at a speed that wanders; `noise` as a share.
fn readings(noise: f64) -> Vec<Moment> {
    let one = |i: i32| {
        let t = 0.5 * f64::from(i);
        let n = 40.0 + (0.7 * t).sin();
        let wobble = 1.0 + noise * (37.0 * t + 0.3).sin();
        (100.0 + t, 0.3 * n * n * (1.0 + 0.08 * f64::exp_m1(-t / 5.0)) * wobble, n)
    };
    (0..60).map(one).collect()
}

#[test]
fn an_exponential_is_found_and_taken_out() {
    let found = drift(&readings(1e-3), Shape::Exponential).unwrap();
    let (tau, u_tau) = found.time_constant.unwrap();
    // within three standard errors
    assert!((tau - 5.0).abs() < 3.0 * u_tau, "{found:?}");
    assert!((found.first.0 - 0.3).abs() < 3.0 * found.first.1);
    let end = 0.08 * f64::exp_m1(-29.5 / 5.0);
    assert!((found.change.0 - end).abs() < 3.0 * found.change.1 && found.change.1 < 2e-3);
    let (pull, u) = found.corrected(400.0 * (1.0 + end), 29.5);
    assert!((pull - 400.0).abs() < 3.0 * u && u < 1.0, "{pull} {u}");
    assert!(found.text().contains("so it is there") && !found.text().contains("NaN"));
}

#[test]
fn a_line_through_a_straight_creep_is_that_line() {
    let straight: Vec<Moment> = (0..20)
        .map(|i| {
            let t = f64::from(i);
            (t, 400.0 * (1.0 - 0.002 * t) + if i % 2 == 0 { 0.1 } else { -0.1 }, 20.0)
        })
        .collect();
    let found = drift(&straight, Shape::Line).unwrap();
    assert!((found.change.0 + 0.002 * 19.0).abs() < 3.0 * found.change.1, "{found:?}");
    // ordinary least squares: u of the slope s/√Σ(t − t̄)², Σ = 665, over 19 s
    let u = found.scatter * 19.0 / 665f64.sqrt();
    assert!((found.change.1 / u - 1.0).abs() < 0.05, "{} {u}", found.change.1);
}

#[test]
fn nothing_to_fit_is_refused_with_its_numbers() {
    for shape in [Shape::Line, Shape::Exponential] {
        assert!(drift(&[], shape).unwrap_err().contains("at least"));
        assert!(drift(&[(0.0, 1.0, 0.0); 9], shape).unwrap_err().contains("a shaft that turns"));
        assert!(drift(&[(0.0, f64::NAN, 1.0); 9], shape).is_err());
        assert!(drift(&[(3.0, 1.0, 1.0); 9], shape).is_err());
        // no creep and no scatter at all
        let flat: Vec<Moment> = (0..9).map(|i| (f64::from(i), 100.0, 10.0)).collect();
        match drift(&flat, shape) {
            Ok(found) => assert!(found.change.0.abs() < 1e-9 && !found.text().contains("NaN")),
            Err(why) => assert!(!why.is_empty() && !why.contains("NaN"), "{why}"),
        }
    }
}
