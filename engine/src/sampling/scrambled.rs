//! Scrambled Sobol' nets.

use super::error::SamplingError;
use super::seeded::{Purpose, stream};
use rand::Rng;
use sobol_burley::NUM_DIMENSIONS;

/// Length of the sequence.
const LIMIT: u64 = 1 << 16;

/// Independent scrambles of the same net, one per set.
pub(super) struct Nets {
    seed: u64,
    /// Scramble of the first set; the others count on from it.
    scramble: u32,
}

impl Nets {
    /// Nets of `n` points in `dimensions` dimensions.
    pub(super) fn new(seed: u64, n: u64, sets: u64, dimensions: usize) -> Result<Self, SamplingError> {
        if n > LIMIT {
            return Err(SamplingError::TooManyPoints { n, limit: LIMIT });
        }
        if !n.is_power_of_two() {
            let above = n.next_power_of_two();
            return Err(SamplingError::NotPowerOfTwo { n, below: above / 2, above });
        }
        if dimensions > NUM_DIMENSIONS as usize {
            return Err(SamplingError::TooManyDimensions { dimensions, limit: NUM_DIMENSIONS as usize });
        }
        // there are only so many scrambles, and no two sets may share one
        if sets > u64::from(u32::MAX) {
            return Err(SamplingError::Uncountable { n, sets });
        }
        Ok(Nets { seed, scramble: stream(seed, Purpose::Scramble, 0, 0).next_u32() })
    }

    /// Coordinates of a point of a set's net, strictly inside (0, 1).
    ///
    /// The sequence comes with 23 binary digits. Further ones are drawn at
    /// random, which is no more than the scramble itself would do: Owen's
    /// scramble permutes a digit by chance that depends on the digits before
    /// it, and the first 16 of these differ between any two points of a set.
    /// So the digits from the 17th on are independent coin tosses, whichever
    /// way they are tossed, and the balance of the net is in the first 16.
    ///
    /// # Source
    /// A. B. Owen, *Randomly permuted (t,m,s)-nets and (t,s)-sequences*, in Monte Carlo and Quasi-Monte Carlo
    /// Methods in Scientific Computing (1995), pp. 299–317; B. Burley, *Practical hash-based Owen scrambling*,
    /// Journal of Computer Graphics Techniques 9 no. 4 (2020), pp. 1–20; direction numbers of S. Joe and
    /// F. Y. Kuo, SIAM Journal on Scientific Computing 30 (2008), pp. 2635–2654.
    pub(super) fn at(&self, set: u64, point: u64, u: &mut [f64]) {
        // 23 + 29 digits and the middle of the cell: exact, and never 1
        const CELL: f64 = 1.0 / (1u64 << 52) as f64;
        let scramble = self.scramble.wrapping_add(set as u32);
        let mut random = stream(self.seed, Purpose::Jitter, set, point);
        for (dimension, u) in (0..NUM_DIMENSIONS).zip(u) {
            let coarse = sobol_burley::sample(point as u32, dimension, scramble);
            *u = f64::from(coarse) + (f64::from(random.next_u32() >> 3) + 0.5) * CELL;
        }
    }
}
