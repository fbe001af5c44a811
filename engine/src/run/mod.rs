//! A run of a model through time: stopped at happenings and resumed.

mod core;
mod error;
mod locate;
mod segment;
mod settle;
mod solve;
mod terms;
mod trajectory;

use std::cell::{Cell, RefCell};
use std::sync::Arc;

pub use self::core::Work;
use self::core::{Core, Guarded, Held, Sighting};
pub use self::error::RunError;
pub(crate) use self::settle::per_second;
pub use self::terms::{Condition, Happening, Options, Pause, RangeWarning};
use self::trajectory::Log;
pub use self::trajectory::{Sampler, Trajectory};
use crate::model::{Model, Probe};
use crate::profile::Profile;

/// A run under way.
#[derive(Clone)]
pub struct Run {
    model: Arc<Model>,
    options: Options,
    t: f64,
    slots: Vec<f64>,
    y: Vec<f64>,
    inputs: Vec<(u32, Profile)>,
    held: Vec<Held>,
    sightings: Vec<Option<Sighting>>,
    trajectory: Trajectory,
    happenings: Vec<Happening>,
    work: Work,
    next_step: f64,
    /// Guards that fired last, and when.
    passed: Vec<(Passed, f64)>,
    /// Value of each guard at the end of the last segment: what an action or a
    /// step makes of it afterwards counts as a passage too.
    levels: Vec<(Passed, f64)>,
    ended: bool,
}

/// A guard that has fired.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Passed {
    /// Of the model's event with this number.
    Event(usize),
    Condition(Condition),
}

/// Most happenings in one run before it is called chatter.
const MAX_HAPPENINGS: usize = 10_000;

/// Most steps one run may record, so that its memory is bounded: a step keeps
/// its time and, for each state, value and rate — 16 bytes a state. A craft of
/// 70 states fills 112 MB with this many; in flight, at ten steps or fewer a
/// second, that takes hours.
pub const MAX_RECORDED: usize = 100_000;

impl Run {
    /// A run that starts at time 0 from the model's start values.
    pub fn new(model: Arc<Model>, options: Options) -> Run {
        let slots = model.start().to_vec();
        let y = model.states().iter().map(|s| slots[s.value as usize] / s.nominal).collect();
        let inputs =
            model.inputs().into_iter().map(|p| (p.0, Profile::constant(slots[p.0 as usize]))).collect();
        let next_step = options.max_step * 1e-2;
        Run {
            sightings: vec![None; model.watches().len()],
            model,
            options,
            t: 0.0,
            slots,
            y,
            inputs,
            held: Vec::new(),
            trajectory: Trajectory::default(),
            happenings: Vec::new(),
            work: Work::default(),
            next_step,
            passed: Vec::new(),
            levels: Vec::new(),
            ended: false,
        }
    }

    /// The model.
    pub fn model(&self) -> &Arc<Model> {
        &self.model
    }

    /// Present time, s.
    pub fn time(&self) -> f64 {
        self.t
    }

    /// Whether a part has ended the run.
    pub fn ended(&self) -> bool {
        self.ended
    }

    /// The profile of an input, to be changed.
    pub fn input(&mut self, probe: Probe) -> Option<&mut Profile> {
        self.inputs.iter_mut().find(|(slot, _)| *slot == probe.0).map(|(_, profile)| profile)
    }

    /// Makes a state follow a profile instead of its equation. Returns whether it is a state.
    pub fn hold(&mut self, probe: Probe, profile: Profile) -> bool {
        let Some(state) = self.model.state_index(probe) else {
            return false;
        };
        self.held.retain(|held| held.state != state);
        self.y[state] = profile.at(self.t, self.t) / self.model.states()[state].nominal;
        self.held.push(Held { state, profile });
        true
    }

    /// Whether a state follows a profile instead of its equation.
    pub fn holds_a_state(&self) -> bool {
        !self.held.is_empty()
    }

    /// Sets a state at the present time.
    pub fn place(&mut self, probe: Probe, value: f64) -> bool {
        let Some(state) = self.model.state_index(probe) else {
            return false;
        };
        self.y[state] = value / self.model.states()[state].nominal;
        true
    }

