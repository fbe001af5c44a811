//! The flight with the fused right-hand side: balance at the start, segments
//! between happenings, steps logged, ranges watched. The integrator, its
//! settings and the way happenings are found are the engine's.

use std::cell::{Cell, RefCell};

use engine::root;
use ode_solvers::dopri5::Dopri5;
use ode_solvers::{OutputType, SVector, System};

use super::craft::Craft;
use super::rates::{
    CG_DEPTH, DISTANCE, HEAVE_SPEED, NOMINAL, PER_NOMINAL, PITCH, PITCH_RATE, STATES, SURGE_SPEED, Seen,
    State, TRIP_TIMER,
};

/// States padded to a size the integrator is compiled for, as in the engine.
const PADDED: usize = 72;
const _: () = assert!(64 < STATES && STATES <= PADDED);
const TOLERANCE: f64 = 1e-6;
const MAX_STEP: f64 = 0.2;
/// Events, in the order the engine asks them.
const EVENTS: usize = 5;
const WATCHES: usize = 18;

/// What only events change.
#[derive(Clone, Copy)]
struct Modes {
    tripped: bool,
    lifted_at: f64,
    foilborne: bool,
    take_off: [f64; 3],
    touch_down: f64,
}

/// Accepted steps: time, states, rates.
#[derive(Default)]
pub struct Log {
    pub t: Vec<f64>,
    pub y: Vec<State>,
    pub f: Vec<State>,
}

/// What came out.
pub struct Flight {
    /// End of the run, s.
    pub time: f64,
    /// States at the end, SI.
    pub states: State,
    /// Evaluations of the right-hand side.
    pub evaluations: usize,
    /// Steps accepted and rejected.
    pub steps: (usize, usize),
    /// Every accepted step, segment by segment.
    pub segments: Vec<Log>,
    /// Take-off: time, distance, speed.
    pub take_off: [f64; 3],
    /// When each watched range was first left, and the value farthest out.
    pub sightings: [Option<(f64, f64)>; WATCHES],
}

/// One segment, as the integrator sees it.
struct Segment<'a> {
    craft: &'a Craft,
    modes: Modes,
    /// Values of the guards at the last accepted step; `None`: nothing is guarded.
    before: Option<Cell<[f64; EVENTS]>>,
    fired: Cell<bool>,
    seen: RefCell<Seen>,
    log: RefCell<Log>,
    sightings: RefCell<[Option<(f64, f64)>; WATCHES]>,
    evaluations: Cell<usize>,
}

/// Whether guard `k` passes zero in its direction.
fn happens(k: usize, before: f64, after: f64) -> bool {
    let falling = k == 2;
    if falling { before > 0.0 && after <= 0.0 } else { before < 0.0 && after >= 0.0 }
}

fn unscaled(y: &[f64]) -> State {
    std::array::from_fn(|i| y[i] * NOMINAL[i])
}

fn hermite(t: f64, t0: f64, t1: f64, (y0, f0): (f64, f64), (y1, f1): (f64, f64)) -> f64 {
    let h = t1 - t0;
    if h <= 0.0 {
        return y1;
    }
    let s = (t - t0) / h;
    let r = 1.0 - s;
    y0 * (1.0 + 2.0 * s) * r * r + y1 * s * s * (3.0 - 2.0 * s) + h * s * r * (f0 * r - f1 * s)
}

