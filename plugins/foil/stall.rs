//! Lift and drag beyond the stall, all the way round.
//!
//! Angles here are measured from zero lift: α_e = α − α_L0.

use std::f64::consts::FRAC_PI_3;

use engine::smooth::smoothstep;

/// Half-width of the blend between attached and separated flow: 4°.
///
/// As wide as a tanh of ±2°, the usual choice, but exactly 0 and 1 outside.
const BLEND: f64 = 4.0 * std::f64::consts::PI / 180.0;

/// One side (bow up or bow down) of the separated branch.
#[derive(Debug, Clone, Copy)]
struct Side {
    /// Stall angle \[rad\], > 0.
    angle: f64,
    /// Constant A_2 of the lift law.
    a_2: f64,
}

impl Side {
    /// A_2 that makes the separated lift meet `c_l` at the stall angle.
    fn matched(angle: f64, c_l: f64, c_d_max: f64) -> Side {
        let (sin, cos) = angle.sin_cos();
        Side { angle, a_2: (c_l - c_d_max * sin * cos) * sin / (cos * cos) }
    }
}

/// Separated flow over a wing, its lift matched to the attached wing at each stall:
///
/// C_L = ½ C_Dmax sin 2α + A_2 cos²α/sin α, C_Dmax = 1.11 + 0.018 A (Viterna), and
/// C_D = C_L tan α + c_d0 = C_Dmax sin²α + A_2 cos α + c_d0.
///
/// Viterna chooses the drag constant so that drag too is continuous at the stall. Separation at
/// the nose ends its suction, though, and the force then stands square to the chord, as a plate
/// of low aspect ratio shows (Pelletier and Mueller 2000: 0.28 at 20°, against 0.27 so and 0.15 by
/// the matched constant). The blend with attached flow makes the step a steep rise.
///
/// Beyond 90° the flow comes from astern: the A_2 term of lift, which ends there with value and
/// slope zero, is dropped; that of drag gives way to the drag of a sharp-nosed section.
/// **No data support the astern half; it is there to be finite and to brake.**
///
/// # Source
/// L. A. Viterna, R. D. Corrigan, *Fixed pitch rotor performance of large horizontal axis
/// wind turbines*, NASA CP-2230 (1982); written from memory.
#[derive(Debug, Clone, Copy)]
pub struct Stall {
    up: Side,
    down: Side,
    c_d_max: f64,
    c_d0: f64,
    blend: f64,
}

impl Stall {
    /// For a wing of lift slope `a` \[1/rad\] and aspect ratio A that stalls at `c_l_max` > 0 and
    /// `c_l_min` < 0, with least drag coefficient `c_d0`.
    pub fn new(a: f64, aspect_ratio: f64, c_l_max: f64, c_l_min: f64, c_d0: f64) -> Stall {
        let c_d_max = 1.11 + 0.018 * aspect_ratio;
        let (up, down) = (c_l_max / a, -c_l_min / a);
        Stall {
            up: Side::matched(up, c_l_max, c_d_max),
            down: Side::matched(down, -c_l_min, c_d_max),
            c_d_max,
            c_d0,
            blend: BLEND.min(0.5 * up).min(0.5 * down),
        }
    }

    /// Stall angles from zero lift \[rad\], bow down (negative) and bow up.
    pub fn angles(&self) -> (f64, f64) {
        (-self.down.angle, self.up.angle)
    }

    /// Share of separated flow, 0 attached to 1 separated, at the angle from zero lift.
    pub fn share(&self, angle: f64) -> f64 {
        let beyond = |edge: f64, x: f64| smoothstep(0.5 + 0.5 * (x - edge) / self.blend);
        // at most one of the two is above zero
        beyond(self.up.angle, angle) + beyond(self.down.angle, -angle)
    }

    /// Lift and drag coefficients of separated flow at the angle α_e from zero lift with its
    /// sine and cosine. Call it only where [`Stall::share`] is above zero.
    pub fn separated(&self, angle: f64, sin: f64, cos: f64) -> (f64, f64) {
        let side = if sin >= 0.0 { &self.up } else { &self.down };
        // from ahead (0) to astern (1), between 60° and 120°
        let astern = smoothstep((angle.abs() - FRAC_PI_3) / FRAC_PI_3);
        let c_l = if cos > 0.0 {
            // the sine is away from zero wherever flow from ahead is separated
            self.c_d_max * sin * cos + side.a_2 * cos * cos / sin
        } else {
            self.c_d_max * sin * cos
        };
        let c_d = self.c_d_max * sin * sin + (1.0 - astern) * side.a_2 * cos + (1.0 + astern) * self.c_d0;
        (c_l, c_d)
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::{FRAC_PI_2, PI};

    use super::*;

    fn stall() -> Stall {
        Stall::new(4.9, 8.0, 1.2, -0.8, 0.008)
    }

    fn at(stall: &Stall, angle: f64) -> (f64, f64) {
        let (sin, cos) = angle.sin_cos();
        stall.separated(angle, sin, cos)
    }

    #[test]
    fn meets_the_attached_wing_at_both_stalls() {
        let s = stall();
        let (down, up) = s.angles();
        for (angle, c_l) in [(up, 1.2), (down, -0.8)] {
            let found = at(&s, angle);
            // round-off of a few operations
            assert!((found.0 - c_l).abs() < 1e-14);
            // square to the chord, and friction
            assert!((found.1 - c_l * angle.tan() - 0.008).abs() < 1e-14);
            assert!((s.share(angle) - 0.5).abs() < 1e-14);
        }
    }

    #[test]
    fn broadside_it_is_a_plate_and_it_always_brakes() {
        let s = stall();
        let (c_l, c_d) = at(&s, FRAC_PI_2);
        // lift ends at 90°; drag is C_Dmax and halfway between c_d0 and twice that
        assert!(c_l.abs() < 1e-14);
        assert!((c_d - (1.11 + 0.018 * 8.0 + 1.5 * 0.008)).abs() < 1e-12);
        for i in -3140..=3140 {
            let angle = i as f64 * 1e-3;
            if s.share(angle) > 0.0 {
                let (c_l, c_d) = at(&s, angle);
                assert!(c_d > 0.0 && c_l.is_finite(), "{angle}: {c_l} {c_d}");
            }
        }
    }

    #[test]
    fn smooth_through_90_and_180_degrees() {
        let s = stall();
        let step = 1e-5;
        for centre in [FRAC_PI_2, -FRAC_PI_2, FRAC_PI_3, 2.0 * FRAC_PI_3] {
            for pick in [|p: (f64, f64)| p.0, |p: (f64, f64)| p.1] {
                let slope = |a: f64| (pick(at(&s, a + step)) - pick(at(&s, a - step))) / (2.0 * step);
                // second derivatives are of order 5, the two slopes 4 steps apart
                assert!((slope(centre + 2.0 * step) - slope(centre - 2.0 * step)).abs() < 1e-3);
            }
        }
        // the circle closes: α = π and α = −π are the same flow
        let (ahead, behind) = (at(&s, PI - 1e-9), at(&s, -PI + 1e-9));
        assert!((ahead.0 - behind.0).abs() < 1e-7 && (ahead.1 - behind.1).abs() < 1e-7);
    }
}
