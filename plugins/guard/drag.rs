//! Drag of a ring or cage around the propeller.

/// Drag of the guard [N], positive against motion ahead: `½ ρ C_D A V |V|`.
///
/// ρ water density [kg/m³], C_D drag coefficient on the frontal area A [m²], V speed of the guard
/// through the water [m/s]. Odd in V, smooth, zero at rest. The water the propeller draws through the
/// guard is not added to V.
///
/// # Source
/// Definition of the drag coefficient. No published C_D of a propeller guard at this scale is known;
/// the user measures or assumes it.
pub fn drag(rho: f64, drag_coefficient: f64, area: f64, speed: f64) -> f64 {
    0.5 * rho * drag_coefficient * area * speed * speed.abs()
}

#[cfg(test)]
mod tests {
    use super::drag;

    #[test]
    fn it_opposes_the_motion_either_way() {
        // ½ · 1000 · 0.5 · 0.01 · 4 = 10 N
        assert!((drag(1000.0, 0.5, 0.01, 2.0) - 10.0).abs() < 1e-12);
        assert_eq!(drag(1000.0, 0.5, 0.01, -2.0), -drag(1000.0, 0.5, 0.01, 2.0));
        assert_eq!(drag(1000.0, 0.5, 0.01, 0.0), 0.0);
    }
}
