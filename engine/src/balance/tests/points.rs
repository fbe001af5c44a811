//! Single balances, several, and none.

use super::*;

/// What Newton's method leaves in x where the slope is of the order of one: the goal for the residual.
const ROUND_OFF: f64 = 1e-11;

#[test]
fn a_saddle_node_has_two_equilibria_one_or_none() {
    let tiny = tiny(Line(|x, r| r + x * x));
    let balance = tiny.balance(-0.25);
    let found = balance.solve_all([-1.0, 1.0, 0.9, -0.1].map(|x| vec![x]));
    let mut roots: Vec<f64> = found.points.iter().map(|p| p.value(tiny.x)).collect();
    roots.sort_by(f64::total_cmp);
    assert_eq!((roots.len(), found.misses.len()), (2, 0), "{roots:?}");
    assert!((roots[0] + 0.5).abs() < ROUND_OFF && (roots[1] - 0.5).abs() < ROUND_OFF, "{roots:?}");

    // none: x = 0 comes nearest, where the rate is r
    let none = tiny.balance(0.3).solve_all([-1.0, 1.0].map(|x| vec![x]));
    assert_eq!((none.points.len(), none.misses.len()), (0, 2));
    let Some(NoBalance::NotConverged { left, at, least: true }) = none.nearest() else {
        panic!("{:?}", none.nearest());
    };
    assert_eq!((left[0].name.as_str(), left[0].unit.as_str()), ("d(a.x)/dt", "m/s"));
    // the search ends where the cosine of residual and slope is 1e-10 or steps are round-off of
    // the squares, which are flat there: 1e-4 in x makes 1e-8 in the rate
    assert!((left[0].value - 0.3).abs() < 1e-7 && at[0].1.abs() < 3e-4, "{left:?} {at:?}");
    let told = none.nearest().map(ToString::to_string).unwrap_or_default();
    assert!(told.contains("d(a.x)/dt = 3.0000"), "{told}");
}

#[test]
fn a_cubic_has_three_equilibria_of_which_the_middle_one_is_unstable() {
    let tiny = tiny(Line(|x, r| r + x - x * x * x));
    let balance = tiny.balance(0.0);
    let starts = (-20..=20).map(|k| vec![0.1 * f64::from(k)]);
    let found = balance.solve_all(starts);
    let mut roots: Vec<(f64, f64)> = found
        .points
        .iter()
        .map(|p| (p.value(tiny.x), balance.linearise(p, &[tiny.x]).unwrap().modes[0].growth))
        .collect();
    roots.sort_by(|a, b| a.0.total_cmp(&b.0));
    // growth 1 − 3 x²; central differences of a cubic are off by h² = 1e-10, round-off by 1e-11
    let known = [(-1.0, -2.0), (0.0, 1.0), (1.0, -2.0)];
    assert_eq!(roots.len(), 3, "{roots:?}");
    for (found, known) in roots.iter().zip(known) {
        assert!((found.0 - known.0).abs() < ROUND_OFF && (found.1 - known.1).abs() < 1e-9, "{roots:?}");
    }
}

#[test]
fn a_bound_stops_the_search_and_is_named() {
    let tiny = tiny(Line(|x, _| 1.0 - x));
    let mut balance = tiny.balance(0.0);
    assert!(balance.free(tiny.x, -1.0, 0.5, 1.0));
    let Err(NoBalance::Bounds { bounds, left, .. }) = balance.solve(&[0.0]) else {
        panic!("{:?}", balance.solve(&[0.0]));
    };
    assert_eq!((bounds[0].0.as_str(), bounds[0].1), ("a.x", 0.5));
    // ẋ = 1/2 at the bound
    assert!((left[0].value - 0.5).abs() < 1e-3, "{left:?}");
    // a solution that stands at a bound is one, and says so
    assert!(balance.free(tiny.x, -1.0, 1.0, 1.0));
    let point = balance.solve(&[0.0]).unwrap();
    assert_eq!((point.value(tiny.x), &point.at_bound[..]), (1.0, &[tiny.x][..]));
}

#[test]
fn what_a_part_allows_narrows_bounds_and_what_can_be_held() {
    let tiny = tiny(Line(|_, r| r - 12.0));
    let mut balance = Balance::of(&tiny.model);
    assert!(!balance.hold(tiny.r, 11.0) && !balance.hold(tiny.r, f64::NAN));
    assert!(!balance.free(tiny.r, 11.0, 20.0, 1.0) && !balance.free(tiny.r, 0.0, 1.0, 0.0));
    assert!(balance.free(tiny.r, 0.0, 20.0, 1.0) && balance.rest(tiny.x));
    let Err(NoBalance::Bounds { bounds, .. }) = balance.solve(&[1.0]) else {
        panic!("beyond what the part allows");
    };
    assert_eq!(bounds[0].1, 10.0);
    let square = tiny.model.find("a.square").unwrap();
    assert!(!balance.hold(square, 1.0) && !balance.rest(square) && !balance.rest(tiny.r));
}

