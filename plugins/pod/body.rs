//! Drag, buoyancy and added mass of a streamlined body of revolution.

use std::f64::consts::PI;

use engine::smooth;
use engine::table::Curve;

use crate::handbook::friction_curve;

/// Form factor of a body of revolution of diameter d and length l, on its wetted area:
/// FF = 1 + 1.5 (d/l)^1.5 + 7 (d/l)³.
///
/// # Source
/// S. F. Hoerner, *Fluid-Dynamic Drag* (1965), ch. 6 eq. 28; written from memory.
pub fn form_factor(diameter: f64, length: f64) -> f64 {
    let ratio = diameter / length;
    1.0 + 1.5 * ratio.powf(1.5) + 7.0 * ratio.powi(3)
}

/// Wetted area \[m²\] of a torpedo-like body: round nose, cylinder, tapering tail; 0.8 π d l.
///
/// # Source
/// Common practice, no source; an ellipsoid of l/d = 4 has 0.80 π d l, a cylinder 1.0.
pub fn wetted_area(diameter: f64, length: f64) -> f64 {
    0.8 * PI * diameter * length
}

/// Displaced volume \[m³\] of the same body: C_p (π/4) d² l with C_p = 0.7.
///
/// # Source
/// Common practice, no source; an ellipsoid has C_p = 2/3, a cylinder 1.
pub fn volume(diameter: f64, length: f64) -> f64 {
    0.7 * 0.25 * PI * diameter * diameter * length
}

/// Added-mass coefficient k_2 of a prolate spheroid moving across its axis, on its displaced mass.
///
/// With e² = 1 − (d/l)²: β_0 = 1/e² − (1 − e²)/(2e³) ln((1+e)/(1−e)), k_2 = β_0/(2 − β_0);
/// 0.5 for a sphere, 1 for an endless cylinder. Needs l > d.
///
/// # Source
/// H. Lamb, *Hydrodynamics*, art. 114–115.
pub fn spheroid_cross_flow(diameter: f64, length: f64) -> f64 {
    let ratio = diameter / length;
    let e_2 = 1.0 - ratio * ratio;
    let e = e_2.sqrt();
    if e < 0.05 {
        // the closed form loses its digits; a sphere, to order e²
        return 0.5;
    }
    let beta = 1.0 / e_2 - (1.0 - e_2) / (2.0 * e_2 * e) * ((1.0 + e) / (1.0 - e)).ln();
    beta / (2.0 - beta)
}

/// Drag coefficient of a cylinder across the stream, subcritical Reynolds number.
///
/// # Source
/// S. F. Hoerner, *Fluid-Dynamic Drag* (1965), ch. 3: about 1.1–1.2 below Re 2·10⁵;
/// reduced for the short length of a pod (l/d of 4: about 0.7 of it).
pub const CROSS_FLOW_DRAG: f64 = 0.8;

/// A pod made ready for evaluation.
#[derive(Debug, Clone)]
pub struct Body {
    /// Diameter d \[m\].
    pub diameter: f64,
    /// Length l \[m\].
    pub length: f64,
    /// Displaced volume \[m³\].
    pub volume: f64,
    /// Drag area over Reynolds number on length \[m²\].
    drag_area: Curve,
    /// Added mass across the axis, as a volume of water \[m³\].
    pub added_volume: f64,
}

impl Body {
    /// A body of diameter and length \[m\], `laminar` share of the boundary layer, and its displaced
    /// volume \[m³\] where known.
    pub fn new(diameter: f64, length: f64, laminar: f64, known_volume: Option<f64>) -> Body {
        let area = wetted_area(diameter, length) * form_factor(diameter, length);
        let displaced = known_volume.unwrap_or_else(|| volume(diameter, length));
        Body {
            diameter,
            length,
            volume: displaced,
            drag_area: friction_curve::plate(area, laminar),
            added_volume: displaced * spheroid_cross_flow(diameter, length),
        }
    }

