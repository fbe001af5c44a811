use super::*;

#[test]
fn curve_passes_through_its_points_and_does_not_overshoot() {
    let x = [0.0, 1.0, 2.0, 4.0];
    let y = [0.0, 0.0, 1.0, 1.0];
    let curve = Curve::new(&x, &y).unwrap();
    for (x, y) in x.iter().zip(y) {
        assert!((curve.at(*x) - y).abs() < 1e-15);
    }
    assert!((0..400).all(|i| (-1e-15..=1.0 + 1e-15).contains(&curve.at(i as f64 * 0.01))));
    assert_eq!(curve.held(9.0), 1.0);
}

#[test]
fn a_straight_line_stays_straight() {
    let curve = Curve::new(&[0.0, 1.0, 3.0], &[1.0, 3.0, 7.0]).unwrap();
    assert!((curve.at(2.2) - 5.4).abs() < 1e-14);
    assert!((curve.at(10.0) - 21.0).abs() < 1e-13);
}

#[test]
fn surface_reproduces_a_plane_and_its_knots() {
    let (x, y) = ([0.0, 1.0, 3.0], [0.0, 2.0, 3.0, 4.0]);
    let plane = |x: f64, y: f64| 1.0 + 2.0 * x - 0.5 * y;
    let z: Vec<Vec<f64>> = x.iter().map(|&x| y.iter().map(|&y| plane(x, y)).collect()).collect();
    let surface = Surface::new(&x, &y, &z).unwrap();
    for (a, b) in [(0.3, 0.4), (1.0, 2.0), (2.9, 3.9), (3.0, 4.0)] {
        assert!((surface.at(a, b) - plane(a, b)).abs() < 1e-14);
    }
}

#[test]
fn nan_goes_in_and_comes_out() {
    let curve = Curve::new(&[0.0, 1.0, 3.0], &[1.0, 3.0, 9.0]).unwrap();
    assert!(curve.at(f64::NAN).is_nan() && curve.held(f64::NAN).is_nan());
    assert!(curve.value_and_slope(f64::NAN).1.is_nan());
    let surface = Surface::new(&[0.0, 1.0], &[0.0, 1.0], &[vec![0.0, 1.0], vec![1.0, 3.0]]).unwrap();
    assert!(surface.at(f64::NAN, 0.5).is_nan() && surface.at(0.5, f64::NAN).is_nan());
}

#[test]
fn bad_tables_are_named() {
    assert_eq!(
        Curve::new(&[0.0, 0.0], &[1.0, 2.0]).unwrap_err(),
        TableError::Unsorted { row: 2, value: 0.0, before: 0.0 }
    );
    assert!(matches!(
        Curve::new(&[0.0, 1.0], &[1.0, f64::NAN]).unwrap_err(),
        TableError::NotFinite { row: 2, .. }
    ));
}
