//! Carried along at a held speed, with the throttle open: where runs come to rest, and where not.

use std::sync::Arc;

use engine::balance::Point;
use engine::model::{Model, Probe};
use engine::profile::Profile;
use engine::run::{Pause, Sampler};

use crate::craft::{AFLOAT, carried, find, model, moving, run, throttle};

/// The speeds, m/s.
fn speeds() -> Vec<f64> {
    (1..=12).map(|k| 0.5 * f64::from(k)).collect()
}

/// What a run at a held speed comes to.
struct Carried {
    /// Net force at its end, N.
    force: f64,
    /// Range of the net force over the last two seconds, N.
    spread: f64,
    turned_over: bool,
}

/// A minute: slowly up to a speed that is held from then on, then the throttle opened.
fn held(model: &Arc<Model>, speed: f64, open: f64) -> Carried {
    let mut run = run(model, true, 1e-9);
    let mut carried = Profile::constant(0.0);
    carried.change(0.0, 10.0, speed);
    assert!(run.hold(find(model, "motion.surge_speed"), carried));
    throttle(&mut run).change(10.0, 10.0, open);
    let pause = run.advance(60.0, &[]).expect("a run that goes on");
    let net = find(model, "total.surge_force");
    let (_, end) = run.trajectory().span();
    let mut sampler = Sampler::new(model, run.trajectory());
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for k in 0..=100 {
        sampler.go(end - 0.02 * f64::from(k));
        (low, high) = (low.min(sampler.value(net)), high.max(sampler.value(net)));
    }
    // asked of the run itself: its record integrates the rate of what is held, with the run's error
    Carried { force: run.value(net), spread: high - low, turned_over: pause == Pause::Ended }
}

/// The states that move while the speed is held.
fn states(model: &Model) -> Vec<Probe> {
    let speed = find(model, "motion.surge_speed");
    moving(model).into_iter().filter(|&probe| probe != speed).collect()
}

#[test]
fn at_part_throttle_runs_come_to_rest_where_the_balances_are() {
    let model = model();
    let balance = carried(&model, 0.5, 0.4);
    let answers = balance.along(find(&model, "motion.surge_speed"), &speeds(), &AFLOAT);
    let net = find(&model, "total.surge_force");
    for (speed, answer) in speeds().into_iter().zip(answers) {
        let point = answer.unwrap_or_else(|why| panic!("{speed} m/s: {why}"));
        let linear = balance.linearise(&point, &states(&model)).expect("eigenvalues");
        let growth = linear.slowest().expect("a mode").growth;
        let run = held(&model, speed, 0.4);
        let apart = (point.value(net) - run.force).abs();
        println!(
            "{speed} m/s: {:.6} N, in the run {apart:.1e} N apart; slowest {growth:.2} 1/s",
            point.value(net)
        );
        // what is left of 1 kN of the slowest disturbance after 40 s, and the run's tolerance of
        // 1e-9 a step times 10 kN, the force of one usual size of depth
        let left = 1e3 * (growth * 40.0).exp() + 1e-5;
        assert!(linear.is_stable() && apart < left, "{speed} m/s: {apart:e} N apart, {left:e} N allowed");
    }
}

/// All balances at a speed that a net of starts leads to, and whether they are stable.
fn all(model: &Arc<Model>, speed: f64, open: f64) -> Vec<(Point, bool)> {
    let balance = carried(model, speed, open);
    let net = (0..100).map(|k| (f64::from(k / 10), f64::from(k % 10)));
    let net = net.map(|(i, j)| vec![-0.3 - 0.12 * i, -0.4 + 0.1 * j, 0.5, 0.0]);
    let found = balance.solve_all(net.chain([AFLOAT.to_vec()]));
    let stable = |point: &Point| balance.linearise(point, &states(model)).expect("eigenvalues").is_stable();
    found.points.into_iter().map(|point| (point.clone(), stable(&point))).collect()
}

/// Full throttle lifts the bow by more than the rider's reach at very low speed, and again from
/// 3 m/s on until the craft flies. Every run that comes to rest does so at a stable balance; at 4.5
/// m/s there is one, which the run passes by and goes on porpoising.
#[test]
fn at_full_throttle_runs_come_to_rest_only_where_there_is_a_stable_balance() {
    let model = model();
    let net = find(&model, "total.surge_force");
    let (mut rest, mut without) = (Vec::new(), Vec::new());
    for speed in speeds() {
        let run = held(&model, speed, 1.0);
        let found = all(&model, speed, 1.0);
        let told: Vec<_> = found.iter().map(|(point, stable)| (point.value(net), *stable)).collect();
        println!("{speed} m/s: {told:.3?}; in the run {:.3} ± {:.1e} N", run.force, run.spread);
        // the run's error in flight, where its steps are held down by stability, is some 1e-5 N
        if !run.turned_over && run.spread < 1e-3 {
            rest.push(speed);
            assert!(
                told.iter().any(|(force, stable)| *stable && (force - run.force).abs() < 1e-4),
                "{speed} m/s"
            );
        }
        if !told.iter().any(|(_, stable)| *stable) {
            without.push(speed);
        }
    }
    assert_eq!(rest, [1.0, 1.5, 2.0, 2.5, 5.0, 5.5, 6.0]);
    assert_eq!(without, [0.5, 3.0, 3.5, 4.0]);
}

#[test]
fn a_curve_costs_less_than_ten_flights() {
    let model = model();
    let speed = find(&model, "motion.surge_speed");
    let values: Vec<f64> = (0..60).map(|k| 0.5 + 5.5 * f64::from(k) / 59.0).collect();
    let balance = carried(&model, 0.5, 0.4);
    let answers = balance.along(speed, &values, &AFLOAT);
    let spent: usize = answers.iter().flatten().map(|point| point.evaluations).sum();
    println!("{spent} evaluations for {} points", answers.iter().flatten().count());
    // a flight takes some 740
    assert!(spent < 7000 && answers.iter().all(Result::is_ok));
    for (value, warm) in values.iter().zip(&answers).step_by(10) {
        let point = carried(&model, *value, 0.4).solve(&AFLOAT).expect("a balance");
        println!("{value:.2} m/s: {} evaluations from afloat", point.evaluations);
        assert!(point.evaluations < 100);
        // the same balance whichever way it was come to: 1e-9 left over, over the least stiffness of some 0.1 1/s
        let warm = warm.as_ref().expect("a balance");
        assert!((point.free[1] - warm.free[1]).abs() < 1e-8, "{value} m/s");
    }
}
