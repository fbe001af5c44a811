//! Latin hypercube: each coordinate visits each of n equal strata once.

use super::error::SamplingError;
use super::seeded::{Purpose, stream, unit};
use rand::seq::SliceRandom;

/// Most strata kept: 400 MB.
const LIMIT: u64 = 100_000_000;

/// For each set and dimension, which stratum a point of the set takes.
pub(super) struct Permutations {
    seed: u64,
    n: u64,
    dimensions: usize,
    /// Set by set, dimension by dimension, point by point.
    strata: Vec<u32>,
}

impl Permutations {
    /// Independent permutations of `n` strata for each set and dimension.
    pub(super) fn new(seed: u64, n: u64, sets: u64, dimensions: usize) -> Result<Self, SamplingError> {
        let points = n.checked_mul(sets).ok_or(SamplingError::Uncountable { n, sets })?;
        let too_much = SamplingError::TooMuchMemory { points, dimensions, limit: LIMIT };
        let kept = points.checked_mul(dimensions as u64).filter(|&kept| kept <= LIMIT).ok_or(too_much)?;
        let mut strata = Vec::with_capacity(kept as usize);
        for set in 0..sets {
            for dimension in 0..dimensions as u64 {
                let start = strata.len();
                strata.extend(0..n as u32);
                if let Some(own) = strata.get_mut(start..) {
                    own.shuffle(&mut stream(seed, Purpose::Strata, set, dimension));
                }
            }
        }
        Ok(Permutations { seed, n, dimensions, strata })
    }

    /// Coordinates of a point of a set, each anywhere in its stratum.
    ///
    /// # Source
    /// M. D. McKay, R. J. Beckman and W. J. Conover, *A comparison of three methods for selecting values of
    /// input variables in the analysis of output from a computer code*, Technometrics 21 (1979), pp. 239–245.
    pub(super) fn at(&self, set: u64, point: u64, u: &mut [f64]) {
        let mut random = stream(self.seed, Purpose::Jitter, set, point);
        let n = self.n as f64;
        let first = (set * self.n * self.dimensions as u64 + point) as usize;
        let own = self.strata.iter().skip(first).step_by(self.n as usize);
        for (u, &stratum) in u.iter_mut().zip(own) {
            let stratum = f64::from(stratum);
            // rounding may lift the last values of a stratum onto its end, and of the last one onto 1
            *u = ((stratum + unit(&mut random)) / n).min(((stratum + 1.0) / n).next_down());
        }
    }
}
