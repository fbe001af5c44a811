//! The battery's own over-current protection: it opens after a time above its threshold, and stays open.
//!
//! A timer x \[s\] runs while the current is above the threshold and falls back below it:
//!
//! dx/dt = a − (1 − a) x/t_reset, a = smoothstep of I/I_trip from 0.99 to 1.01.
//!
//! Opening is the event x = t_trip. Not the same as a controller's limit, which reduces the
//! current; after a trip there is no current at all until somebody resets the pack.
//! Common practice, no source: real boards differ in how they count and reset.

use engine::smooth::smoothstep;

/// Threshold and times of an over-current trip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OverCurrent {
    /// Threshold I_trip \[A\].
    pub threshold: f64,
    /// Time above it until the pack opens t_trip \[s\].
    pub time: f64,
    /// Time constant with which the timer is forgotten t_reset \[s\].
    pub reset: f64,
}

impl OverCurrent {
    /// Rate of the timer [s/s] at pack current \[A\].
    pub fn timer_rate(&self, current: f64, timer: f64) -> f64 {
        let above = smoothstep(0.5 + 50.0 * (current / self.threshold - 1.0));
        above - (1.0 - above) * timer / self.reset
    }

    /// Seconds still allowed above the threshold; the pack opens where this passes zero.
    pub fn left(&self, timer: f64) -> f64 {
        self.time - timer
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TRIP: OverCurrent = OverCurrent { threshold: 60.0, time: 2.0, reset: 1.0 };

    /// Timer after constant current, small explicit steps.
    fn after(current: f64, seconds: f64, mut timer: f64) -> f64 {
        let step = 1e-3;
        for _ in 0..(seconds / step) as usize {
            timer += step * TRIP.timer_rate(current, timer);
        }
        timer
    }

    #[test]
    fn a_burst_shorter_than_the_time_does_not_trip() {
        assert!(TRIP.left(after(80.0, 1.9, 0.0)) > 0.0);
        assert!(TRIP.left(after(80.0, 2.1, 0.0)) < 0.0);
    }

    #[test]
    fn below_the_threshold_the_timer_stays_at_zero_and_falls_back() {
        assert_eq!(after(59.0, 100.0, 0.0), 0.0);
        // one reset time: e⁻¹, explicit steps of 1/1000 are off by 0.05 %
        assert!((after(59.0, 1.0, 1.0) - (-1f64).exp()).abs() < 1e-3);
    }
}
