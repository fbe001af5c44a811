//! How far a drive that got stuck falls short: the craft is carried on at a
//! slowly rising speed and the force that is missing is read off.

use engine::profile::Profile;
use engine::run::Sampler;
use engine::scenario::Finished;

use super::facts::{SPACING, first};
use super::limits::binding;
use super::pull::thrusters;
use crate::nomenclature::*;

/// Pace at which the speed rises, m/s²: slow enough that trim and sinkage follow.
const PACE: f64 = 0.25;
/// How far beyond the speed it got stuck at the craft is carried, m/s.
const BEYOND: f64 = 4.0;

/// The largest force missing, and where.
#[derive(Debug, Clone, PartialEq)]
pub struct Shortfall {
    pub force: f64,
    pub speed: f64,
    pub net_thrust: f64,
    /// Limits of the drive that bind there.
    pub limits: Vec<String>,
    /// Whether the board came clear at the end of the sweep.
    pub clears: bool,
}

/// Carries the craft on from where it got stuck. `None` where nothing is missing
/// or the sweep itself breaks off.
pub fn shortfall(finished: &Finished) -> Option<Shortfall> {
    let mut run = finished.run.clone();
    let model = run.model().clone();
    let speed = first(&model, &SURGE_SPEED)?;
    let (net, free) = (model.total(SURGE_FORCE.name)?, first(&model, &FREE_MARGIN)?);
    let (_, end) = run.trajectory().span();
    let v0 = run.value(speed);
    let mut profile = Profile::constant(v0);
    profile.change(end, BEYOND / PACE, v0 + BEYOND);
    run.hold(speed, profile);
    run.advance(end + BEYOND / PACE, &[]).ok()?;

    let thrust = thrusters(&model);
    // force missing, and when most is
    let mut worst: Option<(f64, f64)> = None;
    let mut clears = false;
    let mut sampler = Sampler::new(&model, run.trajectory());
    sampler.walk_from(end, 2.0 * SPACING, |t, s| {
        clears |= s.value(free) > 0.0;
        // what counts is the way to the first moment of flight
        if clears {
            return;
        }
        // the carried craft needs no force for its slow acceleration
        let missing = -s.value(net);
        if missing > 0.0 && worst.is_none_or(|(force, ..)| missing > force) {
            worst = Some((missing, t));
        }
    });
    worst.map(|(force, time)| {
        sampler.go(time);
        let net_thrust = thrust.iter().map(|&p| sampler.value(p)).sum();
        let speed = sampler.value(speed);
        Shortfall { force, speed, net_thrust, limits: binding(&model, &sampler), clears }
    })
}
