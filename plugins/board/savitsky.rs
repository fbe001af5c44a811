//! Planing of a prismatic hull, after Savitsky.
//!
//! # Source
//! D. Savitsky, *Hydrodynamic Design of Planing Hulls*, Marine Technology 1(1)
//! (1964) 71–95. Checked against every row of his Table 1. Equations 1 and 35, Table 1 and
//! Figs. 12, 16, 18 are cited as read; the numbers of the other figures are from memory.
//!
//! # Range
//! 0.60 ≤ C_v ≤ 13, 2° ≤ τ ≤ 15°, λ ≤ 4 (performance procedure: C_v ≥ 1).
//! Trim τ and deadrise β enter **in degrees**, as in the fitted formulas. All
//! else may be in any coherent set of units.
//!
//! | symbol | meaning |
//! |---|---|
//! | b, β | beam, deadrise |
//! | τ | trim of the bottom to the horizontal |
//! | C_v = V/√(g b) | speed coefficient |
//! | λ | mean wetted length ÷ beam |
//! | C_L = Δ/(½ ρ V² b²) | lift coefficient; C_L0 for β = 0 |

use crate::handbook::friction::c_f_schoenherr;
use engine::root;

/// Dynamic lift factor of a flat plate: C_L0 = τ^1.1 (0.0120 λ^½ + …).
pub const C_DYNAMIC: f64 = 0.0120;
/// Buoyant lift factor of a flat plate: … + 0.0055 λ^2.5 / C_v².
pub const C_STATIC: f64 = 0.0055;

/// Speed coefficient C_v = V/√(g b).
pub fn speed_coefficient(v: f64, g: f64, b: f64) -> f64 {
    v / (g * b).sqrt()
}

/// Wetted length ratio λ of a flat plate from the still-water one,
/// λ₁ = d/(b sin τ): the water rises ahead of the plate (eq. 1 and the line below it).
///
/// λ = 1.60 λ₁ − 0.30 λ₁² for λ₁ ≤ 1, λ₁ + 0.30 for 1 ≤ λ₁ ≤ 4.
pub fn wave_rise(lambda_1: f64) -> f64 {
    if lambda_1 <= 1.0 { lambda_1 * (1.60 - 0.30 * lambda_1) } else { lambda_1 + 0.30 }
}

/// C_L0/τ^1.1 = 0.0120 λ^½ + 0.0055 λ^2.5/C_v².
pub fn lift_per_trim(lambda: f64, c_v: f64) -> f64 {
    let root = lambda.sqrt();
    C_DYNAMIC * root + C_STATIC * lambda * lambda * root / (c_v * c_v)
}

/// Lift coefficient of a flat plate, C_L0, at trim τ \[deg\].
pub fn lift_coefficient_flat(lambda: f64, c_v: f64, tau_deg: f64) -> f64 {
    tau_deg.powf(1.1) * lift_per_trim(lambda, c_v)
}

/// Lift coefficient with deadrise β \[deg\], C_Lβ = C_L0 − 0.0065 β C_L0^0.60.
pub fn lift_coefficient_deadrise(c_l0: f64, beta_deg: f64) -> f64 {
    c_l0 - 0.0065 * beta_deg * c_l0.powf(0.60)
}

/// C_L0 that gives C_Lβ: the line above inverted (his Fig. 11). `None` where there is none below 2.
pub fn lift_coefficient_flat_from_deadrise(c_l_beta: f64, beta_deg: f64) -> Option<f64> {
    let residual = |c: f64| lift_coefficient_deadrise(c, beta_deg) - c_l_beta;
    // the deadrise formula falls, then rises; it is negative up to (0.0065 β)^2.5 and rises from there on
    let low = (0.0065 * beta_deg).powf(2.5);
    (residual(low) <= 0.0 && residual(2.0) >= 0.0).then(|| root::bracketed(residual, low, 2.0)).flatten()
}

/// λ that gives C_L0/τ^1.1 at C_v: the lift formula inverted (his Fig. 10). `None` where λ would exceed 20.
pub fn wetted_length_ratio(c_l0_per_trim: f64, c_v: f64) -> Option<f64> {
    let residual = |lambda: f64| lift_per_trim(lambda, c_v) - c_l0_per_trim;
    (residual(0.0) <= 0.0 && residual(20.0) >= 0.0).then(|| root::bracketed(residual, 0.0, 20.0)).flatten()
}

