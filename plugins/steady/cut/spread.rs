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

/// Unknowns that differ from draw to draw.
const N: usize = FACTORS.len();

/// Eight draws: each of the four unknowns moved up and down alone, by √(2N − 1)/√2 of its standard uncertainty.
///
/// With the usual divisor, number of draws less one, mean and covariance of the draws are those of four independent
/// unknowns; what depends on them in a straight line comes out exactly, anything else to first order.
///
/// # Source
/// The spherical cubature rule of third degree (A. H. Stroud, *Approximate Calculation of Multiple Integrals*, 1971), its
/// √N turned into √(N − ½) for that divisor. From memory.
pub fn draws(blades: &Blades, doubt: &Doubt) -> Vec<Vec<(String, f64)>> {
    let reach = (N as f64 - 0.5).sqrt();
    let [t, q, a, b] = blades.factors;
    let deviations = [t * doubt.thrust, q * doubt.torque, doubt.exponent, doubt.exponent];
    let mut all = Vec::new();
    for (k, deviation) in deviations.into_iter().enumerate().filter(|(_, d)| *d > 0.0) {
        for sign in [1.0, -1.0] {
            let mut values = [t, q, a, b];
            values[k] += sign * reach * deviation;
            let changes =
                FACTORS.iter().zip(values).map(|(key, value)| (format!("{}.{key}", blades.part), value));
            all.push(changes.collect());
        }
    }
    // with fewer unknowns there would be fewer draws, and another reach: the others stand at their centre
    while all.len() < 2 * N {
        all.push(Vec::new());
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_have_the_spreads_that_were_asked_for() {
        let blades =
            Blades { part: "p".into(), already: None, factors: [0.9, 1.1, 0.1, 0.0], notes: Vec::new() };
        for doubt in [
            Doubt { thrust: 0.06, torque: 0.08, exponent: 0.3 },
            Doubt { thrust: 0.06, torque: 0.0, exponent: 0.0 },
        ] {
            let draws = draws(&blades, &doubt);
            assert_eq!(draws.len(), 8);
            let wanted = [0.9 * doubt.thrust, 1.1 * doubt.torque, doubt.exponent, doubt.exponent];
            for (k, wanted) in wanted.into_iter().enumerate() {
                let x: Vec<f64> =
                    draws.iter().map(|d| d.get(k).map_or(blades.factors[k], |(_, value)| *value)).collect();
                let mean = x.iter().sum::<f64>() / 8.0;
                let sd = (x.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / 7.0).sqrt();
                // sums of eight numbers: round-off
                assert!((mean - blades.factors[k]).abs() < 1e-12 && (sd - wanted).abs() < 1e-12, "{k}");
            }
        }
    }
}
