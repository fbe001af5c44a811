//! A run of a model through time: stopped at happenings and resumed.

mod core;
mod settle;
mod trajectory;

use std::cell::{Cell, RefCell};
use std::sync::Arc;

use thiserror::Error;

pub use self::core::Work;
use self::core::{Core, Guarded, Held, Sighting};
use self::trajectory::{Log, Segment, hermite};
pub use self::trajectory::{Sampler, Trajectory};
use crate::model::{Crossing, Model, Probe, Then};
use crate::profile::Profile;
use crate::root;

/// How a run is integrated.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Relative tolerance per step; the absolute one is this times a state's usual size.
    pub tolerance: f64,
    /// Longest step, s.
    pub max_step: f64,
    /// Whether the craft is brought to rest and balance first.
    pub settle: bool,
}

impl Default for Options {
    fn default() -> Options {
        Options { tolerance: 1e-6, max_step: 0.2, settle: true }
    }
}

/// A quantity passing a level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Condition {
    /// The quantity.
    pub quantity: Probe,
    /// The direction.
    pub crossing: Crossing,
    /// The level, in the quantity's unit.
    pub level: f64,
}

/// Why a run paused.
#[derive(Debug, Clone, PartialEq)]
pub enum Pause {
    /// The time asked for was reached.
    Time,
    /// A condition came true: its place in the list.
    Condition(usize),
    /// A part ended the run.
    Ended,
}

/// Something that happened in a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Happening {
    /// When, s.
    pub time: f64,
    /// Instance whose event it is.
    pub instance: String,
    /// Name of the event.
    pub event: String,
}

/// A range that was left during a run.
#[derive(Debug, Clone, PartialEq)]
pub struct RangeWarning {
    /// The quantity.
    pub quantity: Probe,
    /// What it means.
    pub message: &'static str,
    /// Lower end of the range.
    pub low: f64,
    /// Upper end of the range.
    pub high: f64,
    /// When it was first left, s.
    pub first: f64,
    /// The value farthest out.
    pub worst: f64,
}

