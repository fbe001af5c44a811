//! Drag of a ring or cage around the propeller.

/// Drag of the guard, forward and down \[N\]: `F = −½ ρ C_D A |V| V`.
///
/// ρ water density [kg/m³], C_D drag coefficient on the frontal area A \[m²\], (v_x, v_z) velocity of the
/// guard through the water [m/s]. Its slope is continuous through rest. The water that the propeller
/// draws through the guard is not added to V, and C_D is the same from every side.
///
/// # Source
/// Definition of the drag coefficient. No published C_D of a propeller guard at this scale is known;
/// the user measures or assumes it.
pub fn drag(rho: f64, drag_coefficient: f64, area: f64, v_x: f64, v_z: f64) -> (f64, f64) {
    let k = 0.5 * rho * drag_coefficient * area * (v_x * v_x + v_z * v_z).sqrt();
    (-k * v_x, -k * v_z)
}

#[cfg(test)]
mod tests {
    use super::drag;

    #[test]
    fn it_opposes_the_motion_either_way() {
        // ½ · 1000 · 0.5 · 0.01 · 4 = 10 N
        assert!((drag(1000.0, 0.5, 0.01, 2.0, 0.0).0 + 10.0).abs() < 1e-12);
        assert_eq!(drag(1000.0, 0.5, 0.01, -2.0, 0.0).0, -drag(1000.0, 0.5, 0.01, 2.0, 0.0).0);
        assert_eq!(drag(1000.0, 0.5, 0.01, 0.0, 0.0), (0.0, 0.0));
        // a 3-4-5 triangle: 25 · 2.5 N along the velocity
        let (x, z) = drag(1000.0, 0.5, 0.01, 3.0, 4.0);
        assert!((x + 37.5).abs() < 1e-12 && (z + 50.0).abs() < 1e-12);
    }
}
