//! A disc that pierces the surface: a propeller, a guard.

use std::f64::consts::PI;

/// Share of the propeller disc below the surface, 0 to 1: `½ + (asin s + s √(1 − s²))/π`, s = depth of
/// the shaft / R, the area of a circle cut by a straight waterline.
///
/// Depth of the shaft centre and radius R in m, depth positive below the surface. Value and slope are
/// continuous where the tips pierce the surface and where the last blade leaves it.
///
/// # Source
/// Geometry. **That thrust and torque fall by this share is an assumption**: a propeller that pierces
/// the surface also draws air, which takes more; the ventilation input stands for that.
pub fn immersed_share(depth: f64, radius: f64) -> f64 {
    let s = depth / radius;
    if s >= 1.0 {
        1.0
    } else if s <= -1.0 {
        0.0
    } else {
        0.5 + (s.asin() + s * (1.0 - s * s).sqrt()) / PI
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_disc_is_half_wet_with_its_shaft_in_the_surface() {
        assert_eq!(immersed_share(0.0, 0.08), 0.5);
        assert_eq!(immersed_share(0.08, 0.08), 1.0);
        assert_eq!(immersed_share(-0.2, 0.08), 0.0);
        // shaft at half a radius: circle less a segment of 120°, 1 − (1/3 − √3/(4π))
        let share = 2.0 / 3.0 + 3.0_f64.sqrt() / (4.0 * PI);
        assert!((immersed_share(0.04, 0.08) - share).abs() < 1e-15);
    }

    #[test]
    fn the_share_leaves_both_ends_without_a_corner() {
        for end in [-1.0, 1.0] {
            // the slope is 2 √(1 − s²)/π: 0.009 at a distance of 1e-4 and falling to 0
            let h = 1e-4;
            let slope = (immersed_share(end + h, 1.0) - immersed_share(end - h, 1.0)) / (2.0 * h);
            assert!(slope.abs() < 0.01);
        }
    }
}