/// Centre of pressure forward of the transom ÷ mean wetted length,
/// C_p = 0.75 − 1/(5.21 C_v²/λ² + 2.39) (his Fig. 17): the dynamic part acts at
/// 0.75, the buoyant part at 0.33.
pub fn centre_of_pressure(lambda: f64, c_v: f64) -> f64 {
    0.75 - lambda * lambda / (5.21 * c_v * c_v + 2.39 * lambda * lambda)
}

/// Square of (mean velocity over the bottom ÷ V) of a flat plate,
/// (V₁/V)² = 1 − 0.0120 τ^1.1/(λ^½ cos τ) (his Fig. 14).
pub fn mean_velocity_ratio_squared(lambda: f64, tau_deg: f64) -> f64 {
    let cos = tau_deg.to_radians().cos();
    1.0 - C_DYNAMIC * tau_deg.powf(1.1) / (lambda.sqrt() * cos)
}

/// Viscous drag along the bottom, D_f = ½ ρ V₁² λ b² (C_F + ΔC_F)/cos β.
pub fn viscous_drag(rho: f64, v_1: f64, lambda: f64, b: f64, beta_deg: f64, c_f: f64) -> f64 {
    0.5 * rho * v_1 * v_1 * lambda * b * b * c_f / beta_deg.to_radians().cos()
}

/// Total horizontal drag, D = Δ tan τ + D_f/cos τ.
pub fn drag(load: f64, viscous: f64, tau_deg: f64) -> f64 {
    let (sin, cos) = tau_deg.to_radians().sin_cos();
    load * sin / cos + viscous / cos
}

/// Trim \[deg\] above which a flat-bottomed planing hull porpoises, against
/// s = √(C_L/2). Stable below.
///
/// τ = −1.59 + 9.42 s + 87.3 s², fitted to his Fig. 18, β = 0, read off at
/// s = 0.13…0.30 to ±0.3°; the fit is within 0.03° of those readings. Never negative.
pub fn porpoising_trim(c_l: f64) -> f64 {
    let s_squared = 0.5 * c_l.max(0.0);
    (-1.588 + 9.419 * s_squared.sqrt() + 87.26 * s_squared).max(0.0)
}

/// A prismatic hull and its loading, in a coherent set of units.
#[derive(Debug, Clone, Copy)]
pub struct Prism {
    /// Load on the water Δ (a force).
    pub load: f64,
    /// Centre of gravity forward of the transom.
    pub lcg: f64,
    /// Centre of gravity above the keel.
    pub vcg: f64,
    /// Beam b.
    pub beam: f64,
    /// Deadrise β \[deg\].
    pub deadrise: f64,
    /// Thrust line to the keel ε \[deg\].
    pub shaft_angle: f64,
    /// Distance f of the thrust line from the centre of gravity.
    pub shaft_arm: f64,
    /// Roughness allowance ΔC_F.
    pub allowance: f64,
}

/// The stream a hull runs in, in the same units.
#[derive(Debug, Clone, Copy)]
pub struct Stream {
    /// Speed V.
    pub v: f64,
    /// Density ρ.
    pub rho: f64,
    /// Kinematic viscosity ν.
    pub nu: f64,
    /// Acceleration of gravity g.
    pub g: f64,
}

/// A hull at one trim: the rows of Savitsky's Table 1.
#[derive(Debug, Clone, Copy)]
pub struct Running {
    /// Mean wetted length ratio λ (row 4).
    pub lambda: f64,
    /// Mean velocity V₁ (row 5).
    pub v_1: f64,
    /// Reynolds number V₁ λ b/ν (row 6).
    pub re: f64,
    /// Friction coefficient without allowance, Schoenherr (row 7).
    pub c_f: f64,
    /// Viscous drag D_f (row 10).
    pub viscous: f64,
    /// Total drag D (row 16).
    pub drag: f64,
    /// Centre of pressure C_p (row 17).
    pub c_p: f64,
    /// Load times its arm, Δ ((1 − sin τ sin(τ+ε)) c/cos τ − f sin τ) (row 27).
    pub moment_load: f64,
    /// Bow-down moment left over (row 30, eq. 35): zero at equilibrium.
    pub moment: f64,
}

