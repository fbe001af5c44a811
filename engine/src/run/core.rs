//! The right-hand side of one segment, as the integrator sees it.

use std::cell::{Cell, RefCell};

use super::trajectory::Log;
use super::{Condition, RunError};
use crate::model::{Crossing, EventEntry, Frame, In, Model, StateEntry, WatchEntry};
use crate::profile::Profile;

/// A state that follows a profile instead of its equation.
#[derive(Debug, Clone)]
pub(crate) struct Held {
    pub state: usize,
    pub profile: Profile,
}

/// Something that ends a segment when it passes zero.
#[derive(Clone, Copy)]
pub(crate) enum Guarded<'a> {
    Event(&'a EventEntry),
    Condition(&'a Condition),
}

impl Guarded<'_> {
    pub fn crossing(self) -> Crossing {
        match self {
            Guarded::Event(event) => event.crossing,
            Guarded::Condition(condition) => condition.crossing,
        }
    }

    pub fn value(self, at: &Frame) -> f64 {
        match self {
            Guarded::Event(event) => (event.guard)(at),
            Guarded::Condition(condition) => at[In(condition.quantity.0)] - condition.level,
        }
    }
}

/// What a watch has seen.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sighting {
    pub first: f64,
    pub worst: f64,
}

/// How much work a run has been.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Work {
    /// Evaluations of the right-hand side.
    pub evaluations: usize,
    /// Steps accepted.
    pub steps: usize,
    /// Steps rejected, those of a stretch in which the integrator gave up left out.
    pub rejected: usize,
    /// Segments.
    pub segments: usize,
}

pub(crate) struct Core<'a> {
    pub model: &'a Model,
    pub states: &'a [StateEntry],
    pub moving: &'a [(u32, Profile)],
    pub held: &'a [Held],
    pub guards: &'a [Guarded<'a>],
    pub watches: &'a [WatchEntry],
    pub since: f64,
    /// Rows the log may have.
    pub room: usize,
    pub slots: RefCell<Vec<f64>>,
    pub log: RefCell<Log>,
    pub before: RefCell<Vec<f64>>,
    pub fired: Cell<bool>,
    pub sightings: RefCell<Vec<Option<Sighting>>>,
    /// What was not finite since the last accepted step.
    pub sick: RefCell<Option<RunError>>,
    pub evaluations: Cell<usize>,
}

impl Core<'_> {
    /// Fills every quantity from the time and the states.
    pub fn fill(&self, t: f64, state: impl Fn(usize) -> f64) {
        let slots = &mut *self.slots.borrow_mut();
        for (i, entry) in self.states.iter().enumerate() {
            slots[entry.value as usize] = state(i);
        }
        self.drive(t, slots);
        self.model.observe(slots);
    }

    /// Fills what the rates depend on from the time and the states, which stand in `slots`.
    #[inline]
    fn drive(&self, t: f64, slots: &mut [f64]) {
        slots[0] = t;
        for (slot, profile) in self.moving {
            slots[*slot as usize] = profile.at(t, self.since);
        }
        for held in self.held {
            slots[self.states[held.state].value as usize] = held.profile.at(t, self.since);
        }
        self.model.drive(slots);
        self.evaluations.set(self.evaluations.get() + 1);
    }

    /// The right-hand side; states and rates are scaled by the usual sizes of the states.
    pub fn system(&self, t: f64, y: &[f64], dy: &mut [f64]) {
        let slots = &mut *self.slots.borrow_mut();
        let (nominal, per_nominal) = self.model.nominals();
        let values = self.model.state_slots();
        for ((slot, y), nominal) in slots[values].iter_mut().zip(y).zip(nominal) {
            *slot = y * nominal;
        }
        self.drive(t, slots);
        let mut finite = true;
        let rates = self.model.rate_slots();
        for ((dy, rate), per_nominal) in dy.iter_mut().zip(&slots[rates]).zip(per_nominal) {
            finite &= rate.is_finite();
            *dy = rate * per_nominal;
        }
        for held in self.held {
            dy[held.state] = held.profile.slope(t) * per_nominal[held.state];
        }
        // NaN in the error makes the integrator reject the step and try a shorter one
        if !finite {
            // (the padding behind the states is never written again)
            dy[..self.states.len()].fill(f64::NAN);
            *self.sick.borrow_mut() = Some(self.not_finite(t, slots));
        }
    }

    /// Names the equation that first gave no finite value in `slots`.
    pub fn not_finite(&self, time: f64, slots: &[f64]) -> RunError {
        let (equation, quantity) = self.model.first_non_finite(slots).unwrap_or_default();
        RunError::NotFinite { time, equation, quantity }
    }

    /// Called at every accepted step, whose evaluation was the last one made.
    ///
    /// Returns whether the segment ends here.
    pub fn accepted(&self, t: f64, y: &[f64], dy: &[f64]) -> bool {
        self.sick.take();
        self.log.borrow_mut().push(t, self.states, y, dy);
        let slots = &mut *self.slots.borrow_mut();
        self.model.observe(slots);
        for (watch, seen) in self.watches.iter().zip(self.sightings.borrow_mut().iter_mut()) {
            let value = slots[watch.slot as usize];
            if value < watch.low || value > watch.high {
                let beyond = |v: f64| (watch.low - v).max(v - watch.high);
                match seen {
                    None => *seen = Some(Sighting { first: t, worst: value }),
                    Some(s) if beyond(value) > beyond(s.worst) => s.worst = value,
                    Some(_) => {}
                }
            }
        }
        let frame = self.model.frame(slots);
        let mut before = self.before.borrow_mut();
        let passes =
            |(guarded, before): (&Guarded, &f64)| guarded.crossing().happens(*before, guarded.value(&frame));
        if self.guards.iter().zip(before.iter()).any(passes) {
            // the step will be cut short: the values before it are still needed
            self.fired.set(true);
        } else {
            for (guarded, before) in self.guards.iter().zip(before.iter_mut()) {
                *before = guarded.value(&frame);
            }
        }
        self.fired.get() || self.full()
    }

    /// Whether the log takes no more rows.
    pub fn full(&self) -> bool {
        self.log.borrow().t.len() >= self.room
    }
}