#[test]
fn an_equation_without_a_value_is_named_and_stepped_round() {
    let tiny = tiny(Line(|x, _| -1.0 - x.ln()));
    let balance = tiny.balance(0.0);
    let sick = NoBalance::NotFinite { equation: "a: flow".into(), quantity: "a.x.rate".into() };
    assert_eq!(balance.solve(&[-1.0]), Err(sick));
    // a whole step from 1/2 or from 3 would go below zero
    for start in [0.01, 0.5, 3.0, 50.0] {
        let point = balance.solve(&[start]).unwrap();
        assert!((point.value(tiny.x) - (-1f64).exp()).abs() < ROUND_OFF, "from {start}");
    }
}

#[test]
fn questions_that_do_not_add_up_are_told() {
    let tiny = tiny(Line(|x, r| r - x));
    let mut balance = tiny.balance(1.0);
    let wrong = |given: &[f64]| NoBalance::Start { free: 1, given: given.to_vec() };
    assert_eq!(balance.solve(&[]), Err(wrong(&[])));
    assert_eq!(balance.solve(&[f64::INFINITY]), Err(wrong(&[f64::INFINITY])));
    balance.rest(tiny.x);
    assert_eq!(balance.solve(&[0.0]), Err(NoBalance::Mismatch { free: 1, conditions: 2 }));
    let empty = Balance::of(&tiny.model);
    assert_eq!(empty.solve(&[]), Err(NoBalance::Mismatch { free: 0, conditions: 0 }));
}

#[test]
fn a_quantity_can_be_asked_for_even_one_that_is_only_looked_at() {
    let tiny = tiny(Line(|x, r| r - x));
    let square = tiny.model.find("a.square").unwrap();
    let mut balance = tiny.balance(0.0);
    assert!(balance.free(tiny.r, 0.0, 10.0, 1.0) && balance.meet(square, 9.0, 1.0));
    assert_eq!(balance.unknowns(), [tiny.x, tiny.r]);
    let point = balance.solve(&[1.0, 1.0]).unwrap();
    assert!((point.value(tiny.r) - 3.0).abs() < ROUND_OFF && (point.value(square) - 9.0).abs() < ROUND_OFF);
    assert_eq!(point.free, [point.value(tiny.x), point.value(tiny.r)]);
}

/// Freudenstein and Roth's function: from (1/2, −2) least squares end in a
/// minimum that is no root, at (11.4128, −0.89681), where half of what is
/// asked is left; the root is (5, 4).
///
/// J. J. Moré, B. S. Garbow, K. E. Hillstrom, *Testing unconstrained
/// optimization software*, ACM TOMS 7 (1981), problem 2; from memory.
fn freudenstein_roth(x: f64, y: f64, _: f64) -> (f64, f64) {
    (-13.0 + x + ((5.0 - y) * y - 2.0) * y, -29.0 + x + ((y + 1.0) * y - 14.0) * y)
}

#[test]
fn a_minimum_that_is_no_root_is_told_with_its_size() {
    let tiny = tiny(Plane(freudenstein_roth));
    let balance = tiny.balance(0.0);
    let near = balance.solve(&[6.0, 5.0]).unwrap();
    assert!((near.free[0] - 5.0).abs() < 1e-9 && (near.free[1] - 4.0).abs() < 1e-9, "{:?}", near.free);
    let far = balance.solve(&[0.5, -2.0]);
    let Err(NoBalance::NotConverged { left, at, least: true }) = &far else {
        panic!("{far:?}");
    };
    println!("{left:?} {at:?}");
}

#[test]
fn along_a_row_of_values_each_search_begins_where_the_last_ended() {
    let tiny = tiny(Plane(|x, y, r| (y - r.sin(), r + 2.0 - x - 0.1 * x * x * x - y)));
    let balance = tiny.balance(0.0);
    let values: Vec<f64> = (0..60).map(|k| 0.05 * f64::from(k)).collect();
    let answers = balance.along(tiny.r, &values, &[1.0, 0.0]);
    let mut evaluations = 0;
    for (r, answer) in values.iter().zip(&answers) {
        let point = answer.as_ref().unwrap();
        let (x, y) = (point.free[0], point.free[1]);
        assert!((y - r.sin()).abs() < 1e-9 && (r + 2.0 - x - 0.1 * x * x * x - y).abs() < 1e-9);
        evaluations += point.evaluations;
    }
    println!("{evaluations} evaluations for 60 points");
    // slopes are kept: with new ones for each point it would be three evaluations more for each
    assert!(evaluations < 60 * 7, "{evaluations}");
    // the same to the last digit whenever it is asked
    assert_eq!(answers, balance.along(tiny.r, &values, &[1.0, 0.0]));
    let refused = balance.along(tiny.x, &[1.0], &[1.0, 0.0]);
    assert_eq!(refused, [Err(NoBalance::Refused { quantity: "a.x".into(), value: 1.0 })]);
}
