//! Branches through folds and crossings.

use super::*;

/// Folds are placed where the tangent has no share of the parameter: 1e-10 at most, here about
/// 2 x, and what differences of second order leave.
const PLACED: f64 = 1e-8;

fn branch(tiny: &Tiny, r: f64, start: &[f64], until: (f64, f64), rising: bool) -> Branch {
    let balance = tiny.balance(r);
    let from = balance.solve(start).unwrap();
    balance.follow(tiny.r, &from, until, Steps::sized(1.0, rising))
}

#[test]
fn a_branch_goes_round_the_fold_of_the_normal_form() {
    let tiny = tiny(Line(|x, r| r + x * x));
    let branch = branch(&tiny, -0.5, &[-1.0], (-1.0, 1.0), true);
    assert_eq!(branch.end, BranchEnd::Parameter);
    let [fold] = branch.folds[..] else {
        panic!("{:?}", branch.folds);
    };
    let at = &branch.points[fold.at];
    println!(
        "fold at r = {:.1e}, x = {:.1e}; {} points, {} evaluations",
        fold.parameter,
        at.free[0],
        branch.points.len(),
        branch.evaluations
    );
    assert!(fold.greatest && fold.parameter.abs() < PLACED && at.free[0].abs() < PLACED, "{fold:?}");
    for point in &branch.points {
        let (x, r) = (point.value(tiny.x), point.value(tiny.r));
        assert!((r + x * x).abs() < 1e-9);
    }
    // one way up and the other way down
    let xs: Vec<f64> = branch.points.iter().map(|p| p.free[0]).collect();
    assert!(xs.is_sorted() && xs[0] < -0.7, "{xs:?}");
    let last = branch.points.last().unwrap();
    assert_eq!(last.value(tiny.r), -1.0);
    assert!((last.free[0] - 1.0).abs() < 1e-9);
    // stable before the fold, unstable behind it
    let balance = tiny.balance(0.0);
    let growth = |p: &Point| balance.linearise(p, &[tiny.x]).unwrap().modes[0].growth;
    assert!(branch.points[..fold.at].iter().all(|p| growth(p) < 0.0));
    assert!(branch.points[fold.at + 1..].iter().all(|p| growth(p) > 0.0));
}

#[test]
fn an_s_curve_has_two_folds() {
    let tiny = tiny(Line(|x, r| r + x - x * x * x));
    let branch = branch(&tiny, 2.0, &[1.0], (-2.0, 2.0), false);
    let folds: Vec<(f64, f64, bool)> =
        branch.folds.iter().map(|f| (branch.points[f.at].free[0], f.parameter, f.greatest)).collect();
    // 1 − 3 x² = 0, r = x³ − x
    let (x, r) = (1.0 / 3f64.sqrt(), 2.0 / 27f64.sqrt());
    let known = [(x, -r, false), (-x, r, true)];
    assert_eq!(folds.len(), 2, "{folds:?}");
    for (found, known) in folds.iter().zip(known) {
        assert!((found.0 - known.0).abs() < PLACED && (found.1 - known.1).abs() < PLACED, "{folds:?}");
        assert_eq!(found.2, known.2);
    }
    assert_eq!(branch.end, BranchEnd::Parameter);
}

#[test]
fn a_pitchfork_shows_as_a_crossing() {
    let tiny = tiny(Line(|x, r| r * x - x * x * x));
    let balance = tiny.balance(-0.52);
    let from = balance.solve(&[0.0]).unwrap();
    let branch = balance.follow(tiny.r, &from, (-1.0, 1.0), Steps::sized(1.0, true));
    assert_eq!((&branch.end, branch.folds.len()), (&BranchEnd::Parameter, 0));
    let [at] = branch.crossings[..] else {
        panic!("{:?}", branch.crossings);
    };
    assert!(branch.points[at].value(tiny.r) < 0.0 && branch.points[at + 1].value(tiny.r) > 0.0);
    // one of the arms, x = √r, found from beside it
    let arm = tiny.balance(0.81).solve(&[0.8]).unwrap();
    assert!((arm.free[0] - 0.9).abs() < 1e-9);
}

#[test]
fn a_closed_branch_is_gone_round_once() {
    let tiny = tiny(Line(|x, r| x * x + r * r - 1.0));
    let branch = branch(&tiny, 0.3, &[1.0], (-2.0, 2.0), true);
    assert_eq!(branch.end, BranchEnd::Closed);
    let folds: Vec<(f64, bool)> = branch.folds.iter().map(|f| (f.parameter, f.greatest)).collect();
    assert_eq!(folds.len(), 2);
    assert!((folds[0].0 - 1.0).abs() < PLACED && (folds[1].0 + 1.0).abs() < PLACED, "{folds:?}");
    assert!(folds[0].1 && !folds[1].1);
}

#[test]
fn a_free_bound_and_a_full_list_end_a_branch() {
    let tiny = tiny(Line(|x, r| r - x));
    let mut balance = tiny.balance(0.0);
    assert!(balance.free(tiny.x, -1.0, 0.7, 1.0));
    let from = balance.solve(&[0.0]).unwrap();
    let steps = Steps::sized(1.0, true);
    let branch = balance.follow(tiny.r, &from, (-2.0, 2.0), steps);
    assert_eq!(branch.end, BranchEnd::Bound(tiny.x));
    let last = branch.points.last().unwrap();
    assert_eq!(last.at_bound, [tiny.x]);
    assert!((last.value(tiny.r) - 0.7).abs() < 1e-11);
    let short = balance.follow(tiny.r, &from, (-2.0, 2.0), Steps { most: 3, ..steps });
    assert_eq!((short.points.len(), short.end), (3, BranchEnd::Full));
}

#[test]
fn a_corner_is_stepped_over() {
    let tiny = tiny(Line(|x, r| r - x - 2.0 * (x - 0.33).max(0.0)));
    let branch = branch(&tiny, 0.0, &[0.0], (0.0, 1.0), true);
    assert_eq!((&branch.end, branch.folds.len()), (&BranchEnd::Parameter, 0));
    assert!((branch.points.last().unwrap().free[0] - (1.0 + 0.66) / 3.0).abs() < 1e-9);
}

#[test]
fn a_branch_that_ends_nowhere_is_lost_with_its_reason() {
    // the square root has no value below zero, and the branch ends there
    let tiny = tiny(Line(|x, r| x - r.sqrt()));
    let branch = branch(&tiny, 0.5, &[0.7], (-1.0, 1.0), false);
    assert!(matches!(branch.end, BranchEnd::Lost(_)), "{:?}", branch.end);
    let last = branch.points.last().unwrap();
    assert!((0.0..1e-3).contains(&last.value(tiny.r)), "{}", last.value(tiny.r));
    // what is no state or input, is free already, or begins outside cannot be followed
    let balance = tiny.balance(0.25);
    let from = balance.solve(&[0.5]).unwrap();
    let steps = Steps::sized(1.0, true);
    for (parameter, until) in [(tiny.x, (0.0, 1.0)), (tiny.r, (0.5, 1.0))] {
        let refused = balance.follow(parameter, &from, until, steps);
        assert!(matches!(refused.end, BranchEnd::Lost(NoBalance::Refused { .. })), "{:?}", refused.end);
        assert!(refused.points.is_empty());
    }
}
