//! Schemes of points in a unit cube.

use super::error::SamplingError;
use super::permutations::Permutations;
use super::scrambled::Nets;
use super::seeded::{Purpose, stream, unit};
use std::sync::Arc;

/// How points are spread over the unit cube; `n` points in each of `sets`
/// independent sets.
///
/// Points of a set lean on each other; sets do not, so that the scatter among
/// sets tells how sure a result is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scheme {
    /// Independent points, told as one set although each could be one of its own.
    Random {
        /// Points.
        n: u64,
    },
    /// Each coordinate visits each of `n` equal strata once.
    LatinHypercube {
        /// Points per set.
        n: u64,
        /// Independent sets.
        sets: u64,
    },
    /// Scrambled Sobol' nets.
    ///
    /// Small nets in many dimensions clump, as two coordinates may share their
    /// leading digits. Over all pairs of coordinates, the number of points in a
    /// corner (¼, 1/16, 0.09 or a triangle of 0.1; 4000 nets) scattered up to
    /// so many times as much as that of independent points:
    ///
    /// | points | 4 dimensions | 6 | 8 | 16 |
    /// |---|---|---|---|---|
    /// | 16 | 1.1 | 5.2 | 5.3 | 5.4 |
    /// | 32 | 0.3 | 2.2 | 6.4 | 10.9 |
    /// | 64 | 0.2 | 0.4 | 4.2 | 4.3 |
    /// | 128 | 0.2 | 0.4 | 0.4 | 8.6 |
    /// | 256 | 0.1 | 0.3 | 0.4 | 1.4 |
    Sobol {
        /// Points per set: a power of two, 65536 at most.
        n: u64,
        /// Independent sets.
        sets: u64,
    },
    /// The design for Sobol' indices: `n` base rows per set, each of which
    /// gives d + 2 consecutive points in d dimensions: A, B, then A with
    /// coordinate j from B, for each j. A and B are the halves of a point of a
    /// scrambled Sobol' net in 2 d dimensions.
    ///
    /// # Source
    /// A. Saltelli et al., *Variance based sensitivity analysis of model output*, Computer Physics
    /// Communications 181 (2010), pp. 259–270, section 4.
    Indices {
        /// Base rows per set: a power of two, 65536 at most.
        n: u64,
        /// Independent sets.
        sets: u64,
    },
}

impl Scheme {
    /// Points (base rows of the design for indices) per set, and sets.
    fn size(&self) -> (u64, u64) {
        match *self {
            Scheme::Random { n } => (n, 1),
            Scheme::LatinHypercube { n, sets } | Scheme::Sobol { n, sets } | Scheme::Indices { n, sets } => {
                (n, sets)
            }
        }
    }
}

/// Points of a scheme, each found by its number. Cheap to clone; clones share
/// what they keep: four bytes per coordinate of a Latin hypercube, nothing
/// else.
#[derive(Clone)]
pub struct Draws {
    scheme: Scheme,
    dimensions: usize,
    per_set: u64,
    sets: u64,
    source: Source,
}

#[derive(Clone)]
enum Source {
    Random { seed: u64 },
    Latin(Arc<Permutations>),
    Nets(Arc<Nets>),
}

impl Draws {
    /// Points of `scheme` in `dimensions` dimensions that follow from `seed`.
    ///
    /// # Errors
    /// If nothing is asked for, or more than the scheme has; see [`SamplingError`].
    pub fn new(scheme: Scheme, dimensions: usize, seed: u64) -> Result<Draws, SamplingError> {
        let (n, sets) = scheme.size();
        if n == 0 {
            return Err(SamplingError::NoPoints);
        }
        if sets == 0 {
            return Err(SamplingError::NoSets);
        }
        if dimensions == 0 {
            return Err(SamplingError::NoDimensions);
        }
        let (source, per_row) = match scheme {
            Scheme::Random { .. } => (Source::Random { seed }, 1),
            Scheme::LatinHypercube { .. } => {
                (Source::Latin(Arc::new(Permutations::new(seed, n, sets, dimensions)?)), 1)
            }
            Scheme::Sobol { .. } => (Source::Nets(Arc::new(Nets::new(seed, n, sets, dimensions)?)), 1),
            Scheme::Indices { .. } => {
                let nets = Nets::new(seed, n, sets, dimensions.saturating_mul(2)).map_err(halved)?;
                (Source::Nets(Arc::new(nets)), dimensions as u64 + 2)
            }
        };
        let uncountable = SamplingError::Uncountable { n, sets };
        let per_set = n.checked_mul(per_row).ok_or(uncountable.clone())?;
        per_set.checked_mul(sets).ok_or(uncountable)?;
        Ok(Draws { scheme, dimensions, per_set, sets, source })
    }

    /// Points of all sets together; at least 1.
    #[expect(clippy::len_without_is_empty, reason = "there are never none")]
    pub fn len(&self) -> u64 {
        self.per_set * self.sets
    }

    /// Points of one set.
    pub fn per_set(&self) -> u64 {
        self.per_set
    }

    /// Number of sets.
    pub fn sets(&self) -> u64 {
        self.sets
    }

    /// Coordinates of a point.
    pub fn dimensions(&self) -> usize {
        self.dimensions
    }

    /// The scheme the points follow.
    pub fn scheme(&self) -> &Scheme {
        &self.scheme
    }

    /// The set that point `index` belongs to; sets follow each other.
    pub fn set_of(&self, index: u64) -> u64 {
        (index / self.per_set) % self.sets
    }

    /// Coordinates of point `index`, each strictly inside (0, 1).
    ///
    /// `u` has one place per dimension; places beyond are left as they are.
    /// Points are numbered from 0 to `len() - 1`, and after the last comes the
    /// first.
    pub fn at(&self, index: u64, u: &mut [f64]) {
        let (set, point) = (self.set_of(index), index % self.per_set);
        let places = self.dimensions.min(u.len());
        let Some(u) = u.get_mut(..places) else { return };
        match (&self.source, self.scheme) {
            (Source::Random { seed }, _) => {
                let mut random = stream(*seed, Purpose::Point, point, 0);
                u.iter_mut().for_each(|u| *u = unit(&mut random));
            }
            (Source::Latin(permutations), _) => permutations.at(set, point, u),
            (Source::Nets(nets), Scheme::Indices { .. }) => {
                let per_row = self.dimensions as u64 + 2;
                let (row, member) = (point / per_row, point % per_row);
                let mut both = vec![0.5; 2 * self.dimensions];
                nets.at(set, row, &mut both);
                let (a, b) = both.split_at(self.dimensions);
                for (j, (u, (&a, &b))) in u.iter_mut().zip(a.iter().zip(b)).enumerate() {
                    *u = if member == 1 || member == j as u64 + 2 { b } else { a };
                }
            }
            (Source::Nets(nets), _) => nets.at(set, point, u),
        }
    }
}

/// The design for indices takes two dimensions for each asked for.
fn halved(error: SamplingError) -> SamplingError {
    match error {
        SamplingError::TooManyDimensions { dimensions, limit } => {
            SamplingError::TooManyDimensions { dimensions: dimensions / 2, limit: limit / 2 }
        }
        other => other,
    }
}

#[cfg(test)]
mod tests;
