//! The whole equilibrium under way: speed against throttle, over the drag hump.

use std::sync::Arc;

use engine::balance::{Branch, BranchEnd, Steps};
use engine::model::Model;
use engine::run::Run;

use crate::craft::{AFLOAT, find, model, moving, run, throttle, under_way};

fn branch(model: &Arc<Model>) -> Branch {
    let balance = under_way(model, 0.1);
    let start: Vec<f64> = AFLOAT.into_iter().chain([0.5]).collect();
    let slow = balance.solve(&start).expect("a balance at 10 % throttle");
    balance.follow(find(model, "controller.throttle"), &slow, (0.0, 1.0), Steps::sized(1.0, true))
}

#[test]
fn the_branch_folds_at_the_hump_and_is_unstable_in_between() {
    let model = model();
    let branch = branch(&model);
    let speed = find(&model, "motion.surge_speed");
    for fold in &branch.folds {
        println!(
            "fold at {:.5} of the throttle, {:.4} m/s",
            fold.parameter,
            branch.points[fold.at].value(speed)
        );
    }
    println!("{:?} after {} points, {} evaluations", branch.end, branch.points.len(), branch.evaluations);
    assert_eq!(branch.end, BranchEnd::Parameter);
    assert_eq!(branch.folds.iter().map(|f| f.greatest).collect::<Vec<_>>(), [true, false]);
    let balance = under_way(&model, 0.1);
    for (i, point) in branch.points.iter().enumerate() {
        let linear = balance.linearise(point, &moving(&model)).expect("eigenvalues");
        let growing: Vec<_> = linear.unstable().collect();
        // at the folds themselves one eigenvalue is zero but for differences
        if branch.folds.iter().any(|fold| fold.at == i) {
            let least = linear.modes.iter().map(|m| m.growth.abs()).fold(f64::INFINITY, f64::min);
            assert!(least < 1e-6, "{least} 1/s at a fold");
        } else if branch.folds[0].at < i && i < branch.folds[1].at {
            assert_eq!((growing.len(), growing[0].shares[0].0), (1, speed));
        } else {
            assert!(growing.is_empty(), "{} m/s: {growing:?}", point.value(speed));
        }
    }
}

/// Speed that a run comes to which begins on the branch at a speed, with another throttle.
fn comes_to(model: &Arc<Model>, branch: &Branch, from: impl Fn(f64) -> bool, open: f64) -> f64 {
    let (speed, lever) = (find(model, "motion.surge_speed"), find(model, "controller.throttle"));
    let start = branch.points.iter().find(|p| from(p.value(speed))).expect("a point at that speed");
    let mut run: Run = run(model, false, 1e-8);
    for probe in moving(model) {
        assert!(run.place(probe, start.value(probe)));
    }
    throttle(&mut run).start_at(start.value(lever));
    throttle(&mut run).change(0.0, 10.0, open);
    run.advance(200.0, &[]).expect("a run that goes on");
    run.value(speed)
}

/// A craft that comes from below goes over the hump just above the first
/// fold's throttle and not just below it; one that comes from above falls back
/// just below the second one's.
#[test]
fn runs_jump_at_the_folds() {
    let model = model();
    let branch = branch(&model);
    let speed = find(&model, "motion.surge_speed");
    let [up, down] =
        [0, 1].map(|i| (branch.folds[i].parameter, branch.points[branch.folds[i].at].value(speed)));
    // 0.3 % of the throttle beside a fold it takes half a minute or so to get past it
    for (beside, over) in [(0.997, false), (1.003, true)] {
        let end = comes_to(&model, &branch, |v| v > 1.5, up.0 * beside);
        println!("from below, {beside} of the first fold: {end:.3} m/s");
        assert_eq!(end > down.1, over, "{end} m/s");
        let end = comes_to(&model, &branch, |v| v > 4.0, down.0 * beside);
        println!("from above, {beside} of the second fold: {end:.3} m/s");
        assert_eq!(end > down.1, over, "{end} m/s");
    }
}
