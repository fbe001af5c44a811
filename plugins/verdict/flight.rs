//! What became of the flight, of the rider and of the pack.

use engine::model::{Model, Probe};
use engine::run::Sampler;

use super::facts::first;
use crate::nomenclature::*;

/// Share of separated flow from which a wing counts as stalled.
const SEPARATED: f64 = 0.5;
/// Share of his reach from which a rider counts as at its end.
const AT_END_OF_REACH: f64 = 0.95;
/// Departure from the trim wanted that counts as lost, rad (6°), and for how long, s.
const TRIM_LOST: (f64, f64) = (0.105, 0.5);

/// Take-off as it happened.
#[derive(Debug, Clone, PartialEq)]
pub struct TakeOff {
    pub time: f64,
    pub distance: f64,
    /// Over ground.
    pub speed: f64,
    pub energy_wh: Option<f64>,
    pub charge_ah: Option<f64>,
}

/// What is looked at.
#[derive(Debug, Clone, PartialEq, Default)]
struct Probes {
    depths: Vec<Probe>,
    stalls: Vec<Probe>,
    trips: Vec<Probe>,
    reach: Option<Probe>,
    trim: Option<(Probe, Probe)>,
}

/// Take-off and what came after it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Flight {
    pub take_off: Option<TakeOff>,
    pub touch_down: Option<f64>,
    /// First time in flight that a wing broke the surface.
    pub breached: Option<f64>,
    /// First time in flight that a wing stalled.
    pub stalled: Option<f64>,
    /// When the pack's protection opened.
    pub tripped: Option<f64>,
    /// Largest share of the rider's reach in use.
    pub reach: Option<f64>,
    /// Since when the rider, at the end of his reach, has lost the trim he wants.
    pub trim_lost: Option<f64>,
    probes: Probes,
}

impl Flight {
    pub fn prepare(&mut self, model: &Model) {
        self.probes = Probes {
            depths: model.providers(WING_DEPTH.name),
            stalls: model.providers(STALL.name),
            trips: model.providers(TRIPPED.name),
            reach: first(model, &REACH_USED),
            trim: first(model, &PITCH).zip(first(model, &TRIM_COMMAND)),
        };
    }

    pub fn look(&mut self, t: f64, s: &Sampler) {
        let Flight { take_off, breached, stalled, tripped, reach, trim_lost, probes, .. } = self;
        let flying = take_off.as_ref().is_some_and(|take_off| t > take_off.time)
            && self.touch_down.is_none_or(|down| t < down);
        if flying && breached.is_none() && probes.depths.iter().any(|&p| s.value(p) <= 0.0) {
            *breached = Some(t);
        }
        if flying && stalled.is_none() && probes.stalls.iter().any(|&p| s.value(p) > SEPARATED) {
            *stalled = Some(t);
        }
        if tripped.is_none() && probes.trips.iter().any(|&p| s.value(p) > 0.5) {
            *tripped = Some(t);
        }
        let Some(used) = probes.reach.map(|p| s.value(p).abs()) else { return };
        *reach = Some(reach.unwrap_or(0.0).max(used));
        if let Some((pitch, wanted)) = probes.trim {
            let off = (s.value(pitch) - s.value(wanted)).abs() > TRIM_LOST.0;
            match *trim_lost {
                // once it has lasted, it stays lost
                Some(since) if t - since >= TRIM_LOST.1 => {}
                Some(_) if !off => *trim_lost = None,
                None if off && used > AT_END_OF_REACH => *trim_lost = Some(t),
                _ => {}
            }
        }
    }

    /// How long after take-off something happened, s.
    pub fn after_take_off(&self, t: Option<f64>) -> Option<f64> {
        Some(t? - self.take_off.as_ref()?.time)
    }
}
