//! What the water surface does to a foil's lift and induced drag.

use engine::smooth;
use engine::table::Surface;

use super::lift_factor;

/// Share of its deep-water lift a 2-D foil keeps at depth h/c, very fast (gravity negligible):
/// K = (1 + 16 (h/c)²)/(2 + 16 (h/c)²), the image being a vortex of the same sense.
///
/// # Source
/// O. M. Faltinsen, *Hydrodynamics of High-Speed Marine Vehicles* (2005), ch. 6 (quoted by
/// later texts). F_nh above about 8.
pub fn k_high_froude(depth_chords: f64) -> f64 {
    let x = 16.0 * depth_chords * depth_chords;
    (1.0 + x) / (2.0 + x)
}

/// The same, very slow: the surface is a rigid lid and the image turns the other way,
/// K = (1 + 16 (h/c)²)/(16 (h/c)²). Needs h > 0; linear theory, h/c ≥ 0.5.
pub fn k_wall(depth_chords: f64) -> f64 {
    let x = 16.0 * depth_chords * depth_chords;
    (1.0 + x) / x
}

/// Induced-drag factor of the surface, σ = 1/(1 + 12 h/b), between 1 (at the surface) and 0 (deep):
/// the wing and its image as a biplane of gap 2h. 1 for h ≤ 0.
///
/// Within 0.05 of the biplane theory of two elliptic wings. **Holds at high Froude number**; slow,
/// the image turns round and σ overstates the drag.
///
/// # Source
/// N. Daskovsky, *The hydrofoil in surface proximity*, Ocean Engineering 27 (2000), as quoted
/// by Day, Cocard and Troll (2019).
pub fn sigma(depth_spans: f64) -> f64 {
    1.0 / (1.0 + 12.0 * depth_spans.max(0.0))
}

/// K of a wing of aspect ratio A from the two-dimensional K: 1 + (K − 1) A/(A + 2).
///
/// # Source
/// Assumption: a finite bound vortex is felt less than an endless one.
pub fn finite_span(k: f64, aspect_ratio: f64) -> f64 {
    1.0 + (k - 1.0) * aspect_ratio / (aspect_ratio + 2.0)
}

/// Wave drag \[N\] of lift coefficient C_L on area S \[m²\], chord c \[m\] at depth h \[m\]:
/// C_Dw = C_L²/(2 F_c²) exp(−2 (h/c)/F_c²), F_c² = V²/(g c), which as a force is
/// D_w = ¼ ρ g c S C_L² exp(−2 g h/V²). Takes V² \[m²/s²\].
///
/// It vanishes at rest because the exponential does; V² is kept off zero for h = 0.
///
/// # Source
/// Two-dimensional linear vortex; J. N. Newman, *Marine Hydrodynamics*, §6 (quoted). For a wing
/// the caller weakens it as lift is in [`finite_span`].
pub fn wave_drag(rho: f64, g: f64, chord: f64, area: f64, c_l: f64, depth: f64, v_2: f64) -> f64 {
    let decay = (-2.0 * g * depth.max(0.0) / (v_2 + 1e-6)).exp();
    0.25 * rho * g * chord * area * c_l * c_l * decay
}

/// K(h, F_nh) of a wing: the tabulated 2-D factor, weakened for its span.
#[derive(Debug, Clone, Copy)]
pub struct LiftFactor {
    surface: &'static Surface,
    chord: f64,
    aspect_ratio: f64,
}

impl LiftFactor {
    /// For a wing of mean chord \[m\] and aspect ratio.
    pub fn new(chord: f64, aspect_ratio: f64) -> LiftFactor {
        LiftFactor { surface: lift_factor::surface(), chord, aspect_ratio }
    }

    /// K at depth h \[m\] and speed V \[m/s\]. 1 deep down; held above h = c/2, where
    /// [`super::wing::depth_fade`] takes over.
    pub fn at(&self, depth: f64, speed: f64, g: f64) -> f64 {
        let h = smooth::max(depth, 0.2 * self.chord, 0.1 * self.chord);
        let k = self.surface.at(speed / (g * h).sqrt(), self.chord / h);
        finite_span(k, self.aspect_ratio)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lift_factor_has_no_corners() {
        let wing = LiftFactor::new(0.12, 8.0);
        let step = 1e-5;
        for speed in [0.0, 0.3, 1.5, 2.5, 4.0, 9.0] {
            let slope = |i: i32| {
                let h = f64::from(i) * step;
                (wing.at(h + step, speed, 9.81) - wing.at(h, speed, 9.81)) / step
            };
            // adjacent slopes all along: curvature in depth reaches some 2000 per m² near the
            // resonance, which moves the slope by 0.02; a corner would show as 1 per m or more
            let worst = (-10_000..60_000).map(|i| (slope(i + 1) - slope(i)).abs()).fold(0.0, f64::max);
            assert!(worst < 0.05, "{speed} m/s: {worst}");
        }
    }

    #[test]
    fn at_rest_and_above_water_everything_is_finite() {
        let wing = LiftFactor::new(0.12, 8.0);
        for depth in [-5.0, -0.01, 0.0, 1e-9, 0.05, 100.0] {
            for speed in [0.0, 1e-12, 5.0, 1e6] {
                assert!(wing.at(depth, speed, 9.81).is_finite());
                let drag = wave_drag(1000.0, 9.81, 0.12, 0.1, 1.0, depth, speed * speed);
                assert!(drag.is_finite() && drag >= 0.0);
            }
        }
        assert_eq!(wave_drag(1000.0, 9.81, 0.12, 0.1, 1.0, 0.5, 0.0), 0.0);
    }
}
