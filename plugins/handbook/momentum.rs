//! The least power that a disc needs for its thrust at rest.

use std::f64::consts::PI;

/// Ideal power T √(T/(2 ρ A)) \[W\] of a disc of diameter D \[m\] that pushes with T \[N\] at rest in
/// water of density ρ [kg/m³], A = π D²/4; 0 for T ≤ 0.
///
/// No open propeller of this diameter gives this thrust for less power at its shaft: swirl, friction and
/// uneven loading come on top. **A nozzle is another matter**: its own thrust lifts the ceiling. A
/// propeller that is not all in the water is measured against its whole disc.
///
/// # Source
/// Rankine and Froude's momentum theory of the actuator disc: induced speed at the disc v = √(T/(2 ρ A)),
/// power T v; any textbook on propellers, no page to cite.
pub fn ideal_power(thrust: f64, density: f64, diameter: f64) -> f64 {
    let area = 0.25 * PI * diameter * diameter;
    let thrust = thrust.max(0.0);
    thrust * (thrust / (2.0 * density * area)).sqrt()
}

/// Figure of merit: ideal power over the power spent; `None` where no power is spent.
pub fn figure_of_merit(thrust: f64, density: f64, diameter: f64, power: f64) -> Option<f64> {
    (power > 0.0).then(|| ideal_power(thrust, density, diameter) / power)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_jet_carries_away_what_the_disc_spends() {
        let (t, rho, d) = (300.0, 999.0, 0.16);
        let area = PI / 4.0 * d * d;
        // far behind the jet has twice the induced speed: momentum ρ A v · 2 v = T, power ½ ρ A v (2 v)²
        let v = (t / (2.0 * rho * area)).sqrt();
        assert!((rho * area * v * 2.0 * v - t).abs() < 1e-10);
        // algebra, so round-off only
        assert!((ideal_power(t, rho, d) - 0.5 * rho * area * v * (2.0 * v).powi(2)).abs() < 1e-9);
        assert_eq!(figure_of_merit(0.0, rho, d, 5.0), Some(0.0));
        assert_eq!(figure_of_merit(t, rho, d, 0.0), None);
        assert_eq!(ideal_power(-3.0, rho, d), 0.0);
    }
}
