//! How far a drive that got stuck falls short: the craft is carried on at a
//! slowly rising speed and the force that is missing is read off.

use engine::model::Probe;
use engine::profile::Profile;
use engine::run::{Options, Run, Sampler};
use engine::scenario::Finished;

use super::facts::{SPACING, first, thrusters};

/// Pace at which the speed rises, m/s²: slow enough that trim and sinkage follow.
const PACE: f64 = 0.25;
/// How far beyond the speed it got stuck at the craft is carried, m/s.
const BEYOND: f64 = 4.0;

/// The largest force missing, and where.
#[derive(Debug, Clone, PartialEq)]
pub struct Shortfall {
    pub force: f64,
    pub speed: f64,
    pub thrust: f64,
    /// Whether the board came clear at the end of the sweep.
    pub clears: bool,
}

/// Carries the craft on from where it got stuck. `None` where nothing is missing
/// or the sweep itself breaks off.
pub fn shortfall(finished: &Finished) -> Option<Shortfall> {
    let stuck = &finished.run;
    let model = stuck.model().clone();
    let (speed, net, free) =
        (first(&model, "surge_speed")?, model.find("total.surge_force")?, first(&model, "free_margin")?);
    let (_, end) = stuck.trajectory().span();
    let mut sampler = Sampler::new(&model, stuck.trajectory());
    sampler.go(end);
    let v0 = sampler.value(speed).max(0.3);
    let inputs: Vec<(Probe, f64)> = model.inputs().into_iter().map(|p| (p, sampler.value(p))).collect();

    let mut run = Run::new(model.clone(), Options { tolerance: 1e-5, ..Options::default() });
    for (probe, value) in inputs {
        if let Some(input) = run.input(probe) {
            *input = Profile::constant(value);
        }
    }
    let mut profile = Profile::constant(v0);
    profile.change(0.0, BEYOND / PACE, v0 + BEYOND);
    run.hold(speed, profile);
    run.advance(BEYOND / PACE, &[]).ok()?;

    let thrust = thrusters(&model);
    let mut worst: Option<Shortfall> = None;
    let mut clears = false;
    let mut sampler = Sampler::new(&model, run.trajectory());
    sampler.walk(2.0 * SPACING, |_, s| {
        clears |= s.value(free) > 0.0;
        // what counts is the way to the first moment of flight
        if clears {
            return;
        }
        // the carried craft needs no force for its slow acceleration
        let missing = -s.value(net);
        if missing > 0.0 && worst.as_ref().is_none_or(|w| missing > w.force) {
            let thrust = thrust.iter().map(|&p| s.value(p)).sum();
            worst = Some(Shortfall { force: missing, speed: s.value(speed), thrust, clears: false });
        }
    });
    worst.map(|w| Shortfall { clears, ..w })
}
