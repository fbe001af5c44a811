//! Added mass of the board: plates moving broadside, a half ellipsoid moving end on.

use std::f64::consts::PI;

/// Added mass for motion of the centre of gravity: surge A11; heave, heave–pitch and pitch,
/// A33 = Σ a, A35 = −Σ a e_x, A55 = Σ a e_x² (a point moves down at w − q e_x).
#[derive(Debug, Clone, Copy, Default)]
pub struct AddedMass {
    /// Surge.
    pub a11: f64,
    /// Heave.
    pub a33: f64,
    /// Heave–pitch.
    pub a35: f64,
    /// Pitch.
    pub a55: f64,
}

/// Added-mass coefficient of a rectangular plate moving broadside in unbounded
/// water, by length ÷ width: mass = C_A ρ (π/4) width² length.
///
/// # Source
/// DNV-RP-H103 (2011), table A-2, from memory; the square plate, 0.579, agrees
/// with Meyerhoff, *J. Ship Res.* 14 (1970).
pub fn c_a_rectangular_plate(length_over_width: f64) -> f64 {
    const RATIO: [f64; 11] = [1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.25, 8.0, 10.0];
    const C_A: [f64; 11] = [0.579, 0.642, 0.690, 0.757, 0.801, 0.830, 0.872, 0.897, 0.917, 0.934, 0.947];
    let r = length_over_width.max(1.0 / length_over_width).clamp(1.0, 10.0);
    let i = RATIO.partition_point(|&k| k <= r).clamp(1, 10) - 1;
    C_A[i] + (C_A[i + 1] - C_A[i]) * (r - RATIO[i]) / (RATIO[i + 1] - RATIO[i])
}

/// Carlson's integral R_D(x, y, z) = 3/2 ∫₀^∞ dt / (√(t + x) √(t + y) (t + z)^{3/2}), arguments positive.
///
/// # Source
/// B. C. Carlson, *Computing Elliptic Integrals by Duplication*, Numer. Math. 33 (1979) 1–16
/// (from memory; the tests take the integral by another way).
fn r_d(mut x: f64, mut y: f64, mut z: f64) -> f64 {
    let (mut sum, mut share) = (0.0, 1.0);
    // each turn brings the three four times closer together: round-off after some twenty
    for _ in 0..26 {
        let (root_x, root_y, root_z) = (x.sqrt(), y.sqrt(), z.sqrt());
        let step = root_x * root_y + root_y * root_z + root_z * root_x;
        sum += share / (root_z * (z + step));
        share *= 0.25;
        (x, y, z) = (0.25 * (x + step), 0.25 * (y + step), 0.25 * (z + step));
    }
    3.0 * sum + share / (z * z.sqrt())
}

/// Added-mass coefficient k_1 of an ellipsoid of semi-axes a, b, c moving along a, on its displaced mass:
/// k_1 = α_0/(2 − α_0), α_0 = a b c ∫₀^∞ dλ / ((a² + λ) Δ), Δ² = (a² + λ)(b² + λ)(c² + λ).
/// A half of it, floating under a surface that stays level, has the same.
///
/// # Source
/// H. Lamb, *Hydrodynamics*, art. 114.
pub fn ellipsoid_surge(a: f64, b: f64, c: f64) -> f64 {
    let alpha = a * b * c * 2.0 / 3.0 * r_d(b * b, c * c, a * a);
    alpha / (2.0 - alpha)
}

/// k_1 of a board of length L, beam b and enclosed volume: of the half ellipsoid of that length and beam
/// that holds three quarters of the volume, what a board displaces under its rider
/// (assumption; over a quarter to the whole of the volume k_1 moves by −60 % / +25 %).
pub fn board_surge(length: f64, beam: f64, volume: f64) -> f64 {
    // ∇ = ⅔ π (L/2) (b/2) T
    let draught = 0.75 * volume / (PI / 6.0 * length * beam);
    ellipsoid_surge(0.5 * length, 0.5 * beam, draught)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_ellipsoid_knows_sphere_spheroid_and_the_sum_of_its_axes() {
        // a sphere, exactly; round-off of 26 turns
        assert!((ellipsoid_surge(0.3, 0.3, 0.3) - 0.5).abs() < 1e-13);
        // prolate spheroid in closed form (Lamb, art. 114): α_0 = 2 (1 − e²)/e³ (artanh e − e)
        for ratio in [1.5f64, 2.0, 4.0, 10.0] {
            let e = (1.0 - 1.0 / (ratio * ratio)).sqrt();
            let alpha = 2.0 * (1.0 - e * e) / (e * e * e) * (e.atanh() - e);
            assert!((ellipsoid_surge(ratio, 1.0, 1.0) - alpha / (2.0 - alpha)).abs() < 1e-13);
        }
        // Lamb's table as most texts quote it, from memory; its 0.209 is 0.210 by the formula
        for (ratio, k_1) in [(2.0, 0.209), (4.0, 0.082), (6.0, 0.045), (10.0, 0.021)] {
            assert!((ellipsoid_surge(ratio, 1.0, 1.0) - k_1).abs() < 1.5e-3, "{ratio}");
        }
        // α_0 + β_0 + γ_0 = 2 for any ellipsoid
        let (a, b, c) = (0.825, 0.34, 0.12);
        let alpha = |k: f64| 2.0 * k / (1.0 + k);
        let sum = [ellipsoid_surge(a, b, c), ellipsoid_surge(b, c, a), ellipsoid_surge(c, a, b)].map(alpha);
        assert!((sum.iter().sum::<f64>() - 2.0).abs() < 1e-13);
    }

    /// α_0 by the trapezium rule in ln λ, knowing nothing of Carlson: 1.65 m × 0.68 m, T 0.10 and 0.15 m.
    #[test]
    fn a_board_like_half_ellipsoid_carries_a_twelfth_of_its_mass_along() {
        for (t, about) in [(0.10, 0.062), (0.15, 0.088)] {
            let (a, b, c) = (0.825f64, 0.34, t);
            let integrand = |s: f64| {
                let l = s.exp();
                l / ((a * a + l).powf(1.5) * ((b * b + l) * (c * c + l)).sqrt())
            };
            let alpha = a * b * c * 0.01 * (-3000..3000).map(|i| integrand(0.01 * i as f64)).sum::<f64>();
            let k_1 = ellipsoid_surge(a, b, c);
            // smooth and fading at both ends (e^±30): the rule is exact to round-off but for them
            assert!((k_1 - alpha / (2.0 - alpha)).abs() < 1e-10, "{k_1}");
            // worked out once by another hand, to two digits
            assert!((k_1 - about).abs() < 5e-4, "{k_1}");
        }
        // a quarter of the volume and all of it against three quarters, as the doc comment says
        let [quarter, own, all] =
            [1.0 / 3.0, 1.0, 4.0 / 3.0].map(|part| board_surge(1.65, 0.68, 0.145 * part));
        let (low, high) = (quarter / own - 1.0, all / own - 1.0);
        assert!((low + 0.6).abs() < 0.05 && (high - 0.25).abs() < 0.05, "{own}: {low}, {high}");
    }
}