    /// Share under water with the middle of the axis at depth h \[m\], the axis at pitch θ: 0 where the
    /// whole body is above the surface, 1 where it is below, between them `smooth::smootherstep`.
    ///
    /// Half the height the body takes up is H = √((d/2)² + (l/2 sin θ)²).
    pub fn immersion(&self, depth: f64, sin_pitch: f64) -> f64 {
        smooth::smootherstep(0.5 + 0.5 * depth / self.half_height(sin_pitch))
    }

    /// Rate of [`Body::immersion`] \[1/s\] for a middle that sinks at ḣ \[m/s\], at the pitch rate q:
    /// felt as a force on what the added mass carries.
    pub fn immersion_rate(&self, depth: f64, (sin, cos): (f64, f64), sinking: f64, pitch_rate: f64) -> f64 {
        let half = self.half_height(sin);
        let half_rate = 0.25 * self.length * self.length * sin * cos * pitch_rate / half;
        let slope = smooth::smootherstep_slope(0.5 + 0.5 * depth / half);
        slope * 0.5 * (sinking - depth * half_rate / half) / half
    }

    fn half_height(&self, sin_pitch: f64) -> f64 {
        0.5 * (self.diameter * self.diameter + self.length * self.length * sin_pitch * sin_pitch).sqrt()
    }

    /// Drag along the axis \[N\] at speed V along it \[m/s\], signed against the motion: ½ ρ V|V| S C_F FF.
    pub fn drag(&self, speed: f64, rho: f64, nu: f64) -> f64 {
        let area = self.drag_area.held(speed.abs() * self.length / nu);
        0.5 * rho * speed * speed.abs() * area
    }

    /// Drag across the axis \[N\] at speed across it \[m/s\], signed against the motion: ½ ρ w|w| d l C_D.
    pub fn cross_drag(&self, speed: f64, rho: f64) -> f64 {
        0.5 * rho * speed * speed.abs() * self.diameter * self.length * CROSS_FLOW_DRAG
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spheroid_limits_and_lambs_table() {
        // Lamb's table as quoted in most texts, from memory; its 0.702 is 0.704 by the formula
        for (ratio, k_2) in [(2.0, 0.702), (4.0, 0.860), (6.0, 0.918), (10.0, 0.960)] {
            assert!((spheroid_cross_flow(1.0, ratio) - k_2).abs() < 3e-3, "{ratio}");
        }
        // sphere one half, to the order e² at the joint
        assert!((spheroid_cross_flow(1.0, 1.002) - 0.5).abs() < 1e-3);
        assert!((spheroid_cross_flow(1.0, 1000.0) - 1.0).abs() < 1e-3);
    }

    #[test]
    fn drag_opposes_and_rests() {
        let pod = Body::new(0.08, 0.32, 0.5, None);
        assert_eq!(pod.drag(0.0, 1000.0, 1e-6), 0.0);
        assert!(pod.drag(4.0, 1000.0, 1e-6) > 0.0);
        assert_eq!(pod.drag(-4.0, 1000.0, 1e-6), -pod.drag(4.0, 1000.0, 1e-6));
        assert_eq!(pod.immersion(-0.05, 0.0), 0.0);
        assert_eq!(pod.immersion(0.05, 0.0), 1.0);
    }

    #[test]
    fn immersion_rate_is_its_derivative() {
        let pod = Body::new(0.03, 0.72, 0.5, None);
        for (depth, theta, sinking, q) in
            [(0.01, 0.3, 0.8, -0.5), (-0.1, -0.6, -1.2, 2.0), (0.004, 0.0, 0.5, 0.3)]
        {
            let at = |t: f64| pod.immersion(depth + sinking * t, (theta + q * t).sin());
            let h = 1e-6;
            let rate = pod.immersion_rate(depth, f64::sin_cos(theta), sinking, q);
            // central difference: third derivative of some 1e5 1/s³ times h²/6, and round-off 1e-10
            assert!(((at(h) - at(-h)) / (2.0 * h) - rate).abs() < 1e-6, "{depth} {theta}");
            assert!(rate.abs() > 0.1, "the case must exercise the rate: {rate}");
        }
    }
}
