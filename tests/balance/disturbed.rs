//! Small disturbances of the equilibrium under way, in a run and by eigenvalues.

use std::sync::Arc;

use engine::balance::{Eigenmode, Point};
use engine::model::{Model, Probe};
use engine::profile::Profile;
use engine::run::{Run, Sampler};

use crate::craft::{AFLOAT, find, model, moving, run, throttle, under_way};

/// Begin of a disturbance in usual sizes. Its square, 1e-8, is small beside what is left of it.
const BEGIN: f64 = 1e-4;

/// Usual sizes of the moving states, as their parts declare them.
const SIZES: [f64; 7] = [0.3, 0.3, 0.1, 0.3, 0.5, 0.5, 3.0];

/// The craft at an equilibrium, disturbed by one mode.
fn disturbed(model: &Arc<Model>, point: &Point, mode: &Eigenmode, states: &[Probe]) -> Run {
    let mut run = run(model, false, 1e-12);
    *throttle(&mut run) = Profile::constant(point.value(find(model, "controller.throttle")));
    for ((&probe, size), (shape, _)) in states.iter().zip(SIZES).zip(&mode.shape) {
        assert!(run.place(probe, point.value(probe) + BEGIN * size * shape));
    }
    run
}

#[test]
fn disturbances_grow_and_die_away_as_their_eigenvalues_say() {
    let model = model();
    let states = moving(&model);
    let (lever, speed) = (find(&model, "controller.throttle"), find(&model, "motion.surge_speed"));
    // afloat, on the unstable stretch of the hump, and in flight
    for v in [2.0, 3.0, 6.0] {
        let mut balance = under_way(&model, 0.3);
        // the throttle that this speed asks for
        assert!(balance.hold(speed, v) && balance.free(lever, 0.0, 1.0, 0.3));
        let start: Vec<f64> = AFLOAT.into_iter().chain([0.4]).collect();
        let point = balance.solve(&start).expect("a balance");
        let linear = balance.linearise(&point, &states).expect("eigenvalues");
        assert_eq!(linear.is_stable(), v != 3.0, "{v} m/s");
        for mode in &linear.modes {
            // three times as long as its eigenvalue takes to turn by a radian or change by e
            let modulus = mode.growth.hypot(mode.frequency);
            let mut run = disturbed(&model, &point, mode, &states);
            run.advance(3.0 / modulus, &[]).expect("a run that goes on");
            let lead = mode.shares[0].0;
            let size = states.iter().zip(SIZES).find(|(s, _)| **s == lead).expect("a moving state").1;
            let mut sampler = Sampler::new(&model, run.trajectory());
            let mut worst: f64 = 0.0;
            for k in 1..=12 {
                let turned = 0.25 * f64::from(k);
                let t = turned / modulus;
                sampler.go(t);
                let left = (sampler.value(lead) - point.value(lead)) / (BEGIN * size);
                let envelope = (mode.growth * t).exp();
                let apart = (left - envelope * (mode.frequency * t).cos()).abs() / envelope;
                worst = worst.max(apart / turned);
            }
            println!(
                "{v} m/s: {:+.4} 1/s, {:.3} rad/s, {}; in the run by {worst:.1e} of it apart at most",
                mode.growth,
                mode.frequency,
                model.name(lead)
            );
            // two hundredths of the eigenvalue, either part of it
            assert!(worst < 0.02, "{v} m/s, {mode:?}");
        }
    }
}
