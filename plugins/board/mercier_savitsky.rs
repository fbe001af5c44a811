//! Resistance between displacement and planing: the Mercier–Savitsky regression.
//!
//! R_T/W = Σ A_i(F_n∇) · term_i for hulls of 100 000 lb, with
//!
//! | symbol | meaning |
//! |---|---|
//! | F_n∇ = V/√(g ∇^⅓) | volume Froude number, 1.0 to 2.0 |
//! | X = ∇^⅓/L | inverse slenderness |
//! | Z = ∇/b³ | beam loading |
//! | U = √(2 i_E) | i_E half angle of entrance **in degrees** |
//! | W = A_T/A_X | transom area ÷ largest section area |
//!
//! A board keeps U and W; X and Z change as the foil takes load. The
//! regression is therefore collapsed once into five curves of F_n∇, the
//! factors of 1, X, XZ, Z and ZX².
//!
//! # Source
//! J. A. Mercier, D. Savitsky, *Resistance of Transom-Stern Craft in the
//! Pre-Planing Regime*, Davidson Laboratory Report 1667 (1973), eq. 6 and Table
//! VI, as two independent transcriptions agree; the report itself was not read.
//! No worked example was found to check it against.
//!
//! # Range
//! F_n∇ 1.0–2.0; slenderness L/∇^⅓ from about 3.1. The series holds
//! round-bottomed and hard-chine ships. **A short flat board sits at the edge
//! of it or outside**: the result carries −25 % / +50 %.

use crate::handbook::friction::c_f_ittc57;
use engine::smooth;
use engine::table::Curve;

/// Volume Froude numbers of the columns of [`COEFFICIENTS`].
pub const F_N_VOLUME: [f64; 11] = [1.0, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 2.0];

