//! Shear of what carries a shaft's torque into a hub.

use std::f64::consts::PI;

/// Shear stress \[Pa\] of a key of `width` × `length` \[m\] at the surface of a shaft of `diameter` \[m\]: τ = 2 Q/(d b l).
pub fn key(torque: f64, diameter: f64, width: f64, length: f64) -> f64 {
    2.0 * torque.abs() / (diameter * width * length)
}

/// Shear stress \[Pa\] of a pin of `pin` \[m\] right through a shaft of `diameter` \[m\], sheared twice: τ = 4 Q/(π d d_p²).
pub fn pin(torque: f64, diameter: f64, pin: f64) -> f64 {
    4.0 * torque.abs() / (PI * diameter * pin * pin)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_stress_times_its_area_and_lever_is_the_torque() {
        let (q, d) = (6.0, 0.012);
        // round-off
        assert!((key(q, d, 4e-3, 15e-3) * 4e-3 * 15e-3 * d / 2.0 - q).abs() < 1e-12);
        assert!((pin(-q, d, 3e-3) * 2.0 * (PI / 4.0 * 9e-6) * d / 2.0 - q).abs() < 1e-12);
        assert_eq!((key(0.0, d, 4e-3, 15e-3), pin(0.0, d, 3e-3)), (0.0, 0.0));
    }
}
