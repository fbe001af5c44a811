//! Carried along at a held speed, with the throttle open.

use std::sync::Arc;

use engine::balance::{NoBalance, Point};
use engine::model::Model;
use engine::profile::Profile;
use engine::run::{Pause, Sampler};

use crate::craft::{AFLOAT, carried, find, model, moving, run, throttle};

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

/// Every balance found is stable, and where the run comes to rest; where there is
/// none the run finds no rest either.
fn compare(open: f64) -> Vec<(f64, Result<Point, NoBalance>)> {
    let model = model();
    let balance = carried(&model, 0.5, open);
    let speeds: Vec<f64> = (1..=12).map(|k| 0.5 * f64::from(k)).collect();
    let answers = balance.along(find(&model, "motion.surge_speed"), &speeds, &AFLOAT);
    let net = find(&model, "total.surge_force");
    let mut states = moving(&model);
    states.pop();
    for (speed, answer) in speeds.iter().zip(&answers) {
        let run = held(&model, *speed, open);
        match answer {
            Ok(point) => {
                let linear = balance.linearise(point, &states).expect("eigenvalues");
                let slowest = linear.slowest().expect("a mode");
                println!(
                    "{speed} m/s: {:.6} N, in the run {:.6} N; slowest {:.2} 1/s, {:.2} rad/s",
                    point.value(net),
                    run.force,
                    slowest.growth,
                    slowest.frequency
                );
                assert!(linear.is_stable(), "{speed} m/s");
                // what is left of the slowest disturbance after 40 s, and the run's tolerance of
                // 1e-9 a step times 10 kN, the force of one usual size of depth
                let left = 1e3 * (slowest.growth * 40.0).exp() + 1e-5;
                let apart = (point.value(net) - run.force).abs();
                assert!(apart < left, "{speed} m/s: {apart:e} N apart, {left:e} N allowed");
            }
            Err(why) => {
                println!("{speed} m/s: {why}; in the run {} ± {} N", run.force, run.spread);
                assert!(run.turned_over || run.spread > 20.0, "{speed} m/s: the run came to rest");
            }
        }
    }
    speeds.into_iter().zip(answers).collect()
}

#[test]
fn at_part_throttle_every_speed_has_its_balance() {
    let answers = compare(0.4);
    assert!(answers.iter().all(|(_, answer)| answer.is_ok()));
}

/// Full throttle lifts the bow by more than the rider's reach: only around 1 to
/// 2.5 m/s does the hull under him make up for it.
#[test]
fn at_full_throttle_runs_find_no_rest_where_there_is_no_balance() {
    let answers = compare(1.0);
    let found: Vec<f64> = answers.iter().filter(|(_, a)| a.is_ok()).map(|(v, _)| *v).collect();
    assert_eq!(found, [1.0, 1.5, 2.0, 2.5]);
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
        println!("{value:.2} m/s: {} evaluations from afar", point.evaluations);
        assert!(point.evaluations < 100);
        // the same balance whichever way it was come to: what is left over, over the least stiffness
        let warm = warm.as_ref().expect("a balance");
        assert!((point.free[1] - warm.free[1]).abs() < 1e-7, "{value} m/s");
    }
}