/// Rows A1, A2, A4–A10, A15, A18, A19, A24, A27; one column per [`F_N_VOLUME`].
/// A later reprint may have −0.48680 for A2 at 1.0; that moves R/W by less than 0.0002.
#[rustfmt::skip]
pub const COEFFICIENTS: [[f64; 11]; 14] = [
    [0.06473, 0.10776, 0.09483, 0.03475, 0.03013, 0.03163, 0.03194, 0.04343, 0.05036, 0.05612, 0.05967],
    [-0.48630, -0.88787, -0.63720, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    [-0.01030, -0.01634, -0.01540, -0.00978, -0.00664, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    [-0.06490, -0.13444, -0.13580, -0.05097, -0.05540, -0.10543, -0.08599, -0.13289, -0.15597, -0.18661, -0.19758],
    [0.0, 0.0, -0.16046, -0.21880, -0.19359, -0.20540, -0.19442, -0.18062, -0.17813, -0.18288, -0.20152],
    [0.10628, 0.18186, 0.16803, 0.10434, 0.09612, 0.06007, 0.06191, 0.05487, 0.05099, 0.04744, 0.04645],
    [0.97310, 1.83080, 1.55972, 0.43510, 0.51820, 0.58230, 0.52349, 0.78195, 0.92859, 1.18569, 1.30026],
    [-0.00272, -0.00389, -0.00309, -0.00198, -0.00215, -0.00372, -0.00360, -0.00332, -0.00308, -0.00244, -0.00212],
    [0.01089, 0.01467, 0.03481, 0.04113, 0.03901, 0.04794, 0.04436, 0.04187, 0.04111, 0.04124, 0.04343],
    [0.0, 0.0, 0.0, 0.0, 0.0, 0.08317, 0.07366, 0.12147, 0.14928, 0.18090, 0.19769],
    [-1.40962, -2.46696, -2.15556, -0.92663, -0.95276, -0.70895, -0.72057, -0.95929, -1.12178, -1.38644, -1.55127],
    [0.29136, 0.47305, 1.02992, 1.06392, 0.97757, 1.19737, 1.18119, 1.01562, 0.93144, 0.78414, 0.78282],
    [0.02971, 0.05877, 0.05198, 0.02209, 0.02413, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    [-0.00150, -0.00356, -0.00303, -0.00105, -0.00140, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0],
];

/// Factors of 1, X, XZ, Z and ZX² in column `i` of the table, for given U and W.
pub fn collapsed(i: usize, u: f64, w: f64) -> [f64; 5] {
    let a = COEFFICIENTS.map(|row| row[i]);
    let [a1, a2, a4, a5, a6, a7, a8, a9, a10, a15, a18, a19, a24, a27] = a;
    [
        a1 + a4 * u + a5 * w + a15 * w * w + a24 * u * w * w + a27 * w * u * u,
        a2 + a7 * u + a8 * w + a18 * w * w,
        a6,
        a9 * u + a10 * w,
        a19,
    ]
}

/// Wetted surface of the series at rest, S/∇^⅔ =
/// 2.262 √(L/∇^⅓) (1 + 0.046 B/T + 0.00287 (B/T)²), by slenderness and beam ÷ draught.
///
/// # Source
/// As the module; the formula goes with the regression's friction correction.
pub fn wetted_surface(slenderness: f64, b_t: f64) -> f64 {
    2.262 * slenderness.sqrt() * (1.0 + b_t * (0.046 + 0.00287 * b_t))
}

/// Block coefficient ∇/(L B T) taken for the series where beam ÷ draught is
/// needed, B/T = C_B/(X Z^⅔). Engineering assumption; ±0.1 moves R/W by 0.001.
pub const C_BLOCK: f64 = 0.45;

/// Reynolds number of the 100 000 lb hull ÷ (F_n∇/X): √(g ∇^⅓) ∇^⅓/ν with
/// ∇ = 10⁵/64 ft³, g = 32.2 ft/s², ν = 1.2817·10⁻⁵ ft²/s (sea water, 59 °F).
pub const RE_REFERENCE: f64 = 17_500_544.6;

/// Least residuary resistance ÷ weight: outside the tested hulls the
/// regression may turn negative, which no hull does. Rounded over ± the same.
const R_LEAST: f64 = 0.005;

/// Volume Froude number below which no wave resistance is left.
const F_ZERO: f64 = 0.3;

/// Residuary resistance of a hull of given entrance and transom: the
/// regression less the friction of its own reference hull.
#[derive(Debug, Clone)]
pub struct Residuary {
    terms: [Curve; 5],
}

impl Residuary {
    /// For half angle of entrance `i_e_deg` \[deg\] and transom ratio `w` = A_T/A_X.
    pub fn new(i_e_deg: f64, w: f64) -> Residuary {
        let u = (2.0 * i_e_deg).sqrt();
        let columns: [[f64; 5]; 11] = std::array::from_fn(|i| collapsed(i, u, w));
        let terms = std::array::from_fn(|k| {
            let y = columns.map(|c| c[k]);
            Curve::hermite(&F_N_VOLUME, &y, &parabola_slopes(&y))
        });
        Residuary { terms }
    }

    /// Total resistance ÷ weight of the 100 000 lb hull and its slope, F_n∇ in 1–2.
    pub fn total_100000_lb(&self, f: f64, x: f64, z: f64) -> (f64, f64) {
        let weights = [1.0, x, x * z, z, z * x * x];
        let mut sum = (0.0, 0.0);
        for (curve, weight) in self.terms.iter().zip(weights) {
            let (value, slope) = curve.value_and_slope(f);
            sum.0 += weight * value;
            sum.1 += weight * slope;
        }
        sum
    }

    /// Residuary resistance ÷ weight, r(F_n∇; X, Z), for every F_n∇ ≥ 0.
    ///
    /// Within 1–2: regression less ½ C_F (S/∇^⅔) F_n∇² of the reference hull.
    /// Above 2 held. Below 1 carried to zero at F_n∇ = 0.3 by the monotone
    /// rational piece with value and slope matched at 1 and slope 0 at 0.3; a
    /// plain cubic would dip below zero where the regression rises steeply.
    /// `x` and `z` positive.
    pub fn per_weight(&self, f: f64, x: f64, z: f64) -> f64 {
        let inside = f.clamp(1.0, 2.0);
        let (total, total_slope) = self.total_100000_lb(inside, x, z);
        // own friction of the reference hull and its slope in F_n∇
        let b_t = C_BLOCK / (x * (z * z).cbrt());
        let re = RE_REFERENCE * inside / x;
        let c_f = c_f_ittc57(re);
        let half_surface = 0.5 * wetted_surface(1.0 / x, b_t);
        let friction = half_surface * c_f * inside * inside;
        // d ln C_F / d ln Re = −2/(ln 10 (log10 Re − 2)) and C_F = 0.075/(log10 Re − 2)²
        let c_f_power = -2.0 / std::f64::consts::LN_10 * (c_f / 0.075).sqrt();
        let friction_slope = (2.0 + c_f_power) * friction / inside;
        let raw = total - friction;
        let r = smooth::max(raw, R_LEAST, R_LEAST);
        if f >= 1.0 {
            return r;
        }
        if f <= F_ZERO {
            return 0.0;
        }
        let span = 1.0 - F_ZERO;
        let t = (f - F_ZERO) / span;
        // slope of the rounded floor: 0 at raw = 0, 1 at raw = 2 R_LEAST
        let rounding = (0.5 * raw / R_LEAST).clamp(0.0, 1.0);
        let slope = (total_slope - friction_slope) * rounding * span;
        // falling steeply at 1 would open a pole; such hulls are outside the series
        let bend = smooth::max(slope - 2.0 * r, -3.0 * r, 0.5 * r);
        r * r * t * t / (r + bend * t * (1.0 - t))
    }
}

/// Slopes at evenly spaced knots from the parabola through each three neighbours.
fn parabola_slopes(y: &[f64; 11]) -> [f64; 11] {
    let h = F_N_VOLUME[1] - F_N_VOLUME[0];
    std::array::from_fn(|i| match i {
        0 => (-3.0 * y[0] + 4.0 * y[1] - y[2]) / (2.0 * h),
        10 => (3.0 * y[10] - 4.0 * y[9] + y[8]) / (2.0 * h),
        _ => (y[i + 1] - y[i - 1]) / (2.0 * h),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn collapsing_loses_nothing() {
        let (x, z, u, w) = (0.25, 0.31, 6.9f64, 0.55);
        let residuary = Residuary::new(0.5 * u * u, w);
        for (i, f) in F_N_VOLUME.into_iter().enumerate() {
            let a = COEFFICIENTS.map(|row| row[i]);
            let terms = [
                1.0,
                x,
                u,
                w,
                x * z,
                x * u,
                x * w,
                z * u,
                z * w,
                w * w,
                x * w * w,
                z * x * x,
                u * w * w,
                w * u * u,
            ];
            let long: f64 = a.iter().zip(terms).map(|(a, t)| a * t).sum();
            // sums of 14 terms of size 0.5: round-off
            assert!((residuary.total_100000_lb(f, x, z).0 - long).abs() < 1e-14);
        }
    }

    #[test]
    fn reference_reynolds_number_is_what_its_comment_says() {
        let length = (1e5f64 / 64.0).cbrt();
        let re = (32.2 * length).sqrt() * length / 1.2817e-5;
        assert!((re / RE_REFERENCE - 1.0).abs() < 1e-6, "{re}");
    }

    #[test]
    fn rises_from_nothing_without_dips_or_corners() {
        for (i_e, w) in [(25.0, 0.6), (15.0, 0.4), (35.0, 1.0)] {
            let residuary = Residuary::new(i_e, w);
            for load in [1.0, 0.4, 0.1, 1e-3, 1e-9] {
                let (x, z) = (0.2579 * f64::cbrt(load), 0.2915 * load);
                let r = |f: f64| residuary.per_weight(f, x, z);
                assert_eq!(r(0.2), 0.0);
                let h = 1e-6;
                let slope = |f: f64| (r(f + h) - r(f - h)) / (2.0 * h);
                for n in 0..1900 {
                    let f = 0.05 + n as f64 * 1e-3;
                    assert!(r(f).is_finite() && r(f) >= 0.0);
                    // largest curvature of the table, 0.8 per 0.1²·…: measured below 12 per unit²;
                    // a corner of 0.05 in slope would show
                    let jump = (slope(f + 1e-3) - slope(f)).abs();
                    assert!(jump < 0.02, "corner at {f}, load {load}: {jump}");
                }
            }
        }
    }
}
