//! Values prescribed over time.

use crate::smooth::smoothstep;

/// A value that starts somewhere and changes by ramps and steps.
///
/// A ramp is a smoothstep, so that an integrator runs through it without a
/// restart; a step is a ramp of no duration and ends a segment of the run.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    start: f64,
    changes: Vec<Change>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Change {
    from: f64,
    duration: f64,
    by: f64,
}

impl Profile {
    /// A value that does not change.
    pub fn constant(value: f64) -> Profile {
        Profile { start: value, changes: Vec::new() }
    }

    /// Adds a change to `value`, beginning at time `from` and taking `duration` seconds.
    pub fn change(&mut self, from: f64, duration: f64, value: f64) {
        let by = value - self.end();
        self.changes.push(Change { from, duration: duration.max(0.0), by });
    }

    /// Value after all changes.
    pub fn end(&self) -> f64 {
        self.start + self.changes.iter().map(|c| c.by).sum::<f64>()
    }

    /// Whether the value never changes.
    pub fn is_constant(&self) -> bool {
        self.changes.is_empty()
    }

    /// Value at time `t` within a segment that began at `since`: a step counts
    /// once a segment begins at or after it, never in the middle of one.
    pub fn at(&self, t: f64, since: f64) -> f64 {
        let change = |c: &Change| {
            if c.duration > 0.0 {
                c.by * smoothstep((t - c.from) / c.duration)
            } else if c.from <= since {
                c.by
            } else {
                0.0
            }
        };
        self.start + self.changes.iter().map(change).sum::<f64>()
    }

    /// Slope at time `t`, steps left out.
    pub fn slope(&self, t: f64) -> f64 {
        let slope = |c: &Change| {
            let x = if c.duration > 0.0 { (t - c.from) / c.duration } else { 0.0 };
            if 0.0 < x && x < 1.0 { c.by * 6.0 * x * (1.0 - x) / c.duration } else { 0.0 }
        };
        self.changes.iter().map(slope).sum()
    }

    /// The first step after time `t`, if any.
    pub fn next_step(&self, t: f64) -> Option<f64> {
        let steps = self.changes.iter().filter(|c| c.duration == 0.0 && c.from > t).map(|c| c.from);
        steps.min_by(f64::total_cmp)
    }

    /// All times at which a change begins or ends, for a reader of the plan.
    pub fn times(&self) -> Vec<f64> {
        self.changes.iter().flat_map(|c| [c.from, c.from + c.duration]).collect()
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
}
