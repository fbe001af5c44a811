//! One segment of a run: from one happening to the next.

use super::core::{Core, Guarded};
use super::error::reason;
use super::solve::Stretch;
use super::trajectory::{Log, Segment};
use super::{Condition, Happening, MAX_HAPPENINGS, Passed, Run, RunError};
use crate::model::{Model, Probe, Then};
use crate::profile::Profile;

/// How a segment ended: the guard that fired and when, if one did.
type Ending = Result<Option<(usize, f64)>, RunError>;

impl Run {
    /// Integrates one segment up to `end` or to the first guard that fires.
    ///
    /// Where it breaks off, what was recorded until then is kept all the same.
    pub(super) fn segment(&mut self, end: f64, conditions: &[Condition]) -> Result<Option<usize>, RunError> {
        let moving = self.moving();
        let model = self.model.clone();
        let events = model.events().iter().map(Guarded::Event);
        let guards: Vec<Guarded> = events.chain(conditions.iter().map(Guarded::Condition)).collect();
        let name = |k: usize| match guards[k] {
            Guarded::Event(_) => Passed::Event(k),
            Guarded::Condition(condition) => Passed::Condition(*condition),
        };
        let core = self.core(&moving, &guards);
        if core.full() {
            return Err(RunError::TooLong { time: self.t, steps: self.trajectory.rows() });
        }
        self.begin(&core, name)?;
        // what happened between the segments may have carried a guard over zero
        let carried = (0..guards.len()).find(|&k| {
            let last = self.levels.iter().find(|(guard, _)| *guard == name(k));
            last.is_some_and(|&(_, last)| guards[k].crossing().happens(last, core.before.borrow()[k]))
        });
        if let Some(k) = carried {
            let fired = name(k);
            self.levels.retain(|(guard, _)| *guard != fired);
            self.fire(fired, self.t);
            return Ok(Some(k));
        }
        let stretch = Stretch {
            start: self.t,
            end,
            tolerance: self.options.tolerance,
            first_step: self.next_step.min(end - self.t),
            max_step: self.options.max_step,
        };
        let done = core.integrate(stretch, &self.y);
        let steps = core.log.borrow().t.len() - 1;
        let rejected = *done.as_ref().unwrap_or(&0);
        let ending = match done {
            Err(error) => Err(core.sick.take().unwrap_or_else(|| stuck(&core, &error))),
            Ok(_) if core.fired.get() => Ok(Some(self.cut_short(&core))),
            Ok(_) => self.in_time(&core, end),
        };
        let levels = core.before.take();
        let levels = levels.into_iter().enumerate().map(|(k, level)| (name(k), level)).collect();
        let (log, sightings, evaluations) = (core.log.take(), core.sightings.take(), core.evaluations.get());
        self.levels = levels;
        self.sightings = sightings;
        self.work.evaluations += evaluations;
        self.work.steps += steps;
        self.work.rejected += rejected;
        self.work.segments += 1;
        if let Ok(Some((index, t))) = ending {
            self.fire(name(index), t);
        }
        self.keep(&model, log, moving);
        ending.map(|fired| fired.map(|(index, _)| index))
    }

    /// Writes the first row, where the segment starts, and the guards' values there.
    ///
    /// Without finite rates there is no start and nothing to record.
    fn begin(&self, core: &Core, name: impl Fn(usize) -> Passed) -> Result<(), RunError> {
        core.fill(self.t, |i| self.y[i] * core.states[i].nominal);
        let slots = &mut *core.slots.borrow_mut();
        let (_, per_nominal) = core.model.nominals();
        let mut rates: Vec<f64> =
            slots[core.model.rate_slots()].iter().zip(per_nominal).map(|(rate, per)| rate * per).collect();
        for held in core.held {
            rates[held.state] = held.profile.slope(self.t) * per_nominal[held.state];
        }
        if self.y.iter().chain(&rates).any(|v| !v.is_finite()) {
            return Err(core.not_finite(self.t, slots));
        }
        core.log.borrow_mut().push(self.t, core.states, &self.y, &rates);

        let frame = core.model.frame(slots);
        for (k, (guarded, before)) in core.guards.iter().zip(core.before.borrow_mut().iter_mut()).enumerate()
        {
            // a guard that has just fired sits at zero: it must go back before it can fire again
            let just = self.passed.contains(&(name(k), self.t));
            *before = if just { 0.0 } else { guarded.value(&frame) };
        }
        Ok(())
    }

    /// Cuts the last step short at the first passage in it; returns whose it is and when.
    fn cut_short(&self, core: &Core) -> (usize, f64) {
        let (index, row) = core.locate(self.options.tolerance);
        core.fill(row.t, |i| row.y[i]);
        let mut slots = core.slots.borrow_mut();
        let frame = core.model.frame(&mut slots);
        for (k, (guarded, level)) in core.guards.iter().zip(core.before.borrow_mut().iter_mut()).enumerate() {
            let here = guarded.value(&frame);
            if k == index {
                *level = 0.0;
            } else if !guarded.crossing().happens(*level, here) {
                *level = here;
            }
        }
        let t = row.t;
        core.log.borrow_mut().replace_last(row);
        (index, t)
    }

    /// Whether the segment came to its end before the record was full.
    fn in_time(&self, core: &Core, end: f64) -> Ending {
        let log = core.log.borrow();
        match log.t.last() {
            Some(&time) if time < end && core.full() => {
                Err(RunError::TooLong { time, steps: self.trajectory.rows() + log.t.len() })
            }
            _ => Ok(None),
        }
    }

    /// Adds a log to the record and goes on from its last row.
    fn keep(&mut self, model: &Model, log: Log, moving: Vec<(u32, Profile)>) {
        let (n, last) = (model.states().len(), log.t.len() - 1);
        let (y, _) = log.row(last, n);
        self.t = log.t[last];
        self.y = y.iter().zip(model.states()).map(|(y, s)| y / s.nominal).collect();
        if last > 0 {
            self.next_step = (log.t[last] - log.t[last - 1]).max(1e-6).min(self.options.max_step);
        }
        let steady = model.modes().iter().copied().chain(self.inputs.iter().map(|(slot, _)| *slot));
        let fixed = steady.map(|slot| (slot, self.slots[slot as usize])).collect();
        let since = log.t[0];
        self.trajectory.push(Segment { log, fixed, moving, since });
    }

    /// Notes that a guard has fired.
    fn fire(&mut self, guard: Passed, t: f64) {
        self.passed.retain(|&(_, earlier)| earlier == t);
        self.passed.push((guard, t));
    }

    /// Carries out the action of a part's event at the present time.
    pub(super) fn act(&mut self, index: usize) -> Result<(), RunError> {
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

/// The integrator gave up: how far it got, why, and what moves most there.
fn stuck(core: &Core, error: &ode_solvers::dop_shared::IntegrationError) -> RunError {
    let log = core.log.borrow();
    let last = log.t.len() - 1;
    let paces = log.row(last, core.states.len()).1.iter().zip(core.states);
    let fastest = paces
        .max_by(|(f, s), (g, r)| (*f / s.nominal).abs().total_cmp(&(*g / r.nominal).abs()))
        .map_or("nothing", |(_, state)| core.model.name(Probe(state.value)));
    RunError::Integration { time: log.t[last], reason: reason(error), fastest: fastest.to_string() }
}
