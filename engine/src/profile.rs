//! Values prescribed over time.

use crate::smooth::smoothstep;

/// A value that starts somewhere and changes by ramps, steps and pulses.
///
/// Each change holds until the next one begins, in the order of their times,
/// not of their being stated; a ramp that is cut short ends where it has got to.
/// A pulse covers what is planned beneath it and uncovers it at its end.
///
/// A ramp is a smoothstep, so that an integrator runs through it without a
/// restart; a step, a corner and the edges of a pulse end a segment of the run.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    start: f64,
    changes: Vec<Change>,
    pulses: Vec<Pulse>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Change {
    from: f64,
    duration: f64,
    /// Value at `from`, before the change.
    before: f64,
    after: f64,
    /// Whether value or slope jump at `from`.
    sharp: bool,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Pulse {
    from: f64,
    until: f64,
    value: f64,
}

impl Change {
    fn at(&self, t: f64) -> f64 {
        if self.duration > 0.0 {
            self.before + (self.after - self.before) * smoothstep((t - self.from) / self.duration)
        } else {
            self.after
        }
    }
}

impl Profile {
    /// A value that does not change.
    pub fn constant(value: f64) -> Profile {
        Profile { start: value, changes: Vec::new(), pulses: Vec::new() }
    }

    /// Another value to start from; what is planned for later stays.
    pub fn start_at(&mut self, value: f64) {
        self.start = value;
        self.link();
    }

    /// Adds a change to `value`, beginning at time `from` and taking `duration` seconds.
    pub fn change(&mut self, from: f64, duration: f64, value: f64) {
        let i = self.changes.partition_point(|c| c.from <= from);
        let change = Change { from, duration: duration.max(0.0), before: 0.0, after: value, sharp: false };
        self.changes.insert(i, change);
        self.link();
    }

    /// Holds `value` for `duration` seconds from time `from`, whatever is planned.
    pub fn pulse(&mut self, from: f64, duration: f64, value: f64) {
        self.pulses.push(Pulse { from, until: from + duration, value });
    }

    /// Lets every change begin where the one before it has got to.
    fn link(&mut self) {
        let mut last: Option<Change> = None;
        for change in &mut self.changes {
            change.sharp = change.duration == 0.0;
            change.before = self.start;
            if let Some(last) = last {
                let moving = change.from < last.from + last.duration;
                change.sharp |= moving || last.sharp && last.from == change.from;
                change.before = last.at(change.from);
            }
            last = Some(*change);
        }
    }

    /// Value after all changes.
    pub fn end(&self) -> f64 {
        self.changes.last().map_or(self.start, |c| c.after)
    }

    /// Whether the value never changes.
    pub fn is_constant(&self) -> bool {
        self.changes.is_empty() && self.pulses.is_empty()
    }

    /// Value at time `t` within a segment that began at `since`: a step counts
    /// once a segment begins at or after it, never in the middle of one.
    pub fn at(&self, t: f64, since: f64) -> f64 {
        if let Some(pulse) = self.pulses.iter().rev().find(|p| p.from <= since && since < p.until) {
            return pulse.value;
        }
        let begun = |c: &&Change| c.from <= if c.sharp { since } else { t };
        self.changes.iter().rev().find(begun).map_or(self.start, |c| c.at(t))
    }

    /// Slope at time `t`, steps left out.
    pub fn slope(&self, t: f64) -> f64 {
        if self.pulses.iter().any(|p| p.from <= t && t < p.until) {
            return 0.0;
        }
        let Some(c) = self.changes.iter().rev().find(|c| c.from <= t) else {
            return 0.0;
        };
        let x = if c.duration > 0.0 { (t - c.from) / c.duration } else { 0.0 };
        if 0.0 < x && x < 1.0 { (c.after - c.before) * 6.0 * x * (1.0 - x) / c.duration } else { 0.0 }
    }

    /// The first time after `t` at which value or slope jump, if any.
    pub fn next_step(&self, t: f64) -> Option<f64> {
        let changes = self.changes.iter().filter(|c| c.sharp).map(|c| c.from);
        let pulses = self.pulses.iter().flat_map(|p| [p.from, p.until]);
        changes.chain(pulses).filter(|&from| from > t).min_by(f64::total_cmp)
    }
}

#[cfg(test)]
mod tests {
    use super::Profile;

    #[test]
    fn ramps_and_steps_add_up() {
        let mut p = Profile::constant(0.2);
        p.change(1.0, 2.0, 0.8);
        p.change(5.0, 0.0, 0.5);
        assert_eq!(p.at(0.0, 0.0), 0.2);
        assert!((p.at(2.0, 0.0) - 0.5).abs() < 1e-15);
        assert!((p.at(5.0, 0.0) - 0.8).abs() < 1e-15, "the step waits for a new segment");
        assert!((p.at(5.0, 5.0) - 0.5).abs() < 1e-15);
        assert_eq!(p.next_step(0.0), Some(5.0));
        assert_eq!(p.next_step(5.0), None);
        let h = 1e-6;
        // central difference of a cubic: error h², far below 1e-8
        assert!((p.slope(1.7) - (p.at(1.7 + h, 0.0) - p.at(1.7 - h, 0.0)) / (2.0 * h)).abs() < 1e-8);
    }

    #[test]
    fn the_order_of_stating_does_not_matter() {
        let mut early = Profile::constant(0.0);
        early.change(1.0, 2.0, 0.5);
        early.change(5.0, 0.0, 1.0);
        let mut late = Profile::constant(0.0);
        late.change(5.0, 0.0, 1.0);
        late.change(1.0, 2.0, 0.5);
        assert_eq!(early, late);
        assert_eq!((late.at(4.0, 4.0), late.at(6.0, 5.0)), (0.5, 1.0));
        late.start_at(0.2);
        assert_eq!((late.at(0.0, 0.0), late.at(4.0, 4.0)), (0.2, 0.5));
    }

    #[test]
    fn a_step_in_the_middle_of_a_ramp_takes_over() {
        let mut p = Profile::constant(0.0);
        p.change(0.0, 10.0, 1.0);
        p.change(5.0, 0.0, 0.9);
        assert_eq!(p.at(5.0, 0.0), 0.5);
        assert_eq!((p.at(5.0, 5.0), p.at(20.0, 5.0)), (0.9, 0.9));
        // a second ramp begins where the first has got to, with a corner
        let mut q = Profile::constant(0.0);
        q.change(0.0, 10.0, 1.0);
        q.change(5.0, 2.0, 0.0);
        assert_eq!((q.at(5.0, 5.0), q.at(6.0, 5.0), q.at(7.0, 5.0)), (0.5, 0.25, 0.0));
        assert_eq!(q.next_step(0.0), Some(5.0));
    }

    #[test]
    fn a_pulse_covers_a_ramp_in_progress_and_uncovers_it() {
        let mut p = Profile::constant(0.0);
        p.change(0.0, 10.0, 1.0);
        p.pulse(4.0, 2.0, 0.9);
        let mut bare = Profile::constant(0.0);
        bare.change(0.0, 10.0, 1.0);
        assert_eq!(p.at(4.0, 0.0), bare.at(4.0, 0.0), "the pulse waits for its segment");
        assert_eq!((p.at(4.0, 4.0), p.at(6.0, 4.0)), (0.9, 0.9));
        assert_eq!(p.at(6.0, 6.0), bare.at(6.0, 6.0));
        assert_eq!((p.next_step(0.0), p.next_step(4.0), p.next_step(6.0)), (Some(4.0), Some(6.0), None));
        assert_eq!((p.slope(5.0), p.slope(6.5)), (0.0, bare.slope(6.5)));
    }
}
