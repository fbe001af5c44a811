//! Why a craft does not come to rest afloat: it is heavier than all of it under water carries, or nobody can hold
//! its trim.

use std::sync::Arc;

use engine::model::Model;
use engine::run::{Options, Run};

use super::facts::first;
use crate::handbook::G;
use crate::nomenclature::*;

/// Depths looked at, m: step, and how many from the start down. At the last any board is under water.
const DEPTHS: (f64, u32) = (0.05, 30);

/// Share of the mass that has to be carried beyond it before trim is worth looking at (a guess).
const BARELY: f64 = 0.05;

/// What weighs and what carries, at rest and level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Afloat {
    /// All that weighs, kg.
    pub mass: f64,
    /// The most that the water carries of it, kg.
    pub carried: f64,
}

impl Afloat {
    /// Reads it off a model; none where nothing is free to sink.
    pub fn of(model: &Arc<Model>) -> Option<Afloat> {
        let (depth, pitch) = (first(model, &CG_DEPTH)?, first(model, &PITCH)?);
        model.state_index(depth)?;
        let (mass, force) = (model.total(MASS.name)?, model.total(HEAVE_FORCE.name)?);
        let mut run = Run::new(model.clone(), Options { settle: false, ..Options::default() });
        for (kind, value) in [(&SURGE_SPEED, 0.0), (&HEAVE_SPEED, 0.0), (&PITCH_RATE, 0.0)] {
            if let Some(probe) = first(model, kind) {
                run.place(probe, value);
            }
        }
        run.place(pitch, 0.0);
        let (step, number) = DEPTHS;
        let down = |run: &mut Run, k: u32| {
            run.place(depth, model.start_value(depth) + step * f64::from(k));
            run.value(force)
        };
        let least = (0..=number).map(|k| down(&mut run, k)).fold(f64::INFINITY, f64::min);
        let mass = run.value(mass);
        let carried = mass - least / G;
        (mass.is_finite() && carried.is_finite()).then_some(Afloat { mass, carried })
    }

    /// Whether it goes under.
    pub fn sinks(&self) -> bool {
        self.mass >= self.carried
    }

    /// In words, for a craft that finds no equilibrium at rest.
    pub fn words(&self) -> String {
        let Afloat { mass, carried } = self;
        if self.sinks() {
            format!(
                "it sinks at rest: it weighs {mass:.1} kg all up, and with everything under water {carried:.1} kg are carried"
            )
        } else {
            format!(
                "at rest it would float ({mass:.1} kg all up, {carried:.1} kg carried with everything under water), but no \
                 trim was found that the rider can hold"
            )
        }
    }

    /// What to do about it.
    pub fn remedy(&self) -> String {
        if self.sinks() {
            let lacking = (self.mass - self.carried).ceil().max(1.0);
            format!(
                "take {lacking:.0} kg off at least, or give the board {lacking:.0} L more volume at least"
            )
        } else if self.carried < (1.0 + BARELY) * self.mass {
            "so little to spare leaves him nothing to stand on: give the board more volume".into()
        } else {
            "move the rider (`forward`), give him more `reach`, or give the board more volume".into()
        }
    }
}

/// How a run begins under way that does not begin afloat.
pub fn under_way(model: &Model) -> String {
    let speed = first(model, &SURGE_SPEED).map_or("motion.surge_speed", |p| model.name(p));
    format!(
        "many boards do not carry a standing rider at rest: a run may begin as if he had got it going, with \
         `start_as_set()` and a speed, as in start(\"{speed}\", \"2 m/s\")"
    )
}
