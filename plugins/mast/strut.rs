//! Drag of a vertical surface-piercing strut.

use engine::smooth;
use engine::table::Curve;

use crate::handbook::{friction, friction_curve};

/// How the spray drag of a strut depends on chord and thickness.
///
/// # Source
/// The forms agree at t/c 0.13, c 0.12 m (about 0.7 N at 5 m/s) and part company elsewhere.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spray {
    /// D = 0.24 q t²: S. F. Hoerner, *Fluid-Dynamic Drag* (1965), ch. 10, noses sharp or with the
    /// greatest thickness ahead of 0.4 c.
    Hoerner,
    /// D = q (0.036 c t − 0.03 t²): R. B. Chapman, NUC TP 251 (1971), 66-series sections,
    /// 0.12 < t/c < 0.21.
    Chapman,
    /// D = 0.30 q t²: middle of the 0.26–0.38 found by W. Beaver and J. Zseleczky (2009)
    /// towing full-size struts of t/c 0.13–0.15 at 6 m/s.
    Towed,
}

impl Spray {
    /// Coefficients (k_ct, k_tt) of D = q (k_ct c t + k_tt t²), all quoted by later texts.
    pub fn coefficients(self) -> (f64, f64) {
        match self {
            Spray::Hoerner => (0.0, 0.24),
            Spray::Chapman => (0.036, -0.03),
            Spray::Towed => (0.0, 0.30),
        }
    }
}

/// Area on which dynamic pressure gives the spray drag \[m²\], fully developed: k_ct c t + k_tt t².
pub fn spray_area(spray: Spray, chord: f64, thickness: f64) -> f64 {
    let (k_ct, k_tt) = spray.coefficients();
    k_ct * chord * thickness + k_tt * thickness * thickness
}

/// Share of the spray drag developed at chord Froude number F_c = V/√(g c): a smoothstep from
/// F_c = 1 to 3, where the sources' range begins.
///
/// # Source
/// Assumption between no spray when slow and the measured range.
pub fn spray_growth(speed: f64, chord: f64, g: f64) -> f64 {
    smooth::smoothstep(0.5 * (speed.abs() / (g * chord).sqrt() - 1.0))
}

/// Area on which dynamic pressure gives the drag of the corner between strut and wing \[m²\]:
/// t² (17 (t/c)² − 0.05), never negative.
///
/// # Source
/// S. F. Hoerner, *Fluid-Dynamic Drag* (1965), ch. 8 (quoted); at t/c 0.12 it is 0.195 t².
pub fn junction_area(chord: f64, thickness: f64) -> f64 {
    let ratio = thickness / chord;
    let coefficient = 17.0 * ratio * ratio - 0.05;
    // thin struts, t/c below 0.054: the fairing effect is not credited
    thickness * thickness * smooth::positive(coefficient, 0.02)
}

/// Length under water of a strut of length l \[m\] whose foot is at depth `foot` \[m\], at pitch θ:
/// foot/cos θ between 0 and l, each corner rounded over 1 cm (less for a strut shorter than 4 cm).
pub fn immersed_length(foot: f64, length: f64, cos_pitch: f64) -> f64 {
    // beyond 70° the strut lies down and the formula has no meaning: keep it finite
    let cos = smooth::max(cos_pitch, 0.3, 0.05);
    smooth::clamp(foot / cos, 0.0, length, (0.25 * length).min(0.01))
}

/// A strut made ready for evaluation.
#[derive(Debug, Clone)]
pub struct Strut {
    /// Chord c \[m\].
    pub chord: f64,
    /// Thickness t \[m\].
    pub thickness: f64,
    /// Length l from the board's bottom to the foot \[m\].
    pub length: f64,
    drag: Curve,
    spray: f64,
    junction: f64,
}

