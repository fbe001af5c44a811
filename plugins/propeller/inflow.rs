//! What a propeller behind a board meets.

/// Speed of advance V_A [m/s] along the shaft: `V_A = (1 − w)(v_x cos α − v_z sin α)`.
///
/// v_x, v_z: velocity of the propeller through the water, forward and down; α: angle of the shaft above
/// the horizon \[rad\]; w: effective wake fraction. The flow across the shaft is left out.
pub fn speed_of_advance(v_x: f64, v_z: f64, sin: f64, cos: f64, wake_fraction: f64) -> f64 {
    (1.0 - wake_fraction) * (v_x * cos - v_z * sin)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sinking_with_the_bow_up_slows_the_inflow() {
        let (sin, cos) = 0.1_f64.sin_cos();
        let level = speed_of_advance(4.0, 0.0, sin, cos, 0.05);
        assert!((level - 0.95 * 4.0 * cos).abs() < 1e-15);
        assert!(speed_of_advance(4.0, 0.5, sin, cos, 0.05) < level);
    }
}