/// Why a run could not go on.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RunError {
    /// An equation produced a number that is not finite.
    #[error("at {time} s {equation} gave no finite value for {quantity}")]
    NotFinite {
        /// When, s.
        time: f64,
        /// `instance: equation`.
        equation: String,
        /// Name of the quantity.
        quantity: String,
    },
    /// The integrator gave up.
    #[error("the integration stopped at {time} s: {reason}")]
    Integration {
        /// When, s.
        time: f64,
        /// In the integrator's words.
        reason: String,
    },
    /// The start could not be balanced.
    #[error("no equilibrium at the start: {}", .residuals.join(", "))]
    NoEquilibrium {
        /// What is left over, by name.
        residuals: Vec<String>,
    },
    /// More happenings than a run can plausibly have.
    #[error("{event} of {instance} happens again and again at {time} s")]
    Chatter {
        /// When, s.
        time: f64,
        /// The instance.
        instance: String,
        /// The event.
        event: String,
    },
}

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
    passed: Vec<(Passed, f64)>,
    /// Guards that passed zero at the very instant another one was acted on.
    due: Vec<Passed>,
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
            due: Vec::new(),
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

    /// Lets a held state go on by its equation.
    pub fn release(&mut self, probe: Probe) {
        let state = self.model.state_index(probe);
        self.held.retain(|held| Some(held.state) != state);
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
        let moving = self.moving();
        let core = self.core(&moving, &[]);
        core.fill(self.t, |i| self.y[i] * core.states[i].nominal);
        core.slots.into_inner()[probe.0 as usize]
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

    /// Inputs that follow a profile; steady ones are written into `slots` instead.
    fn moving(&mut self) -> Vec<(u32, Profile)> {
        for (slot, profile) in &self.inputs {
            self.slots[*slot as usize] = profile.at(self.t, self.t);
        }
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

    /// Integrates one segment up to `end` or to the first guard that fires.
    fn segment(&mut self, end: f64, conditions: &[Condition]) -> Result<Option<usize>, RunError> {
        let moving = self.moving();
        let model = self.model.clone();
        let events = model.events().iter().map(Guarded::Event);
        let guards: Vec<Guarded> = events.chain(conditions.iter().map(Guarded::Condition)).collect();
        let name = |k: usize| match guards[k] {
            Guarded::Event(_) => Passed::Event(k),
            Guarded::Condition(condition) => Passed::Condition(*condition),
        };
        while let Some(due) = self.due.pop() {
            if let Some(k) = (0..guards.len()).find(|&k| name(k) == due) {
                self.passed.push((due, self.t));
                return Ok(Some(k));
            }
        }

        let mut work = self.work;
        let core = self.core(&moving, &guards);
        let n = core.states.len();
        // the first row: where the segment starts
        core.fill(self.t, |i| self.y[i] * core.states[i].nominal);
        {
            let slots = &mut *core.slots.borrow_mut();
            let mut rates: Vec<f64> =
                core.states.iter().map(|s| slots[s.rate as usize] * s.per_nominal).collect();
            for held in core.held {
                rates[held.state] = held.profile.slope(self.t) * core.states[held.state].per_nominal;
            }
            core.log.borrow_mut().push(self.t, core.states, &self.y, &rates);

            let frame = model.frame(slots);
            for (k, (guarded, before)) in guards.iter().zip(core.before.borrow_mut().iter_mut()).enumerate() {
                // a guard that has just fired sits at zero: it must go back before it can fire again
                let just = self.passed.contains(&(name(k), self.t));
                *before = if just { 0.0 } else { guarded.value(&frame) };
            }
        }
        let tolerance = self.options.tolerance;
        let first = self.next_step.min(end - self.t);
        let done = core.integrate(self.t, end, &self.y, tolerance, first, self.options.max_step, &mut work);
        work.segments += 1;
        if let Some((time, equation, quantity)) = core.sick.borrow().clone() {
            return Err(RunError::NotFinite { time, equation, quantity });
        }
        done.map_err(|error| RunError::Integration { time: self.t, reason: error.to_string() })?;

        let mut fired = None;
        let mut due = Vec::new();
        if core.fired.get() {
            let (index, t, row) = self.locate(&core, &mut work, tolerance);
            core.fill(t, |i| row.0[i]);
            let mut slots = core.slots.borrow_mut();
            let frame = model.frame(&mut slots);
            for (k, guarded) in guards.iter().enumerate().rev().filter(|(k, _)| *k != index) {
                if guarded.crossing().happens(core.before.borrow()[k], guarded.value(&frame)) {
                    due.push(name(k));
                }
            }
            drop(slots);
            let log = &mut *core.log.borrow_mut();
            log.t.pop();
            log.y.truncate(log.t.len() * n);
            log.f.truncate(log.t.len() * n);
            log.t.push(t);
            log.y.extend(&row.0);
            log.f.extend(&row.1);
            fired = Some((index, t));
        }
        work.evaluations += core.evaluations.get();
        let sightings = core.sightings.into_inner();
        let log = core.log.into_inner();
        if let Some((index, t)) = fired {
            self.passed.retain(|&(_, earlier)| earlier == t);
            self.passed.push((name(index), t));
        }
        self.due = due;
        let last = log.t.len() - 1;
        self.t = log.t[last];
        self.y = log.row(last, n).0.iter().zip(model.states()).map(|(y, s)| y / s.nominal).collect();
        if last > 0 {
            self.next_step = (log.t[last] - log.t[last - 1]).clamp(1e-6, self.options.max_step);
        }
        let fixed = model
            .modes()
            .iter()
            .copied()
            .chain(self.inputs.iter().map(|(slot, _)| *slot))
            .map(|slot| (slot, self.slots[slot as usize]))
            .collect();
        let since = log.t[0];
        self.trajectory.segments.push(Segment { log, fixed, moving, since });
        self.sightings = sightings;
        self.work = work;
        Ok(fired.map(|(index, _)| index))
    }

    /// Which guard fired first in the last step, when, and the state there.
    fn locate(&self, core: &Core, work: &mut Work, tolerance: f64) -> (usize, f64, (Vec<f64>, Vec<f64>)) {
        let log = &*core.log.borrow();
        let n = core.states.len();
        let last = log.t.len() - 1;
        let (t0, t1) = (log.t[last - 1], log.t[last]);
        let guard_at = |k: usize, t: f64, state: &dyn Fn(usize) -> f64| {
            core.fill(t, state);
            let mut slots = core.slots.borrow_mut();
            core.guards[k].value(&core.model.frame(&mut slots))
        };
        let between = |k: usize, t: f64| guard_at(k, t, &|i| log.between(last - 1, n, i, t));
        // the end of the step, which was the last time evaluated
        let after: Vec<f64> = {
            let mut slots = core.slots.borrow_mut();
            let frame = core.model.frame(&mut slots);
            core.guards.iter().map(|guarded| guarded.value(&frame)).collect()
        };
        let before = core.before.borrow();
        let mut first: Option<(usize, f64)> = None;
        for (k, guarded) in core.guards.iter().enumerate() {
            if guarded.crossing().happens(before[k], after[k]) {
                let t = root::bracketed(|t| between(k, t), t0, t1).unwrap_or(t1);
                if first.is_none_or(|(_, earliest)| t < earliest) {
                    first = Some((k, t));
                }
            }
        }
        let (k, mut t) = first.unwrap_or((0, t1));
        // the cubic is good to some 1e-8 s: step there again and correct
        let (y0, f0) = log.row(last - 1, n);
        let y0: Vec<f64> = y0.iter().zip(core.states).map(|(y, s)| y / s.nominal).collect();
        let mut row = (log.row(last, n).0.to_vec(), log.row(last, n).1.to_vec());
        if t < t1 {
            for _ in 0..3 {
                let again = Core {
                    guards: &[],
                    watches: &[],
                    slots: RefCell::new(core.slots.borrow().clone()),
                    log: RefCell::new(Log::default()),
                    before: RefCell::new(Vec::new()),
                    fired: Cell::new(false),
                    sightings: RefCell::new(Vec::new()),
                    sick: RefCell::new(None),
                    evaluations: Cell::new(0),
                    ..*core
                };
                let mut ignored = Work::default();
                let step = t - t0;
                if step <= 1e-12 * (1.0 + t0.abs()) {
                    row = (log.row(last - 1, n).0.to_vec(), f0.to_vec());
                    break;
                }
                if again.integrate(t0, t, &y0, tolerance, step, step, &mut ignored).is_err() {
                    break;
                }
                work.evaluations += again.evaluations.get();
                let there = again.log.into_inner();
                let end = there.t.len() - 1;
                let (y, f) = there.row(end, n);
                row = (y.to_vec(), f.to_vec());
                let g = guard_at(k, t, &|i| row.0[i]);
                let h = 1e-6 * (t1 - t0);
                let slope = (guard_at(k, t, &|i| {
                    hermite(t + h, t, t + 2.0 * h, (y[i], f[i]), (y[i] + 2.0 * h * f[i], f[i]))
                }) - g)
                    / h;
                let correction = if slope == 0.0 { 0.0 } else { -g / slope };
                if !correction.is_finite() || correction.abs() < 1e-10 {
                    break;
                }
                t = (t + correction).clamp(t0, t1);
            }
        }
        (k, t, row)
    }

    /// Carries out the action of a part's event at the present time.
    fn act(&mut self, index: usize) -> Result<(), RunError> {
        let model = self.model.clone();
        let event = &model.events()[index];
        let instance = model.instance_name(event.instance);
        let moving = self.moving();
        let core = self.core(&moving, &[]);
        core.fill(self.t, |i| self.y[i] * core.states[i].nominal);
        let mut slots = core.slots.into_inner();
        let then = (event.act)(&mut model.frame(&mut slots));
        for (i, state) in model.states().iter().enumerate() {
            self.y[i] = slots[state.value as usize] / state.nominal;
        }
        for &slot in model.modes() {
            self.slots[slot as usize] = slots[slot as usize];
        }
        self.happenings.push(Happening {
            time: self.t,
            instance: instance.to_string(),
            event: event.name.into(),
        });
        if self.happenings.len() > MAX_HAPPENINGS {
            return Err(RunError::Chatter {
                time: self.t,
                instance: instance.to_string(),
                event: event.name.into(),
            });
        }
        if then == Then::Stop {
            self.ended = true;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests;