impl<'a> Segment<'a> {
    fn new(craft: &'a Craft, modes: Modes) -> Segment<'a> {
        Segment {
            craft,
            modes,
            before: None,
            fired: Cell::new(false),
            seen: RefCell::default(),
            log: RefCell::default(),
            sightings: RefCell::new([None; WATCHES]),
            evaluations: Cell::new(0),
        }
    }

    fn rates(&self, t: f64, y: &State) -> State {
        self.evaluations.set(self.evaluations.get() + 1);
        self.craft.rates(t, y, self.modes.tripped, &mut self.seen.borrow_mut())
    }

    fn guards(&self, t: f64, y: &State) -> [f64; EVENTS] {
        let (c, m) = (self.craft, &self.modes);
        let free = c.free_margin(&self.seen.borrow());
        let long_enough = if m.foilborne { t - m.take_off[0] - c.flight } else { -1.0 };
        let lasting = if m.lifted_at < 0.0 || m.foilborne { -1.0 } else { t - m.lifted_at - c.lasting };
        [y[TRIP_TIMER] - c.trip.time, free, free, long_enough, lasting]
    }

    fn guard_at(&self, k: usize, t: f64, y: &State) -> f64 {
        self.rates(t, y);
        self.guards(t, y)[k]
    }

    fn integrate(&self, t: f64, end: f64, y: &State, first_step: f64, max_step: f64) -> (usize, usize) {
        let mut start = SVector::<f64, PADDED>::zeros();
        start.as_mut_slice()[..STATES].copy_from_slice(y);
        // the error norm is a mean over the padding too
        let tolerance = TOLERANCE * (STATES as f64 / PADDED as f64).sqrt();
        let sparse = OutputType::Sparse;
        let mut solver = Dopri5::from_param(
            self, t, end, 1.0, start, tolerance, tolerance, 0.9, 0.04, 0.2, 10.0, max_step, first_step,
            100_000, 1000, sparse,
        );
        let stats = solver.integrate().expect("the demo flight can be integrated");
        (stats.accepted_steps as usize, stats.rejected_steps as usize)
    }

    /// Which guard passed zero first in the last step, when, and the row there.
    fn locate(&self, before: [f64; EVENTS]) -> (usize, f64, State, State) {
        let log = self.log.borrow();
        let last = log.t.len() - 1;
        let (t0, t1) = (log.t[last - 1], log.t[last]);
        let (y0, f0, y1, f1) = (&log.y[last - 1], &log.f[last - 1], &log.y[last], &log.f[last]);
        let between =
            |t: f64| -> State { std::array::from_fn(|i| hermite(t, t0, t1, (y0[i], f0[i]), (y1[i], f1[i]))) };
        let after = self.guards(t1, y1);
        let mut first: Option<(usize, f64)> = None;
        for k in (0..EVENTS).filter(|&k| happens(k, before[k], after[k])) {
            let t = root::bracketed(|t| self.guard_at(k, t, &between(t)), t0, t1).unwrap_or(t1);
            if first.is_none_or(|(_, earliest)| t < earliest) {
                first = Some((k, t));
            }
        }
        let (k, mut t) = first.unwrap_or((0, t1));
        let scaled = std::array::from_fn(|i| y0[i] / NOMINAL[i]);
        let mut row = (*y1, *f1);
        if t < t1 {
            for _ in 0..3 {
                let step = t - t0;
                if step <= 1e-12 * (1.0 + t0.abs()) {
                    row = (*y0, *f0);
                    break;
                }
                let again = Segment::new(self.craft, self.modes);
                again.integrate(t0, t, &scaled, step, step);
                self.evaluations.set(self.evaluations.get() + again.evaluations.get());
                let there = again.log.into_inner();
                let (y, f) = (there.y[there.y.len() - 1], there.f[there.f.len() - 1]);
                row = (y, f);
                let g = self.guard_at(k, t, &y);
                let h = 1e-6 * (t1 - t0);
                let ahead = std::array::from_fn(|i| {
                    hermite(t + h, t, t + 2.0 * h, (y[i], f[i]), (y[i] + 2.0 * h * f[i], f[i]))
                });
                let slope = (self.guard_at(k, t, &ahead) - g) / h;
                let correction = if slope == 0.0 { 0.0 } else { -g / slope };
                if !correction.is_finite() || correction.abs() < 1e-10 {
                    break;
                }
                t = (t + correction).clamp(t0, t1);
            }
        }
        (k, t, row.0, row.1)
    }
}

impl System<f64, SVector<f64, PADDED>> for &Segment<'_> {
    fn system(&self, t: f64, y: &SVector<f64, PADDED>, dy: &mut SVector<f64, PADDED>) {
        let rates = self.rates(t, &unscaled(y.as_slice()));
        for ((dy, rate), per) in dy.as_mut_slice().iter_mut().zip(rates).zip(PER_NOMINAL) {
            *dy = rate * per;
        }
    }

    fn solout(&mut self, t: f64, y: &SVector<f64, PADDED>, dy: &SVector<f64, PADDED>) -> bool {
        let y = unscaled(y.as_slice());
        let log = &mut *self.log.borrow_mut();
        log.t.push(t);
        log.y.push(y);
        log.f.push(unscaled(dy.as_slice()));
        let Some(before) = &self.before else { return false };
        let watched = self.craft.watched(&y, &self.seen.borrow());
        for ((value, low, high), sighting) in watched.into_iter().zip(self.sightings.borrow_mut().iter_mut())
        {
            if value < low || value > high {
                let beyond = |v: f64| (low - v).max(v - high);
                match sighting {
                    None => *sighting = Some((t, value)),
                    Some((_, worst)) if beyond(value) > beyond(*worst) => *worst = value,
                    Some(_) => {}
                }
            }
        }
        let after = self.guards(t, &y);
        let earlier = before.get();
        if (0..EVENTS).any(|k| happens(k, earlier[k], after[k])) {
            self.fired.set(true);
        } else {
            before.set(after);
        }
        self.fired.get()
    }
}

