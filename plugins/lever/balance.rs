//! What a lever's pull does to the tub; the lever itself is in the handbook.

use crate::handbook::G;
pub use crate::handbook::lever::{Lever, Scale, buoyancy_moment};

/// Pull at a height above the ground over the pull at which a tub begins to tip: S h / (m g b).
/// `mass` \[kg\] of the tub with water and stand, `half_width` \[m\] from its middle to the edge it tips over.
pub fn tipping(hook: f64, height: f64, mass: f64, half_width: f64) -> f64 {
    hook.abs() * height / (mass * G * half_width)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tub_tips_at_one() {
        assert!((tipping(200.0 * G * 0.3 / 0.9, 0.9, 200.0, 0.3) - 1.0).abs() < 1e-12);
    }
}
