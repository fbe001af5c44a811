//! Is a propeller likely to cavitate? Numbers to warn with; no thrust is taken away.
//!
//! Symbols: p_0 static pressure at the shaft \[Pa\], p_v vapour pressure \[Pa\], V_R resultant speed at
//! 0.7 R [m/s], A_P projected blade area \[m²\].

use std::f64::consts::PI;

/// Square of the resultant speed of the section at 0.7 R [m²/s²]: `V_R² = V_A² + (0.7 π n D)²`,
/// with the rotation induced in the water left out.
///
/// # Source
/// ITTC 1948 conference decision on the characteristic Reynolds number of model screws.
pub fn section_speed_squared(n: f64, diameter: f64, v_a: f64) -> f64 {
    let tip_part = 0.7 * PI * n * diameter;
    v_a * v_a + tip_part * tip_part
}

/// Cavitation number at 0.7 R: `σ = (p_0 − p_v) / (½ ρ V_R²)`.
///
/// Infinite at standstill in principle; the dynamic pressure is taken at least 1 Pa.
///
/// # Source
/// Definition, ITTC symbols list.
pub fn cavitation_number(p_0: f64, p_v: f64, rho: f64, v_r_squared: f64) -> f64 {
    (p_0 - p_v) / (0.5 * rho * v_r_squared).max(1.0)
}

/// Projected blade area ratio A_P/A_0 of an expanded one A_E/A_0: `A_P = A_E (1.067 − 0.229 P/D)`.
///
/// # Source
/// UFC 4-159-03, *Design: Moorings*, equation 22, p. 91. Made for P/D 0.6–2; stops at zero.
pub fn projected_area_ratio(area_ratio: f64, pitch_ratio: f64) -> f64 {
    area_ratio * (1.067 - 0.229 * pitch_ratio).max(0.0)
}

/// Thrust loading of the blades: `τ_c = T / (½ ρ A_P V_R²)`, the dynamic pressure at least 1 Pa.
///
/// # Source
/// Definition used by L. C. Burrill and A. Emerson in their back-cavitation diagram. The diagram's
/// lines are not given here: no formula for them could be traced to a page.
pub fn thrust_loading(thrust: f64, rho: f64, projected_area: f64, v_r_squared: f64) -> f64 {
    thrust / ((0.5 * rho * v_r_squared).max(1.0) * projected_area.max(f64::MIN_POSITIVE))
}

/// Smallest expanded area ratio for a thrust T \[N\] without harmful cavitation:
/// `A_E/A_0 ≥ (1.3 + 0.3 Z) T / ((p_0 − p_v) D²) + k`.
///
/// k is 0.2 for single-screw ships, 0.1 for slow and 0 for fast twin-screw ships. **It was fitted to
/// ships; none of the three is calibrated for a board.** k = 0 is the mildest.
///
/// # Source
/// Keller's criterion, as in J. Holtrop, G. G. J. Mennen, "An approximate power prediction method",
/// *International Shipbuilding Progress* 29 (1982).
pub fn keller_area_ratio(thrust: f64, blades: f64, p_0: f64, p_v: f64, diameter: f64, k: f64) -> f64 {
    // a shaft well out of the water or boiling water: the pressure difference stays at least 1 Pa
    let pressure = (p_0 - p_v).max(1.0);
    (1.3 + 0.3 * blades) * thrust.max(0.0) / (pressure * diameter * diameter) + k
}

/// Reynolds number of the section at 0.7 R: `Re = c V_R / ν`, c chord \[m\], ν kinematic viscosity [m²/s].
///
/// # Source
/// ITTC 1948, as [`section_speed_squared`].
pub fn reynolds_number(chord: f64, v_r_squared: f64, nu: f64) -> f64 {
    chord * v_r_squared.sqrt() / nu
}