    /// What has been recorded so far.
    pub fn trajectory(&self) -> &Trajectory {
        &self.trajectory
    }

    /// Events of parts so far.
    pub fn happenings(&self) -> &[Happening] {
        &self.happenings
    }

    /// Work done so far.
    pub fn work(&self) -> Work {
        self.work
    }

    /// Ranges left so far.
    pub fn warnings(&self) -> Vec<RangeWarning> {
        let seen = self.model.watches().iter().zip(&self.sightings);
        seen.filter_map(|(w, s)| {
            s.map(|s| RangeWarning {
                quantity: Probe(w.slot),
                message: w.message,
                low: w.low,
                high: w.high,
                first: s.first,
                worst: s.worst,
            })
        })
        .collect()
    }

    /// Value of a quantity at the present time.
    pub fn value(&mut self, probe: Probe) -> f64 {
        self.place_inputs();
        self.slots[0] = self.t;
        for (state, y) in self.model.states().iter().zip(&self.y) {
            self.slots[state.value as usize] = y * state.nominal;
        }
        for held in &self.held {
            let slot = self.model.states()[held.state].value;
            self.slots[slot as usize] = held.profile.at(self.t, self.t);
        }
        self.model.evaluate(&mut self.slots);
        self.slots[probe.0 as usize]
    }

    /// The states as the integrator sees them, each divided by its usual size,
    /// in the order of [`Model::state_probes`].
    pub fn scaled_states(&self) -> &[f64] {
        &self.y
    }

    /// Hands out the right-hand side exactly as the integrator calls it: from
    /// time and scaled states to the rates of the scaled states.
    pub fn with_right_hand_side<T>(&mut self, f: impl FnOnce(&dyn Fn(f64, &[f64], &mut [f64])) -> T) -> T {
        let moving = self.moving();
        let core = self.core(&moving, &[]);
        f(&|t, y, dy| core.system(t, y, dy))
    }

    /// Writes the present values of the inputs into `slots`.
    fn place_inputs(&mut self) {
        for (slot, profile) in &self.inputs {
            self.slots[*slot as usize] = profile.at(self.t, self.t);
        }
    }

    /// Inputs that follow a profile; steady ones are written into `slots` instead.
    fn moving(&mut self) -> Vec<(u32, Profile)> {
        self.place_inputs();
        self.inputs.iter().filter(|(_, p)| !p.is_constant()).cloned().collect()
    }

    fn core<'a>(&'a self, moving: &'a [(u32, Profile)], guards: &'a [Guarded<'a>]) -> Core<'a> {
        Core {
            model: &self.model,
            states: self.model.states(),
            moving,
            held: &self.held,
            guards,
            watches: self.model.watches(),
            since: self.t,
            room: MAX_RECORDED.saturating_sub(self.trajectory.rows()),
            slots: RefCell::new(self.slots.clone()),
            log: RefCell::new(Log::default()),
            before: RefCell::new(vec![0.0; guards.len()]),
            fired: Cell::new(false),
            sightings: RefCell::new(self.sightings.clone()),
            sick: RefCell::new(None),
            evaluations: Cell::new(0),
        }
    }

    /// Goes on until time `until`, a condition, or a part's word to stop.
    ///
    /// # Errors
    /// [`RunError`] with time and place.
    pub fn advance(&mut self, until: f64, conditions: &[Condition]) -> Result<Pause, RunError> {
        if self.trajectory.segments.is_empty() && self.options.settle {
            self.settle()?;
        }
        loop {
            if self.ended {
                return Ok(Pause::Ended);
            }
            let next = self.inputs.iter().filter_map(|(_, p)| p.next_step(self.t)).fold(until, f64::min);
            // shorter than this the integrator refuses a step
            if next - self.t < 1e-12 * (1.0 + next.abs()) {
                self.t = self.t.max(next);
                if next >= until {
                    return Ok(Pause::Time);
                }
                continue;
            }
            match self.segment(next, conditions)? {
                None if self.t >= until => return Ok(Pause::Time),
                None => {}
                Some(i) => {
                    let events = self.model.events().len();
                    if i >= events {
                        return Ok(Pause::Condition(i - events));
                    }
                    self.act(i)?;
                }
            }
        }
    }
}

#[cfg(test)]
mod tests;