impl Strut {
    /// A strut of chord, thickness and length \[m\], `laminar` share of the boundary layer 0–1, its
    /// drag coefficient if measured, the spray form, and the number of corners at its foot.
    pub fn new(
        (chord, thickness, length): (f64, f64, f64),
        laminar: f64,
        c_d: Option<f64>,
        spray: Spray,
        corners: f64,
    ) -> Strut {
        let form = friction::form_factor_section(thickness / chord);
        let drag = match c_d {
            Some(c_d) => Curve::hermite(&[0.0, 1e6], &[c_d; 2], &[0.0; 2]),
            None => friction_curve::plate(2.0 * form, laminar),
        };
        Strut {
            chord,
            thickness,
            length,
            drag,
            spray: spray_area(spray, chord, thickness),
            junction: corners * junction_area(chord, thickness),
        }
    }

    /// Profile drag coefficient on chord times immersed length, 2 C_F FF.
    pub fn c_d(&self, reynolds: f64) -> f64 {
        self.drag.held(reynolds)
    }

    /// Drag per metre of profile \[N/m\] at speed V \[m/s\]: ½ ρ V² c C_D.
    pub fn profile(&self, speed: f64, rho: f64, nu: f64) -> f64 {
        0.5 * rho * speed * speed * self.chord * self.c_d(speed.abs() * self.chord / nu)
    }

    /// Spray drag \[N\] at speed V \[m/s\]; `emerged` is the share, 0–1, to which the board is out of
    /// the water, `immersed` the strut's wetted length \[m\], without which there is no spray either.
    pub fn spray(&self, speed: f64, rho: f64, g: f64, emerged: f64, immersed: f64) -> f64 {
        let wet = smooth::smoothstep(immersed / self.chord);
        let growth = spray_growth(speed, self.chord, g);
        0.5 * rho * speed * speed * self.spray * growth * emerged * wet
    }

    /// Drag of the corners at the foot \[N\] at speed V \[m/s\], fading as the foot surfaces.
    pub fn junction(&self, speed: f64, rho: f64, foot_depth: f64) -> f64 {
        let wet = smooth::smoothstep(foot_depth / (0.5 * self.chord));
        0.5 * rho * speed * speed * self.junction * wet
    }
}

/// Cross-section area of a streamlined section \[m²\]: 0.685 c t.
///
/// # Source
/// Area of a four-digit section, integral of its thickness law (0.6851 c t).
pub fn section_area(chord: f64, thickness: f64) -> f64 {
    0.685 * chord * thickness
}

#[cfg(test)]
mod tests {
    use super::*;

    fn strut() -> Strut {
        Strut::new((0.12, 0.016, 0.75), 0.5, None, Spray::Towed, 1.0)
    }

    #[test]
    fn wetted_between_nothing_and_all() {
        assert_eq!(immersed_length(-0.2, 0.75, 1.0), 0.0);
        assert_eq!(immersed_length(0.4, 0.75, 1.0), 0.4);
        assert_eq!(immersed_length(2.0, 0.75, 1.0), 0.75);
        // tilted, more of it is under for the same foot depth
        assert!(immersed_length(0.4, 0.75, 0.9) > 0.4);
        assert!(immersed_length(0.4, 0.75, -1.0).is_finite());
    }

    #[test]
    fn nothing_at_rest_and_symmetric_in_direction() {
        let s = strut();
        for speed in [0.0, 3.0] {
            let all = |v: f64| {
                [s.profile(v, 1000.0, 1e-6), s.spray(v, 1000.0, 9.81, 1.0, 0.4), s.junction(v, 1000.0, 0.4)]
            };
            assert_eq!(all(speed), all(-speed));
            assert!(all(speed).iter().all(|d| (*d > 0.0) == (speed > 0.0)));
        }
    }

    #[test]
    fn no_spray_while_the_board_is_wet_or_the_strut_is_out() {
        let s = strut();
        assert_eq!(s.spray(5.0, 1000.0, 9.81, 0.0, 0.5), 0.0);
        assert_eq!(s.spray(5.0, 1000.0, 9.81, 1.0, 0.0), 0.0);
    }
}
