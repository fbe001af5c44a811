//! The right-hand side of one segment, as the integrator sees it.

use std::cell::{Cell, RefCell};

use ode_solvers::dop_shared::IntegrationError;
use ode_solvers::dopri5::Dopri5;
use ode_solvers::{DVector, OutputType, SVector, System};

use super::Condition;
use super::trajectory::Log;
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
    /// Steps rejected.
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
    pub slots: RefCell<Vec<f64>>,
    pub log: RefCell<Log>,
    pub before: RefCell<Vec<f64>>,
    pub fired: Cell<bool>,
    pub sightings: RefCell<Vec<Option<Sighting>>>,
    pub sick: RefCell<Option<(f64, String, String)>>,
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
        // an integrator cannot be told of a failure, so it is noted and the run stops at the next step
        if !finite {
            dy.fill(0.0);
            let mut sick = self.sick.borrow_mut();
            if sick.is_none() {
                let (equation, quantity) = self.model.first_non_finite(slots).unwrap_or_default();
                *sick = Some((t, equation, quantity));
            }
        }
    }

    /// Called at every accepted step, whose evaluation was the last one made.
    fn accepted(&self, t: f64, y: &[f64], dy: &[f64]) -> bool {
        if self.sick.borrow().is_some() {
            return true;
        }
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
        self.fired.get()
    }

    /// Integrates from `t` to `end`; every accepted step goes to the log.
    #[allow(clippy::too_many_arguments)] // the parameters of one integration
    pub fn integrate(
        &self,
        t: f64,
        end: f64,
        y: &[f64],
        tolerance: f64,
        first_step: f64,
        max_step: f64,
        work: &mut Work,
    ) -> Result<(), IntegrationError> {
        match self.states.len() {
            0..=16 => self.fixed::<16>(t, end, y, tolerance, first_step, max_step, work),
            17..=24 => self.fixed::<24>(t, end, y, tolerance, first_step, max_step, work),
            25..=32 => self.fixed::<32>(t, end, y, tolerance, first_step, max_step, work),
            33..=48 => self.fixed::<48>(t, end, y, tolerance, first_step, max_step, work),
            49..=64 => self.fixed::<64>(t, end, y, tolerance, first_step, max_step, work),
            65..=72 => self.fixed::<72>(t, end, y, tolerance, first_step, max_step, work),
            73..=80 => self.fixed::<80>(t, end, y, tolerance, first_step, max_step, work),
            81..=96 => self.fixed::<96>(t, end, y, tolerance, first_step, max_step, work),
            n => {
                let mut start = DVector::zeros(n);
                start.as_mut_slice().copy_from_slice(y);
                let solver = Dopri5::from_param(
                    self,
                    t,
                    end,
                    1.0,
                    start,
                    tolerance,
                    tolerance,
                    SAFETY,
                    BETA,
                    SHRINK,
                    GROW,
                    max_step,
                    first_step,
                    MAX_STEPS,
                    STIFFNESS_EVERY,
                    OutputType::Sparse,
                );
                finish(solver, work)
            }
        }
    }

    /// With the states padded to one of a few sizes, known when compiling.
    #[allow(clippy::too_many_arguments)] // the parameters of one integration, named once more
    fn fixed<const N: usize>(
        &self,
        t: f64,
        end: f64,
        y: &[f64],
        tolerance: f64,
        first_step: f64,
        max_step: f64,
        work: &mut Work,
    ) -> Result<(), IntegrationError> {
        let mut start = SVector::<f64, N>::zeros();
        start.as_mut_slice()[..y.len()].copy_from_slice(y);
        // the error norm is a mean over all N entries, of which the padding has none
        let tolerance = tolerance * (y.len() as f64 / N as f64).sqrt();
        let solver = Dopri5::from_param(
            self,
            t,
            end,
            1.0,
            start,
            tolerance,
            tolerance,
            SAFETY,
            BETA,
            SHRINK,
            GROW,
            max_step,
            first_step,
            MAX_STEPS,
            STIFFNESS_EVERY,
            OutputType::Sparse,
        );
        finish(solver, work)
    }
}

// The customary step-size control of the method (Hairer, Nørsett, Wanner,
// Solving Ordinary Differential Equations I, 2nd ed. 1993, II.4).
const SAFETY: f64 = 0.9;
const BETA: f64 = 0.04;
const SHRINK: f64 = 0.2;
const GROW: f64 = 10.0;
const MAX_STEPS: u32 = 100_000;
const STIFFNESS_EVERY: u32 = 1000;

trait Integrates {
    fn go(&mut self) -> Result<(usize, usize), IntegrationError>;
}

impl<const N: usize> Integrates for Dopri5<f64, SVector<f64, N>, &Core<'_>> {
    fn go(&mut self) -> Result<(usize, usize), IntegrationError> {
        self.integrate().map(|s| (s.accepted_steps as usize, s.rejected_steps as usize))
    }
}

impl Integrates for Dopri5<f64, DVector<f64>, &Core<'_>> {
    fn go(&mut self) -> Result<(usize, usize), IntegrationError> {
        self.integrate().map(|s| (s.accepted_steps as usize, s.rejected_steps as usize))
    }
}

fn finish(mut solver: impl Integrates, work: &mut Work) -> Result<(), IntegrationError> {
    let (steps, rejected) = solver.go()?;
    work.steps += steps;
    work.rejected += rejected;
    Ok(())
}

impl<const N: usize> System<f64, SVector<f64, N>> for &Core<'_> {
    fn system(&self, t: f64, y: &SVector<f64, N>, dy: &mut SVector<f64, N>) {
        Core::system(self, t, y.as_slice(), dy.as_mut_slice());
    }
    fn solout(&mut self, t: f64, y: &SVector<f64, N>, dy: &SVector<f64, N>) -> bool {
        self.accepted(t, y.as_slice(), dy.as_slice())
    }
}

impl System<f64, DVector<f64>> for &Core<'_> {
    fn system(&self, t: f64, y: &DVector<f64>, dy: &mut DVector<f64>) {
        Core::system(self, t, y.as_slice(), dy.as_mut_slice());
    }
    fn solout(&mut self, t: f64, y: &DVector<f64>, dy: &DVector<f64>) -> bool {
        self.accepted(t, y.as_slice(), dy.as_slice())
    }
}
