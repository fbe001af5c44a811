//! Torque lost between a motor's air gap and its shaft's end.

use engine::smooth;

/// Speed [rad/s] below which dry friction is let go smoothly to zero (48 rpm).
/// Without it the torque would jump at standstill.
pub const STANDSTILL: f64 = 5.0;

/// Dry friction `c0` [N·m, or any other unit] against the turning, passing smoothly through standstill.
pub fn dry(c0: f64, omega: f64) -> f64 {
    c0 * smooth::sign(omega, STANDSTILL)
}

/// Loss torque c₀ + c₁ ω + c₂ ω² [N·m] at shaft speed ω [rad/s]; odd in ω, the dry part smooth at standstill.
///
/// c₀ holds hysteresis and dry friction, c₁ eddy currents and viscous friction, c₂ windage or water in the air gap.
pub fn loss_torque(c0: f64, c1: f64, c2: f64, omega: f64) -> f64 {
    dry(c0, omega) + (c1 + c2 * omega.abs()) * omega
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn odd_and_smooth_through_standstill() {
        let t = |omega| loss_torque(2.0, 1e-3, 1e-6, omega);
        assert_eq!(t(0.0), 0.0);
        assert_eq!(t(-300.0), -t(300.0));
        assert!((t(300.0) - (2.0 + 0.3 + 0.09)).abs() < 1e-12);
        let slope = |x: f64| (t(x + 1e-4) - t(x - 1e-4)) / 2e-4;
        for corner in [-5.0, 0.0, 5.0] {
            // slopes 2e-3 apart in ω differ by (second derivative ≈ 0.5) × 2e-3
            assert!((slope(corner - 1e-3) - slope(corner + 1e-3)).abs() < 2e-3);
        }
    }
}
