//! Bounds and walls.

use super::*;

#[test]
fn bounds_that_do_not_bind_change_nothing() {
    let y: Vec<f64> = line(&[1.0, 0.5]).unwrap().iter().zip(noise(10, 4)).map(|(y, e)| y + 0.1 * e).collect();
    let open = [Unknown::new("a", 2.0), Unknown::new("b", 2.0)];
    let free = fit(&open, &observed(&y, 0.1), &mut line, &Options::default()).unwrap();
    for bounds in [(0.0, 10.0), (0.0, f64::INFINITY), (f64::NEG_INFINITY, 4.0), (0.0, 1e9)] {
        let closed = open.clone().map(|u| u.between(bounds.0, bounds.1));
        let found = fit(&closed, &observed(&y, 0.1), &mut line, &Options::default()).unwrap();
        for j in 0..2 {
            // the sum of squares is flat: half its digits are those of the place
            near(found.values[j], free.values[j], 1e-6);
            near(found.errors[j], free.errors[j], 1e-6);
        }
        assert!(found.at_bound.is_empty(), "{bounds:?}");
    }
}

#[test]
fn a_parameter_that_would_go_on_ends_exactly_on_its_bound() {
    // best at a = 1, b = 0.5; with b no more than 0.4 the best a is the mean of y − 0.4 x
    let y = line(&[1.0, 0.5]).unwrap();
    for (low, high) in [(0.0, 0.4), (-1e6, 0.4), (f64::NEG_INFINITY, 0.4)] {
        let unknowns = [Unknown::new("a", 0.0), Unknown::new("b", 0.1).between(low, high)];
        let found = fit(&unknowns, &observed(&y, 0.1), &mut line, &Options::default()).unwrap();
        assert_eq!(found.values[1], 0.4);
        near(found.values[0], 1.0 + 0.1 * 4.5, 1e-8);
        assert_eq!(found.at_bound, [("b".to_owned(), 0.4)]);
        // as if there were no bound: sd/√Σ(x − x̄)²
        near(found.errors[1], 0.1 / 82.5f64.sqrt(), 1e-8);
    }
}

#[test]
fn a_start_on_a_bound_gets_off_it() {
    let y = line(&[1.0, 0.5]).unwrap();
    let unknowns = [Unknown::new("a", 0.0).between(0.0, 3.0), Unknown::new("b", 2.0).between(0.1, 2.0)];
    let found = fit(&unknowns, &observed(&y, 0.1), &mut line, &Options::default()).unwrap();
    near(found.values[0], 1.0, 1e-6);
    near(found.values[1], 0.5, 1e-6);
}

#[test]
fn both_end_on_their_bounds_where_the_corner_is_best() {
    let y = line(&[1.0, 0.5]).unwrap();
    // both held back: the corner is the best
    let unknowns = [Unknown::new("a", 0.1).between(0.0, 0.5), Unknown::new("b", 0.1).between(0.0, 0.3)];
    let found = fit(&unknowns, &observed(&y, 0.1), &mut line, &Options::default()).unwrap();
    assert_eq!(found.values, [0.5, 0.3]);
    assert_eq!(found.at_bound.len(), 2);
}

#[test]
fn a_prediction_that_fails_beyond_a_line_shortens_the_step() {
    // from where the decay is over the slopes are small and the first step leads below 0, where nothing is predicted
    let y: Vec<f64> = (0..8).map(|i| (-2.0 * f64::from(i) / 8.0).exp()).collect();
    let mut failed = 0;
    let mut predict = |p: &[f64]| {
        if p[0] < 0.0 {
            failed += 1;
            return Err(format!("rate {}", p[0]));
        }
        Ok((0..8).map(|i| (-p[0] * f64::from(i) / 8.0).exp()).collect())
    };
    let found =
        fit(&[Unknown::new("rate", 25.0)], &observed(&y, 0.01), &mut predict, &Options::default()).unwrap();
    near(found.values[0], 2.0, 1e-8);
    assert!(failed > 0, "the wall was never met");
    // NaN is as good a wall: the logarithm of a negative number
    let mut nan = |p: &[f64]| {
        let wall = p[0].ln() * 0.0;
        Ok((0..8).map(|i| (-p[0] * f64::from(i) / 8.0).exp() + wall).collect())
    };
    let found =
        fit(&[Unknown::new("rate", 25.0)], &observed(&y, 0.01), &mut nan, &Options::default()).unwrap();
    near(found.values[0], 2.0, 1e-8);
}

#[test]
fn slopes_are_found_beside_a_wall() {
    // the best is at 1, and beyond 1 nothing is predicted
    let mut predict = |p: &[f64]| match p[0] > 1.0 {
        true => Err("wall".into()),
        false => Ok(vec![p[0] * p[0], 2.0 * p[0]]),
    };
    let found =
        fit(&[Unknown::new("a", 0.5)], &observed(&[1.0, 2.0], 0.1), &mut predict, &Options::default())
            .unwrap();
    // approached from below only
    near(found.values[0], 1.0, 1e-6);
    // slopes 2a and 2: 0.1/√8
    near(found.errors[0], 0.1 / 8f64.sqrt(), 1e-6);
}
