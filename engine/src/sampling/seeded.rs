//! Chance that follows from what it is for.

use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64;
use sha2::{Digest, Sha256};

/// What a stream of chance is for, so that no two purposes share one.
#[derive(Clone, Copy)]
pub(super) enum Purpose {
    /// Coordinates of an independent point.
    Point = 1,
    /// A permutation of strata.
    Strata = 2,
    /// Where in its stratum or cell a point lies.
    Jitter = 3,
    /// The scramble of a net.
    Scramble = 4,
}

/// Generator for a purpose, seed and two numbers (point; or set and dimension).
///
/// Generators of near seeds or streams are correlated, so all numbers go
/// through a hash; its 32 bytes are just what the generator takes.
pub(super) fn stream(seed: u64, purpose: Purpose, a: u64, b: u64) -> Pcg64 {
    let mut hash = Sha256::new();
    for number in [seed, purpose as u64, a, b] {
        hash.update(number.to_le_bytes());
    }
    Pcg64::from_seed(hash.finalize().into())
}

/// Uniform number strictly inside (0, 1): the middle of one of 2⁵² equal cells.
///
/// The middles are exact in double precision; with one bit more, the last
/// would round to 1.
pub(super) fn unit(random: &mut Pcg64) -> f64 {
    const CELL: f64 = 1.0 / (1u64 << 52) as f64;
    ((random.next_u64() >> 12) as f64 + 0.5) * CELL
}

#[cfg(test)]
mod tests {
    use super::{Purpose, stream, unit};

    #[test]
    fn the_extreme_cells_lie_strictly_inside() {
        let cell = 1.0 / (1u64 << 52) as f64;
        let last = ((u64::MAX >> 12) as f64 + 0.5) * cell;
        assert!(last < 1.0 && 1.0 - last == 0.5 * cell, "{last:e}");
    }

    #[test]
    fn neighbouring_streams_are_unrelated() {
        // correlation of 4000 pairs: standard deviation 1/√4000 = 0.016; five of them
        let mut sum = 0.0;
        for point in 0..4000 {
            let a = unit(&mut stream(1, Purpose::Point, point, 0)) - 0.5;
            let b = unit(&mut stream(1, Purpose::Point, point + 1, 0)) - 0.5;
            sum += 12.0 * a * b;
        }
        assert!((sum / 4000.0).abs() < 0.08, "{}", sum / 4000.0);
    }

    #[test]
    fn seed_purpose_and_both_numbers_count() {
        let first = |seed, purpose, a, b| unit(&mut stream(seed, purpose, a, b));
        let base = first(1, Purpose::Point, 2, 3);
        assert_eq!(base, first(1, Purpose::Point, 2, 3));
        assert_ne!(base, first(2, Purpose::Point, 2, 3));
        assert_ne!(base, first(1, Purpose::Jitter, 2, 3));
        assert_ne!(base, first(1, Purpose::Point, 3, 3));
        assert_ne!(base, first(1, Purpose::Point, 2, 4));
    }
}
