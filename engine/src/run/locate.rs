//! When exactly, within the last step, a guard passed zero.

use std::cell::{Cell, RefCell};

use super::core::Core;
use super::solve::Stretch;
use super::trajectory::Log;
use crate::root;

/// Correction of the time below which it counts as found, s.
const FOUND: f64 = 1e-10;

/// States and their rates at one time.
#[derive(Debug, Clone)]
pub(crate) struct Row {
    pub t: f64,
    pub y: Vec<f64>,
    pub f: Vec<f64>,
}

impl Core<'_> {
    /// Which guard fired first in the last step, and the states at that instant.
    pub fn locate(&self, tolerance: f64) -> (usize, Row) {
        let (t0, end) = self.last_step();
        match self.first_passage(t0, end.t) {
            Some((k, t)) if t < end.t => (k, self.sharpened(k, t, tolerance, end)),
            Some((k, _)) => (k, end),
            None => (0, end),
        }
    }

    /// Begin of the last step and the states at its end.
    fn last_step(&self) -> (f64, Row) {
        let log = self.log.borrow();
        let last = log.t.len() - 1;
        let (y, f) = log.row(last, self.states.len());
        (log.t[last - 1], Row { t: log.t[last], y: y.to_vec(), f: f.to_vec() })
    }

    /// The earliest passage of any guard, on the cubic through both ends of the step.
    fn first_passage(&self, t0: f64, t1: f64) -> Option<(usize, f64)> {
        // the end of the step, which was the last time evaluated
        let after: Vec<f64> = {
            let mut slots = self.slots.borrow_mut();
            let frame = self.model.frame(&mut slots);
            self.guards.iter().map(|guarded| guarded.value(&frame)).collect()
        };
        let log = self.log.borrow();
        let (n, row) = (self.states.len(), log.t.len() - 2);
        let before = self.before.borrow();
        let mut first: Option<(usize, f64)> = None;
        for (k, guarded) in self.guards.iter().enumerate() {
            if guarded.crossing().happens(before[k], after[k]) {
                let between = |t: f64| self.guard_at(k, t, |i| log.between(row, n, i, t));
                let t = root::bracketed(between, t0, t1).unwrap_or(t1);
                if first.is_none_or(|(_, earliest)| t < earliest) {
                    first = Some((k, t));
                }
            }
        }
        first
    }

    /// Value of guard `k` at time `t` with the states given.
    fn guard_at(&self, k: usize, t: f64, state: impl Fn(usize) -> f64) -> f64 {
        self.fill(t, state);
        let mut slots = self.slots.borrow_mut();
        self.guards[k].value(&self.model.frame(&mut slots))
    }

    /// The cubic is good to some 1e-8 s: steps to the passage of guard `k` again and corrects its time.
    fn sharpened(&self, k: usize, t: f64, tolerance: f64, end: Row) -> Row {
        let log = self.log.borrow();
        let (n, last) = (self.states.len(), log.t.len() - 1);
        let (t0, (y0, f0)) = (log.t[last - 1], log.row(last - 1, n));
        let mut found = self.on_the_cubic(&log, t);
        let mut t = t;
        for _ in 0..3 {
            if t - t0 <= 1e-12 * (1.0 + t0.abs()) {
                return Row { t, y: y0.to_vec(), f: f0.to_vec() };
            }
            let Some(there) = self.step_again(t0, y0, t, tolerance) else {
                break;
            };
            found = there;
            let correction = self.correction(k, &found, end.t - t0);
            if !correction.is_finite() || correction.abs() < FOUND {
                break;
            }
            t = (t + correction).clamp(t0, end.t);
        }
        found
    }

    /// The states at `t` within the last step as the cubic has them.
    fn on_the_cubic(&self, log: &Log, t: f64) -> Row {
        let (n, last) = (self.states.len(), log.t.len() - 1);
        let (t0, t1) = (log.t[last - 1], log.t[last]);
        let (f0, f1) = (log.row(last - 1, n).1, log.row(last, n).1);
        let s = (t - t0) / (t1 - t0);
        Row {
            t,
            y: (0..n).map(|i| log.between(last - 1, n, i, t)).collect(),
            f: f0.iter().zip(f1).map(|(f0, f1)| f0 + s * (f1 - f0)).collect(),
        }
    }

    /// The states at `t` by integration from `t0`, or nothing where that fails.
    fn step_again(&self, t0: f64, y0: &[f64], t: f64, tolerance: f64) -> Option<Row> {
        let again = Core {
            guards: &[],
            watches: &[],
            room: usize::MAX,
            slots: RefCell::new(self.slots.borrow().clone()),
            log: RefCell::new(Log::default()),
            before: RefCell::new(Vec::new()),
            fired: Cell::new(false),
            sightings: RefCell::new(Vec::new()),
            sick: RefCell::new(None),
            evaluations: Cell::new(0),
            ..*self
        };
        let step = t - t0;
        let stretch = Stretch { start: t0, end: t, tolerance, first_step: step, max_step: step };
        let scaled: Vec<f64> = y0.iter().zip(self.states).map(|(y, s)| y / s.nominal).collect();
        let done = again.integrate(stretch, &scaled);
        self.evaluations.set(self.evaluations.get() + again.evaluations.get());
        done.ok()?;
        let log = again.log.into_inner();
        let (y, f) = log.row(log.t.len().checked_sub(1)?, self.states.len());
        Some(Row { t, y: y.to_vec(), f: f.to_vec() })
    }

    /// Newton's step in time towards the zero of guard `k`, within a step of length `step`.
    fn correction(&self, k: usize, at: &Row, step: f64) -> f64 {
        let Row { t, y, f } = at;
        let g = self.guard_at(k, *t, |i| y[i]);
        let h = 1e-6 * step;
        let slope = (self.guard_at(k, t + h, |i| y[i] + h * f[i]) - g) / h;
        if slope == 0.0 { 0.0 } else { -g / slope }
    }
}
