//! A finite wing in attached flow, deep under water.

use std::f64::consts::PI;

use engine::smooth;

/// Lift-curve slope of a wing, a \[1/rad\], from its section's slope a_0 and aspect ratio A:
/// a = a_0 / (√(1 + x²) + x) with x = a_0/(πA).
///
/// Tends to a_0 as A → ∞ and to πA/2, the slender-wing value, as A → 0.
///
/// # Source
/// H. B. Helmbold, *Der unverwundene Ellipsenflügel als tragende Fläche*,
/// Jahrbuch der Deutschen Luftfahrtforschung (1942); unswept wings.
pub fn helmbold_slope(a_0: f64, aspect_ratio: f64) -> f64 {
    let x = a_0 / (PI * aspect_ratio);
    a_0 / ((1.0 + x * x).sqrt() + x)
}

/// Lift-curve slope of a wing by lifting-line theory, a = a_0 / (1 + a_0 (1 + τ)/(πA)) \[1/rad\],
/// with Glauert's planform factor τ (0 for an elliptic wing, 0.05–0.25 otherwise).
///
/// # Source
/// L. Prandtl's lifting line as in J. D. Anderson, *Fundamentals of Aerodynamics*,
/// eq. 5.70. Good for A above about 4; above [`helmbold_slope`] for every A.
pub fn lifting_line_slope(a_0: f64, aspect_ratio: f64, tau: f64) -> f64 {
    a_0 / (1.0 + a_0 * (1.0 + tau) / (PI * aspect_ratio))
}

/// Induced drag coefficient C_Di = C_L² (1 + δ)/(πA), δ = 0 for elliptic loading.
///
/// # Source
/// J. D. Anderson, *Fundamentals of Aerodynamics*, eq. 5.61.
pub fn induced_drag(c_l: f64, aspect_ratio: f64, delta: f64) -> f64 {
    c_l * c_l * (1.0 + delta) / (PI * aspect_ratio)
}

/// Downwash angle well behind a wing, ε = 2 C_L/(πA) \[rad\]: twice the angle at the wing itself.
///
/// # Source
/// Lifting-line theory (elliptic loading), far wake; a rear wing sees a fraction κ of it.
pub fn far_downwash(c_l: f64, aspect_ratio: f64) -> f64 {
    2.0 * c_l / (PI * aspect_ratio)
}

/// What the section contributes: lift origin, drag polar, moment, and where it stalls.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Lift-curve slope a_0 \[1/rad\]; 2π for a thin section.
    pub lift_slope: f64,
    /// Angle of zero lift α_L0 \[rad\], negative for positive camber.
    pub zero_lift_angle: f64,
    /// Greatest lift coefficient c_l,max.
    pub c_l_max: f64,
    /// Most negative lift coefficient c_l,min.
    pub c_l_min: f64,
    /// Lift coefficient of least drag c_li.
    pub c_l_ideal: f64,
    /// Growth of drag k_2 in c_d = c_d0 + k_2 (c_l − c_li)².
    pub k_2: f64,
    /// Moment coefficient about the quarter chord c_m, bow-up positive.
    pub c_m: f64,
    /// Thickness ratio t/c.
    pub thickness: f64,
}

impl Section {
    /// Drag coefficient c_d = c_d0 + k_2 (c_l − c_li)² at the least drag c_d0.
    ///
    /// # Source
    /// Parabola through the low-drag part of a measured polar; common practice, no source.
    pub fn drag(&self, c_d0: f64, c_l: f64) -> f64 {
        let off = c_l - self.c_l_ideal;
        c_d0 + self.k_2 * off * off
    }
}

/// Share of its steady lift that a wing has at once when its incidence jumps.
///
/// # Source
/// H. Wagner, *ZAMM* 5 (1925) 17–35: one half in two dimensions.
pub const PROMPT_LIFT: f64 = 0.5;

/// Rate at which the remaining lift builds up, per chord travelled.
///
/// One exponential, 1 − 0.5 exp(−0.3 x/c), in place of Wagner's function. A wing of finite
/// span settles faster (R. T. Jones, NACA Report 681, 1940), so this errs on the slow side
/// after the first few chords.
pub const LAG_PER_CHORD: f64 = 0.3;

/// Rate of the lagging lift coefficient x \[1/s\]: ẋ = 0.3 (V/c)(C_L − x). Zero at rest.
pub fn lag_rate(c_l_steady: f64, lagging: f64, speed: f64, chord: f64) -> f64 {
    LAG_PER_CHORD * speed / chord * (c_l_steady - lagging)
}

/// Lift coefficient in effect: half of the steady one at once, the rest lagging.
pub fn lagged_lift(c_l_steady: f64, lagging: f64) -> f64 {
    PROMPT_LIFT * c_l_steady + (1.0 - PROMPT_LIFT) * lagging
}

/// Share of a surface's force left at depth h \[m\] of chord c \[m\]: 0 at the surface and above,
/// 1 from half a chord down, between them `smooth::smootherstep`: the added mass fades with it, and
/// its rate is felt as a force, which a plain smoothstep would give corners.
///
/// # Source
/// Assumption. Towed wings change abruptly above about half a chord (Benson and Land,
/// Langley towing tests of 1940–42); no data say how.
pub fn depth_fade(depth: f64, chord: f64) -> f64 {
    smooth::smootherstep(depth / (0.5 * chord))
}

/// Slope of [`depth_fade`] with depth \[1/m\].
pub fn depth_fade_slope(depth: f64, chord: f64) -> f64 {
    smooth::smootherstep_slope(depth / (0.5 * chord)) / (0.5 * chord)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_slope_of_the_fade_is_its_derivative() {
        for depth in [-0.01, 0.01, 0.03, 0.05, 0.2] {
            let step = 1e-6;
            let slope = (depth_fade(depth + step, 0.12) - depth_fade(depth - step, 0.12)) / (2.0 * step);
            // round-off 1e-16/1e-6 and the third derivative times step²
            assert!((slope - depth_fade_slope(depth, 0.12)).abs() < 1e-6);
        }
    }

    #[test]
    fn nothing_lags_at_rest() {
        assert_eq!(lag_rate(1.0, 0.0, 0.0, 0.1), 0.0);
        assert_eq!(lagged_lift(0.8, 0.8), 0.8);
    }
}
