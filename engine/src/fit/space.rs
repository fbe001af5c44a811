//! The coordinates a parameter has: its value x, u in which it is normal (x or ln x), and z
//! in which the search knows no bounds.

use super::Unknown;

/// Distance from a bound, in usual sizes or of the range, at which a parameter counts as near it.
pub(super) const NEAR: f64 = 1e-3;

/// How one parameter is mapped.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Axis {
    log: bool,
    /// Bounds in u.
    pub low: f64,
    /// Bounds in u.
    pub high: f64,
    /// Usual size in u.
    pub scale: f64,
}

impl Axis {
    pub fn of(unknown: &Unknown) -> Axis {
        let log = unknown.prior.is_some_and(|prior| prior.log);
        if log {
            // a lower bound of zero or less is none to a logarithm
            let low = unknown.low.max(0.0).ln();
            Axis { log, low, high: unknown.high.ln(), scale: (unknown.scale / unknown.start).min(1.0) }
        } else {
            Axis { log, low: unknown.low, high: unknown.high, scale: unknown.scale }
        }
    }

    /// Value at u.
    pub fn value(&self, u: f64) -> f64 {
        if self.log { u.exp() } else { u }
    }

    /// u of a value.
    pub fn of_value(&self, x: f64) -> f64 {
        if self.log { x.ln() } else { x }
    }

    /// dx/du.
    pub fn stretch(&self, u: f64) -> f64 {
        if self.log { u.exp() } else { 1.0 }
    }

    /// Step of difference quotients at u.
    pub fn step(&self, u: f64, share: f64) -> f64 {
        share * if self.log { self.scale } else { self.scale.max(u.abs()) }
    }

    /// What counts as near a bound.
    pub fn near(&self) -> f64 {
        let range = self.high - self.low;
        NEAR * if range.is_finite() { range } else { self.scale }
    }

    /// u of a start value, moved off the bounds, where the search could not leave.
    pub fn inside(&self, x: f64) -> f64 {
        let near = self.near();
        self.of_value(x).max(self.low + near).min(self.high - near)
    }

    /// z of u.
    pub fn open(&self, u: f64) -> f64 {
        match (self.low.is_finite(), self.high.is_finite()) {
            (false, false) => u / self.scale,
            (true, false) => arm((u - self.low) / self.scale),
            (false, true) => arm((self.high - u) / self.scale),
            (true, true) => (2.0 * (u - self.low) / (self.high - self.low) - 1.0).clamp(-1.0, 1.0).asin(),
        }
    }

    /// u of z.
    pub fn close(&self, z: f64) -> f64 {
        let u = match (self.low.is_finite(), self.high.is_finite()) {
            (false, false) => z * self.scale,
            (true, false) => self.low + self.scale * (z.hypot(1.0) - 1.0),
            (false, true) => self.high - self.scale * (z.hypot(1.0) - 1.0),
            (true, true) => self.low + 0.5 * (self.high - self.low) * (1.0 + z.sin()),
        };
        u.max(self.low).min(self.high)
    }

    /// du/dz.
    pub fn gradient(&self, z: f64) -> f64 {
        match (self.low.is_finite(), self.high.is_finite()) {
            (false, false) => self.scale,
            (true, false) => self.scale * z / z.hypot(1.0),
            (false, true) => -self.scale * z / z.hypot(1.0),
            (true, true) => 0.5 * (self.high - self.low) * z.cos(),
        }
    }
}

/// z ≥ 0 with √(z² + 1) − 1 = `distance`.
fn arm(distance: f64) -> f64 {
    let distance = distance.max(0.0);
    (distance * (distance + 2.0)).sqrt()
}