impl Craft {
    /// From rest until the flight has been long enough, or `until`.
    pub fn fly(&self, until: f64) -> Flight {
        let mut modes = Modes {
            tripped: false,
            lifted_at: -1.0,
            foilborne: false,
            take_off: [-1.0, 0.0, 0.0],
            touch_down: -1.0,
        };
        let scaled_start: State = std::array::from_fn(|i| self.start[i] / NOMINAL[i]);
        let (mut y, mut evaluations) = self.settle(scaled_start, modes);
        let (mut t, mut next_step) = (0.0, MAX_STEP * 1e-2);
        let mut steps = (0, 0);
        let mut segments = Vec::new();
        let mut sightings = [None; WATCHES];
        let mut passed: Option<usize> = None;
        while t < until {
            let mut segment = Segment::new(self, modes);
            segment.sightings = RefCell::new(sightings);
            let here = unscaled(&y);
            let rates = segment.rates(t, &here);
            *segment.log.borrow_mut() = Log { t: vec![t], y: vec![here], f: vec![rates] };
            let mut before = segment.guards(t, &here);
            if let Some(k) = passed {
                before[k] = 0.0;
            }
            segment.before = Some(Cell::new(before));
            let (accepted, rejected) = segment.integrate(t, until, &y, next_step.min(until - t), MAX_STEP);
            steps = (steps.0 + accepted, steps.1 + rejected);

            passed = None;
            if segment.fired.get() {
                let before = segment.before.as_ref().map_or([0.0; EVENTS], Cell::get);
                let (k, t, y, f) = segment.locate(before);
                segment.rates(t, &y);
                let log = &mut *segment.log.borrow_mut();
                let last = log.t.len() - 1;
                (log.t[last], log.y[last], log.f[last]) = (t, y, f);
                passed = Some(k);
            }
            evaluations += segment.evaluations.get();
            sightings = segment.sightings.into_inner();
            let log = segment.log.into_inner();
            let last = log.t.len() - 1;
            t = log.t[last];
            next_step = (log.t[last] - log.t[last - 1]).clamp(1e-6, MAX_STEP);
            let end = log.y[last];
            y = std::array::from_fn(|i| end[i] / NOMINAL[i]);
            segments.push(log);
            if let Some(k) = passed {
                y = std::array::from_fn(|i| y[i] * NOMINAL[i] / NOMINAL[i]);
                if act(k, t, &end, &mut modes) {
                    break;
                }
            }
        }
        let states = unscaled(&y);
        Flight { time: t, states, evaluations, steps, segments, take_off: modes.take_off, sightings }
    }

    /// Depth and pitch at which weight is carried and moments balance, as the
    /// engine finds them; and the evaluations that took.
    fn settle(&self, mut y: State, modes: Modes) -> (State, usize) {
        const PAIRS: [(usize, usize); 2] = [(CG_DEPTH, HEAVE_SPEED), (PITCH, PITCH_RATE)];
        let segment = Segment::new(self, modes);
        let residual = |y: &State| {
            let rates = segment.rates(0.0, &unscaled(y));
            PAIRS.map(|(_, rate)| rates[rate] / NOMINAL[rate])
        };
        let largest = |r: &[f64; 2]| r[0].abs().max(r[1].abs());
        let mut r = residual(&y);
        let mut pace = 1e-3;
        for _ in 0..2000 {
            if largest(&r) < 0.3 {
                break;
            }
            for (k, (unknown, _)) in PAIRS.into_iter().enumerate() {
                y[unknown] += (pace * r[k]).clamp(-0.2, 0.2);
            }
            let next = residual(&y);
            pace *= if next[0] * r[0] + next[1] * r[1] < 0.0 { 0.5 } else { 1.2 };
            r = next;
        }
        for _ in 0..50 {
            if largest(&r) < 1e-9 {
                break;
            }
            let column = |unknown: usize| {
                let mut shifted = y;
                shifted[unknown] += 1e-6;
                let there = residual(&shifted);
                [(there[0] - r[0]) / 1e-6, (there[1] - r[1]) / 1e-6]
            };
            let [a, b] = PAIRS.map(|(unknown, _)| column(unknown));
            let determinant = a[0] * b[1] - a[1] * b[0];
            let step = [(r[0] * b[1] - r[1] * b[0]) / determinant, (a[0] * r[1] - a[1] * r[0]) / determinant];
            let mut scale = 1.0;
            loop {
                let mut trial = y;
                for (k, (unknown, _)) in PAIRS.into_iter().enumerate() {
                    trial[unknown] -= scale * step[k];
                }
                let next = residual(&trial);
                if next[0].hypot(next[1]) < r[0].hypot(r[1]) || scale < 1e-6 {
                    (y, r) = (trial, next);
                    break;
                }
                scale *= 0.5;
            }
        }
        (y, segment.evaluations.get())
    }
}

/// Acts on event `k`; whether the run ends.
fn act(k: usize, t: f64, y: &State, modes: &mut Modes) -> bool {
    match k {
        0 => modes.tripped = true,
        1 => {
            modes.lifted_at = t;
            if !modes.foilborne {
                modes.take_off = [t, y[DISTANCE], y[SURGE_SPEED]];
            }
        }
        2 => {
            modes.lifted_at = -1.0;
            if !modes.foilborne {
                modes.take_off[0] = -1.0;
            } else if modes.touch_down < 0.0 {
                modes.touch_down = t;
            }
        }
        3 => return true,
        _ => modes.foilborne = true,
    }
    false
}
