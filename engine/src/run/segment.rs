//! One segment of a run: from one happening to the next.

use std::cell::{Cell, RefCell};

use super::core::{Core, Guarded, Work};
use super::trajectory::{Log, Segment, hermite};
use super::{Condition, Happening, MAX_HAPPENINGS, Passed, Run, RunError};
use crate::model::Then;
use crate::root;

impl Run {
    /// Integrates one segment up to `end` or to the first guard that fires.
    pub(super) fn segment(&mut self, end: f64, conditions: &[Condition]) -> Result<Option<usize>, RunError> {
        let moving = self.moving();
        let model = self.model.clone();
        let events = model.events().iter().map(Guarded::Event);
        let guards: Vec<Guarded> = events.chain(conditions.iter().map(Guarded::Condition)).collect();
        let name = |k: usize| match guards[k] {
            Guarded::Event(_) => Passed::Event(k),
            Guarded::Condition(condition) => Passed::Condition(*condition),
        };
        let mut work = self.work;
        let core = self.core(&moving, &guards);
        let n = core.states.len();
        // the first row: where the segment starts
        core.fill(self.t, |i| self.y[i] * core.states[i].nominal);
        {
            let slots = &mut *core.slots.borrow_mut();
            let (_, per_nominal) = model.nominals();
            let mut rates: Vec<f64> =
                slots[model.rate_slots()].iter().zip(per_nominal).map(|(rate, per)| rate * per).collect();
            for held in core.held {
                rates[held.state] = held.profile.slope(self.t) * per_nominal[held.state];
            }
            core.log.borrow_mut().push(self.t, core.states, &self.y, &rates);

            let frame = model.frame(slots);
            for (k, (guarded, before)) in guards.iter().zip(core.before.borrow_mut().iter_mut()).enumerate() {
                // a guard that has just fired sits at zero: it must go back before it can fire again
                let just = self.passed.contains(&(name(k), self.t));
                *before = if just { 0.0 } else { guarded.value(&frame) };
            }
        }
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
        let tolerance = self.options.tolerance;
        let first = self.next_step.min(end - self.t);
        let done = core.integrate(self.t, end, &self.y, tolerance, first, self.options.max_step, &mut work);
        work.segments += 1;
        if let Some((time, equation, quantity)) = core.sick.borrow().clone() {
            return Err(RunError::NotFinite { time, equation, quantity });
        }
        done.map_err(|error| RunError::Integration { time: self.t, reason: error.to_string() })?;

        let mut fired = None;
        let mut levels = core.before.borrow().clone();
        if core.fired.get() {
            let (index, t, row) = self.locate(&core, &mut work, tolerance);
            core.fill(t, |i| row.0[i]);
            let mut slots = core.slots.borrow_mut();
            let frame = model.frame(&mut slots);
            for (k, (guarded, level)) in guards.iter().zip(&mut levels).enumerate() {
                let here = guarded.value(&frame);
                if k == index {
                    *level = 0.0;
                } else if !guarded.crossing().happens(*level, here) {
                    *level = here;
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
        self.levels = levels.into_iter().enumerate().map(|(k, level)| (name(k), level)).collect();
        if let Some((index, t)) = fired {
            self.fire(name(index), t);
        }
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

    /// Notes that a guard has fired.
    fn fire(&mut self, guard: Passed, t: f64) {
        self.passed.retain(|&(_, earlier)| earlier == t);
        self.passed.push((guard, t));
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