impl Prism {
    /// The hull at trim τ \[deg\] with the flat-plate lift coefficient `c_l0`.
    /// `None` where no wetted length carries that load.
    pub fn at_trim(&self, s: Stream, c_l0: f64, tau_deg: f64) -> Option<Running> {
        let c_v = speed_coefficient(s.v, s.g, self.beam);
        let lambda = wetted_length_ratio(c_l0 / tau_deg.powf(1.1), c_v)?;
        let v_1 = s.v * mean_velocity_ratio_squared(lambda, tau_deg).max(0.0).sqrt();
        let re = v_1 * lambda * self.beam / s.nu;
        let c_f = c_f_schoenherr(re);
        let total_c_f = c_f + self.allowance;
        let viscous = viscous_drag(s.rho, v_1, lambda, self.beam, self.deadrise, total_c_f);
        let c_p = centre_of_pressure(lambda, c_v);
        // arms about the centre of gravity: c of the pressure, a of the friction
        let c = self.lcg - c_p * lambda * self.beam;
        let a = self.vcg - 0.25 * self.beam * self.deadrise.to_radians().tan();
        let (tau, epsilon) = (tau_deg.to_radians(), self.shaft_angle.to_radians());
        let arm = (1.0 - tau.sin() * (tau + epsilon).sin()) * c / tau.cos() - self.shaft_arm * tau.sin();
        let moment_load = self.load * arm;
        Some(Running {
            lambda,
            v_1,
            re,
            c_f,
            viscous,
            drag: drag(self.load, viscous, tau_deg),
            c_p,
            moment_load,
            moment: moment_load + viscous * (a - self.shaft_arm),
        })
    }

    /// Trim between 1° and 15° \[deg\] at which the moments balance (eq. 35). `None` if there is none.
    pub fn equilibrium_trim(&self, s: Stream, c_l0: f64) -> Option<f64> {
        // a lower bound that still has a wetted length to carry the load
        let low = (10..150).map(|i| 0.1 * i as f64).find(|&tau| self.at_trim(s, c_l0, tau).is_some())?;
        let residual = |tau: f64| self.at_trim(s, c_l0, tau).map_or(f64::NAN, |r| r.moment);
        (residual(low) * residual(15.0) <= 0.0).then(|| root::bracketed(residual, low, 15.0)).flatten()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inversions_return_what_went_in() {
        for (lambda, c_v) in [(0.5, 1.0), (2.0, 3.0), (3.9, 8.0)] {
            let back = wetted_length_ratio(lift_per_trim(lambda, c_v), c_v).unwrap();
            // root to round-off, times the condition number of the inversion (< 10)
            assert!((back - lambda).abs() < 1e-13);
        }
        let c_l0 = lift_coefficient_flat_from_deadrise(lift_coefficient_deadrise(0.084, 10.0), 10.0);
        assert!((c_l0.unwrap() - 0.084).abs() < 1e-13);
    }

    #[test]
    fn impossible_loads_are_refused() {
        assert_eq!(wetted_length_ratio(f64::NAN, 3.0), None);
        assert_eq!(wetted_length_ratio(1e9, 3.0), None);
        assert_eq!(lift_coefficient_flat_from_deadrise(5.0, 10.0), None);
    }

    #[test]
    fn wave_rise_has_no_corner() {
        let h = 1e-7;
        let (below, above) =
            ((wave_rise(1.0) - wave_rise(1.0 - h)) / h, (wave_rise(1.0 + h) - wave_rise(1.0)) / h);
        // one-sided differences: curvature 0.6 × h, and round-off 1e-16/h
        assert!((below - above).abs() < 1e-6);
    }

    #[test]
    fn centre_of_pressure_lies_between_its_two_parts() {
        assert!((centre_of_pressure(1.0, 1e6) - 0.75).abs() < 1e-9);
        // no dynamic part: 0.75 − 1/2.39
        assert!((centre_of_pressure(1.0, 0.0) - 0.3316).abs() < 1e-4);
    }
}
