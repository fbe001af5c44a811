//! Thrust and torque coefficients of the Wageningen B-series.
//!
//! K_T and K_Q are polynomials in J, P/D, A_E/A_0 and Z ([`super::coefficients`]). The highest power
//! of J is three, so that for a given propeller each collapses, without any fit, to one cubic in J.
//!
//! # Range
//! Z 2–7, A_E/A_0 0.30–1.05, P/D 0.5–1.4, 0 ≤ J ≤ the J of zero thrust, Re(0.7 R) 2·10⁶.
//! **Z = 2 is not to be trusted**: chart readings differ by up to 0.03 in K_T and the computed
//! efficiency reaches 0.87. **A board's propeller runs at Re of about 5·10⁵ to 1.5·10⁶ by chord and
//! speed**, where laminar flow and separation may raise the torque; the series' own correction starts at 2·10⁶ and must not be
//! extrapolated downwards, so none is applied. No published torque value was at hand to check
//! against: torque rests on the coefficients.

use super::coefficients::{K_Q, K_T, Term};
use super::open_water::{Blades, OpenWater};
use engine::root::bracketed;

/// Reynolds number at 0.7 R that the coefficients belong to.
pub const REYNOLDS_NUMBER: f64 = 2e6;

/// One propeller of the series.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BSeries {
    /// Number of blades Z.
    pub blades: u32,
    /// Expanded blade area ratio A_E/A_0.
    pub area_ratio: f64,
    /// Pitch ratio P/D.
    pub pitch_ratio: f64,
}

/// Powers x⁰ … x⁶.
fn powers(x: f64) -> [f64; 7] {
    let mut p = [1.0; 7];
    for i in 1..7 {
        p[i] = p[i - 1] * x;
    }
    p
}

/// Coefficients of 1, J, J², J³ of one of the two polynomials.
fn collapse(terms: &[Term], propeller: &BSeries) -> [f64; 4] {
    let pitch = powers(propeller.pitch_ratio);
    let area = powers(propeller.area_ratio);
    let blades = powers(f64::from(propeller.blades));
    let mut cubic = [0.0; 4];
    for term in terms {
        cubic[term.s] += term.c * pitch[term.t] * area[term.u] * blades[term.v];
    }
    cubic
}

impl BSeries {
    /// K_T as a cubic in J: coefficients of 1, J, J², J³.
    pub fn k_t(&self) -> [f64; 4] {
        collapse(&K_T, self)
    }

    /// K_Q as a cubic in J: coefficients of 1, J, J², J³.
    pub fn k_q(&self) -> [f64; 4] {
        collapse(&K_Q, self)
    }

    /// Advance ratio of zero thrust; the series ends there.
    pub fn zero_thrust_advance_ratio(&self) -> f64 {
        let c = self.k_t();
        let k_t = |j: f64| c[0] + j * (c[1] + j * (c[2] + j * c[3]));
        // Thrust vanishes a little beyond the geometric J = P/D: seen at 1.05–1.2 P/D. March to the
        // first change of sign, so that a second root of the cubic cannot be taken for it.
        let step = 0.02;
        let mut j = 0.0;
        while k_t(j) > 0.0 && j < 3.0 {
            j += step;
        }
        bracketed(k_t, (j - step).max(0.0), j).unwrap_or(j)
    }

    /// The open-water law of this propeller at diameter D \[m\].
    pub fn open_water(&self, diameter: f64, stopped_drag_coefficient: f64) -> OpenWater {
        let blades =
            Blades { area_ratio: self.area_ratio, pitch_ratio: self.pitch_ratio, stopped_drag_coefficient };
        let j_c = self.zero_thrust_advance_ratio();
        OpenWater::from_cubics(diameter, self.k_t(), self.k_q(), j_c, blades)
    }

    /// Chord at 0.7 R over the diameter: `c/D = K (A_E/A_0)/Z`, K = 2.144 for four blades and more,
    /// 2.168 for three (and taken for two).
    ///
    /// # Source
    /// Blade outline tables of the series (Oosterveld and van Oossanen 1975). 2.144 agrees with a
    /// public transcription; 2.168 is from memory.
    pub fn chord_ratio(&self) -> f64 {
        let k = if self.blades > 3 { 2.144 } else { 2.168 };
        k * self.area_ratio / f64::from(self.blades)
    }
}
