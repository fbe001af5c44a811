//! Where a point of the craft is, how fast it moves, and what moment a force has there.
//!
//! Axes: x forward, z **down**; pitch θ and pitch rate q positive bow-up. Body
//! coordinates are metres forward of the tail (`forward`) and metres below the
//! board's bottom (`below`). An [`Offset`] is the same distance seen from the
//! centre of gravity and turned into earth axes.

/// Distance of a point from the centre of gravity, in earth axes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offset {
    /// e_x \[m\], positive ahead of the centre of gravity.
    pub x: f64,
    /// e_z \[m\], positive below the centre of gravity.
    pub z: f64,
}

/// Offset of a body point that lies `r_x` ahead of and `r_z` below the centre
/// of gravity in body axes \[m\]: `r_x = forward − forward_CG`, `r_z = below − below_CG`.
///
/// e_x = r_x cos θ + r_z sin θ,  e_z = −r_x sin θ + r_z cos θ
pub fn offset(r_x: f64, r_z: f64, sin_theta: f64, cos_theta: f64) -> Offset {
    Offset { x: r_x * cos_theta + r_z * sin_theta, z: -r_x * sin_theta + r_z * cos_theta }
}

impl Offset {
    /// Velocity (v_x forward, v_z down) of the point \[m/s\] for surge speed `u`,
    /// downward speed `w` of the centre of gravity and pitch rate `q` \[rad/s\].
    ///
    /// v_x = u + q e_z,  v_z = w − q e_x
    pub fn velocity(self, u: f64, w: f64, q: f64) -> (f64, f64) {
        (u + q * self.z, w - q * self.x)
    }

    /// Depth of the point below the still-water surface \[m\] when the centre
    /// of gravity is at `depth_cg`.
    pub fn depth(self, depth_cg: f64) -> f64 {
        depth_cg + self.z
    }

    /// Bow-up moment about the centre of gravity \[N·m\] of a force with
    /// forward part `x` and downward part `z` \[N\] at the point.
    ///
    /// M = e_z X − e_x Z
    pub fn moment(self, x: f64, z: f64) -> f64 {
        self.z * x - self.x * z
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bow_up_lifts_the_bow_and_swings_the_keel_forward() {
        let (sin, cos) = 0.1f64.sin_cos();
        let bow = offset(1.0, 0.0, sin, cos);
        assert!(bow.z < 0.0, "a point ahead rises");
        let keel = offset(0.0, 1.0, sin, cos);
        assert!(keel.x > 0.0, "a point below moves forward");
        assert_eq!(bow.depth(0.5), 0.5 + bow.z);
    }

    #[test]
    fn velocity_is_the_rate_of_the_offset() {
        let (r_x, r_z, theta, q, h) = (0.7, -0.3, 0.2f64, 1.3, 1e-6);
        let at = |t: f64| offset(r_x, r_z, (theta + q * t).sin(), (theta + q * t).cos());
        let (v_x, v_z) = at(0.0).velocity(0.0, 0.0, q);
        // central difference: error h²/6 and round-off 1e-16/h, both below 1e-9
        assert!((v_x - (at(h).x - at(-h).x) / (2.0 * h)).abs() < 1e-9);
        assert!((v_z - (at(h).z - at(-h).z) / (2.0 * h)).abs() < 1e-9);
    }

    #[test]
    fn moment_times_rate_is_the_power_of_the_turning() {
        let point = offset(0.4, 0.9, 0.15f64.sin(), 0.15f64.cos());
        let (u, w, q, x, z) = (3.0, -0.2, 0.6, -120.0, 45.0);
        let (v_x, v_z) = point.velocity(u, w, q);
        let power = x * u + z * w + point.moment(x, z) * q;
        // sums of a few terms near 400 W: round-off only
        assert!((x * v_x + z * v_z - power).abs() < 1e-12 * power.abs());
    }
}
