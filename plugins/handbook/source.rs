//! A voltage source behind a resistance, loaded with constant power.

/// Current \[A\] drawn from a source of voltage `v` \[V\] and resistance `r` \[Ω\] by a load of constant `power` \[W\].
///
/// I = (V − √(V² − 4 R P))/2R, written without the cancellation and without dividing by R.
/// `None` where the source cannot deliver the power: P > V²/4R.
#[inline]
pub fn current_for_power(v: f64, r: f64, power: f64) -> Option<f64> {
    let square = v * v - 4.0 * r * power;
    (v > 0.0 && square >= 0.0).then(|| 2.0 * power / (v + square.sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_power_arrives() {
        for (v, r, p) in [(44.4, 0.028, 2000.0), (50.0, 0.0, 800.0), (44.4, 0.028, 17_600.0)] {
            let i = current_for_power(v, r, p).unwrap();
            // near the power maximum the root loses half the digits of the discriminant
            assert!(((v - r * i) * i / p - 1.0).abs() < 1e-12);
        }
        // V²/4R = 17 601 W
        assert_eq!(current_for_power(44.4, 0.028, 17_602.0), None);
        assert_eq!(current_for_power(0.0, 0.028, 1.0), None);
        assert_eq!(current_for_power(44.4, 0.028, 0.0), Some(0.0));
    }
}
