//! What a run leaves behind: its states at every accepted step, from which
//! every quantity at any time can be worked out again.

use super::locate::Row;
use crate::model::{Model, Probe, StateEntry};
use crate::profile::Profile;

/// States and rates at accepted steps, row after row.
#[derive(Debug, Clone, Default)]
pub(crate) struct Log {
    pub t: Vec<f64>,
    pub y: Vec<f64>,
    pub f: Vec<f64>,
}

impl Log {
    /// Adds a row; `y` and `dy` are scaled by the usual sizes of the states.
    pub fn push(&mut self, t: f64, states: &[StateEntry], y: &[f64], dy: &[f64]) {
        self.t.push(t);
        self.y.extend(states.iter().zip(y).map(|(s, y)| y * s.nominal));
        self.f.extend(states.iter().zip(dy).map(|(s, f)| f * s.nominal));
    }

    /// Puts another row in the place of the last one.
    pub fn replace_last(&mut self, row: Row) {
        let rest = self.t.len() - 1;
        self.t[rest] = row.t;
        self.y.truncate(rest * row.y.len());
        self.f.truncate(rest * row.f.len());
        self.y.extend(row.y);
        self.f.extend(row.f);
    }

    pub fn row(&self, i: usize, n: usize) -> (&[f64], &[f64]) {
        (&self.y[i * n..(i + 1) * n], &self.f[i * n..(i + 1) * n])
    }

    /// State `k` at time `t` between rows `i` and `i + 1`: the cubic through values and rates.
    pub fn between(&self, i: usize, n: usize, k: usize, t: f64) -> f64 {
        let (y0, f0) = self.row(i, n);
        let (y1, f1) = self.row(i + 1, n);
        hermite(t, self.t[i], self.t[i + 1], (y0[k], f0[k]), (y1[k], f1[k]))
    }
}

/// Cubic through two values with their slopes.
pub(crate) fn hermite(t: f64, t0: f64, t1: f64, (y0, f0): (f64, f64), (y1, f1): (f64, f64)) -> f64 {
    let h = t1 - t0;
    if h <= 0.0 {
        return y1;
    }
    let s = (t - t0) / h;
    let r = 1.0 - s;
    y0 * (1.0 + 2.0 * s) * r * r + y1 * s * s * (3.0 - 2.0 * s) + h * s * r * (f0 * r - f1 * s)
}

/// A stretch of a run between two happenings.
#[derive(Debug, Clone)]
pub(crate) struct Segment {
    pub log: Log,
    /// Modes and steady inputs.
    pub fixed: Vec<(u32, f64)>,
    /// Inputs that follow a profile.
    pub moving: Vec<(u32, Profile)>,
    pub since: f64,
}

/// The whole run, segment by segment.
#[derive(Debug, Clone, Default)]
pub struct Trajectory {
    pub(crate) segments: Vec<Segment>,
    rows: usize,
}

impl Trajectory {
    /// Adds a stretch, which has at least one row.
    pub(crate) fn push(&mut self, segment: Segment) {
        self.rows += segment.log.t.len();
        self.segments.push(segment);
    }

    /// Number of recorded steps; each takes 8 bytes and 16 more for every state.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// Times of all accepted steps; the instant of a happening stands twice.
    pub fn times(&self) -> Vec<f64> {
        self.segments.iter().flat_map(|s| s.log.t.iter().copied()).collect()
    }

    /// Room that the recorded steps take, bytes.
    pub fn bytes(&self) -> usize {
        let numbers = |s: &Segment| s.log.t.len() + s.log.y.len() + s.log.f.len();
        self.segments.iter().map(numbers).sum::<usize>() * size_of::<f64>()
    }

    /// Whether nothing has been recorded.
    pub fn is_empty(&self) -> bool {
        self.segments.is_empty()
    }

    /// First and last time.
    pub fn span(&self) -> (f64, f64) {
        let first = self.segments.first().and_then(|s| s.log.t.first());
        let last = self.segments.last().and_then(|s| s.log.t.last());
        (first.copied().unwrap_or(0.0), last.copied().unwrap_or(0.0))
    }
}

/// Works out all quantities at a time of a finished run.
pub struct Sampler<'a> {
    model: &'a Model,
    trajectory: &'a Trajectory,
    slots: Vec<f64>,
}

impl<'a> Sampler<'a> {
    /// A sampler for a run of this model.
    pub fn new(model: &'a Model, trajectory: &'a Trajectory) -> Sampler<'a> {
        Sampler { model, trajectory, slots: model.start().to_vec() }
    }

    /// Moves to time `t`, held within the run; just after a happening, not before it.
    pub fn go(&mut self, t: f64) {
        let i = self.trajectory.segments.partition_point(|s| s.since <= t).max(1) - 1;
        self.fill(i, t);
    }

    /// Moves to time `t` within segment `i`.
    fn fill(&mut self, i: usize, t: f64) {
        let Some(segment) = self.trajectory.segments.get(i) else {
            return;
        };
        let times = &segment.log.t;
        let n = self.model.states().len();
        let t = t.clamp(times[0], times[times.len() - 1]);
        self.slots[0] = t;
        for &(slot, value) in &segment.fixed {
            self.slots[slot as usize] = value;
        }
        for (slot, profile) in &segment.moving {
            self.slots[*slot as usize] = profile.at(t, segment.since);
        }
        let row = times.partition_point(|&time| time <= t).max(1) - 1;
        for (k, state) in self.model.states().iter().enumerate() {
            self.slots[state.value as usize] = if row + 1 < times.len() {
                segment.log.between(row, n, k, t)
            } else {
                segment.log.row(row, n).0[k]
            };
        }
        self.model.evaluate(&mut self.slots);
    }

    /// Visits the run in order: every accepted step and, between steps further
    /// apart than `spacing`, evenly spaced times. Both sides of a happening are seen.
    pub fn walk(&mut self, spacing: f64, visit: impl FnMut(f64, &Sampler)) {
        self.walk_from(f64::NEG_INFINITY, spacing, visit);
    }

    /// Like [`Sampler::walk`], from time `begin` on; what lies before is not worked out.
    pub fn walk_from(&mut self, begin: f64, spacing: f64, mut visit: impl FnMut(f64, &Sampler)) {
        let mut at = |sampler: &mut Sampler, i: usize, t: f64| {
            if t >= begin {
                sampler.fill(i, t);
                visit(t, sampler);
            }
        };
        for i in 0..self.trajectory.segments.len() {
            let times = &self.trajectory.segments[i].log.t;
            for (k, &t) in times.iter().enumerate() {
                if k > 0 {
                    let before = times[k - 1];
                    let parts = ((t - before) / spacing).ceil().max(1.0) as usize;
                    for j in 1..parts {
                        let between = before + (t - before) * j as f64 / parts as f64;
                        at(self, i, between);
                    }
                }
                at(self, i, t);
            }
        }
    }

    /// The first equation at the present time that gives what is no finite number, and the quantity.
    pub(crate) fn first_non_finite(&self) -> Option<(String, String)> {
        self.model.first_non_finite(&self.slots)
    }

    /// Value of a quantity at the present time.
    pub fn value(&self, probe: Probe) -> f64 {
        self.slots[probe.0 as usize]
    }
}
