//! Eigenvalues against those known by hand, and against runs through time.

use super::*;
use crate::profile::Profile;
use crate::run::{Options, Run, Sampler};

/// Central differences: h² of truncation, h = 1e-5, and round-off over h.
const DIFFERENCES: f64 = 1e-9;

#[test]
fn a_damped_oscillator_has_its_eigenvalues_and_shape() {
    // ω = 3 rad/s, ζ = 0.2
    let tiny = tiny(Plane(|x, y, _| (y, -9.0 * x - 2.0 * 0.2 * 3.0 * y)));
    let balance = tiny.balance(0.0);
    let point = balance.solve(&[0.3, 0.1]).unwrap();
    let linear = balance.linearise(&point, &[tiny.x, tiny.y.unwrap()]).unwrap();
    let [mode] = &linear.modes[..] else {
        panic!("{:?}", linear.modes);
    };
    assert!((mode.growth + 0.6).abs() < DIFFERENCES, "{mode:?}");
    assert!((mode.frequency - 3.0 * (1.0f64 - 0.04).sqrt()).abs() < DIFFERENCES);
    assert!((mode.damping() - 0.2).abs() < DIFFERENCES);
    assert!(linear.is_stable() && linear.unstable().next().is_none());
    // |y| = ω |x|; in usual sizes of 4 and 1 that is 3/4 to 1
    assert_eq!(mode.shares[0].0, tiny.x);
    assert!((mode.shares[0].1 - 4.0 / 7.0).abs() < DIFFERENCES, "{:?}", mode.shares);
    // y = λ x, with y counted in 4
    assert!((mode.shape[1].0 + 0.6 / 4.0).abs() < DIFFERENCES, "{:?}", mode.shape);
    assert!((mode.shape[1].1 - mode.frequency / 4.0).abs() < DIFFERENCES);
}

#[test]
fn growth_equals_that_of_a_run() {
    // van der Pol, growing about 0 at r/2, and a fold's slow decay at 2 x
    let tiny = tiny(Plane(|x, y, r| (y, r * (1.0 - x * x) * y - x)));
    let y = tiny.y.unwrap();
    let balance = tiny.balance(0.4);
    let point = balance.solve(&[0.1, 0.1]).unwrap();
    let linear = balance.linearise(&point, &[tiny.x, y]).unwrap();
    let mode = linear.slowest().unwrap();
    assert_eq!(linear.unstable().count(), 1);
    let mut run = Run::new(tiny.model.clone(), Options { tolerance: 1e-12, max_step: 0.1, settle: false });
    *run.input(tiny.r).unwrap() = Profile::constant(0.4);
    // along the mode itself, so small that x² does not count, 1e-8 of 1
    let begin = 1e-5;
    for (probe, (shape, _), size) in [(tiny.x, mode.shape[0], 1.0), (y, mode.shape[1], 4.0)] {
        assert!(run.place(probe, begin * shape * size));
    }
    // after two whole periods it is back in phase
    let end = 2.0 * std::f64::consts::TAU / mode.frequency;
    run.advance(end, &[]).unwrap();
    let mut sampler = Sampler::new(&tiny.model, run.trajectory());
    sampler.go(end);
    let measured = (sampler.value(tiny.x) / (begin * mode.shape[0].0)).ln() / end;
    println!("growth {} 1/s, in the run {measured} 1/s", mode.growth);
    assert!((measured / mode.growth - 1.0).abs() < 1e-4, "{measured} and {}", mode.growth);
}

#[test]
fn other_states_stand_still_and_orders_are_kept() {
    let tiny = tiny(Plane(|x, y, r| (-2.0 * x + y, 7.0 * x - 5.0 * y + r)));
    let y = tiny.y.unwrap();
    let balance = tiny.balance(1.0);
    let point = balance.solve(&[0.0, 0.0]).unwrap();
    let alone = balance.linearise(&point, &[y]).unwrap();
    assert!((alone.modes[0].growth + 5.0).abs() < DIFFERENCES && alone.modes[0].frequency == 0.0);
    // λ² + 7 λ + 3 = 0; the slower one first, whichever order the states come in
    let both = [[tiny.x, y], [y, tiny.x]].map(|states| balance.linearise(&point, &states).unwrap());
    for linear in &both {
        let growths: Vec<f64> = linear.modes.iter().map(|m| m.growth).collect();
        let root = 37f64.sqrt();
        assert_eq!(growths.len(), 2);
        assert!((growths[0] - (root - 7.0) / 2.0).abs() < DIFFERENCES, "{growths:?}");
        assert!((growths[1] + (root + 7.0) / 2.0).abs() < DIFFERENCES, "{growths:?}");
    }
    assert_eq!(balance.linearise(&point, &[]).unwrap().modes, []);
    let wrong = balance.linearise(&point, &[tiny.r]);
    assert_eq!(wrong, Err(NotLinear::NotAState { quantity: "a.r".into() }));
}

#[test]
fn a_rate_without_a_value_beside_the_point_is_named() {
    // at rest at the very edge of where the root has a value
    let tiny = tiny(Line(|x, _| -x.sqrt() * 0.0 - x));
    let balance = tiny.balance(0.0);
    let point = balance.solve(&[0.0]).unwrap();
    let sick = NotLinear::NotFinite { equation: "a: flow".into(), quantity: "a.x.rate".into() };
    assert_eq!(balance.linearise(&point, &[tiny.x]), Err(sick));
}
