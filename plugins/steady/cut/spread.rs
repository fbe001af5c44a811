//! What is not known of a cut, as a few craft that differ in it.

use super::blades::{Blades, FACTORS};

/// Standard uncertainties.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubt {
    /// Of K_T, relative.
    pub thrust: f64,
    /// Of K_Q, relative.
    pub torque: f64,
    /// Of both exponents of (D′/D).
    pub exponent: f64,
}

/// Each of the four unknowns moved up and down alone, by its standard uncertainty; those that are not in doubt stay. The
/// law of propagation with differences in the place of slopes (JCGM 100:2008, 5.1.3, note 2).
pub fn draws(blades: &Blades, doubt: &Doubt) -> Vec<Vec<(String, f64)>> {
    let [t, q, a, b] = blades.factors;
    let deviations = [t * doubt.thrust, q * doubt.torque, doubt.exponent, doubt.exponent];
    let mut all = Vec::new();
    for (k, deviation) in deviations.into_iter().enumerate().filter(|(_, d)| *d > 0.0) {
        for sign in [1.0, -1.0] {
            let mut values = [t, q, a, b];
            values[k] += sign * deviation;
            let changes =
                FACTORS.iter().zip(values).map(|(key, value)| (format!("{}.{key}", blades.part), value));
            all.push(changes.collect());
        }
    }
    // without any doubt one draw is left, and its spread is nil
    if all.is_empty() {
        all.push(Vec::new());
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn blades() -> Blades {
        Blades { part: "p".into(), already: None, factors: [0.9, 1.1, 0.1, 0.0], notes: Vec::new() }
    }

    #[test]
    fn draws_have_the_spreads_that_were_asked_for() {
        let blades = blades();
        for doubt in [
            Doubt { thrust: 0.06, torque: 0.08, exponent: 0.3 },
            Doubt { thrust: 0.06, torque: 0.0, exponent: 0.0 },
        ] {
            let draws = draws(&blades, &doubt);
            let wanted = [0.9 * doubt.thrust, 1.1 * doubt.torque, doubt.exponent, doubt.exponent];
            assert_eq!(draws.len(), 2 * wanted.iter().filter(|w| **w > 0.0).count());
            for (k, wanted) in wanted.into_iter().enumerate() {
                let moved = draws.chunks(2).map(|pair| 0.5 * (pair[0][k].1 - pair[1][k].1));
                let sd = moved.map(|d| d * d).sum::<f64>().sqrt();
                let centred = draws
                    .chunks(2)
                    .all(|pair| (0.5 * (pair[0][k].1 + pair[1][k].1) - blades.factors[k]).abs() < 1e-12);
                // round-off
                assert!(centred && (sd - wanted).abs() < 1e-12, "{k}");
            }
        }
        let sure = Doubt { thrust: 0.0, torque: 0.0, exponent: 0.0 };
        assert_eq!(super::draws(&blades, &sure), [Vec::new()]);
    }
}
