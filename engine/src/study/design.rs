//! Which points a study looks at.

use super::axis::{Axis, Coordinate};
use crate::sampling::{Draws, SamplingError, Scheme};

/// Most points of a study.
pub const MOST: u64 = 100_000_000;

/// How the points of a study lie along its axes.
#[derive(Debug, Clone, PartialEq)]
pub enum Points {
    /// Every combination of the listed values.
    Grid,
    /// Drawn.
    Drawn(Scheme),
}

/// The points of a study: designs, each with the same draws of what is uncertain, so
/// that two designs are compared under the same circumstances.
pub struct Design {
    axes: Vec<Axis>,
    uncertain: Vec<Axis>,
    drawn: Option<Draws>,
    chance: Option<Draws>,
    designs: u64,
    per_design: u64,
}

/// Why there is no such design.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DesignError {
    /// A grid needs a list of values.
    #[error(
        "{axis} is given as a distribution, which has no list of values for a grid: expected values such as \
         `list(…)` or `linear(…)`, or a sample such as `points(sobol(64))`"
    )]
    NoLevels {
        /// Its name.
        axis: String,
    },
    /// A list without values.
    #[error("{axis} has no values")]
    Empty {
        /// Its name.
        axis: String,
    },
    /// Too many points.
    #[error(
        "this study has {points} points, no more than {MOST} are allowed: take fewer values, or a sample such as \
         `points(sobol(1024))`"
    )]
    TooMany {
        /// How many it has.
        points: u128,
    },
    /// Nothing varies.
    #[error("this study varies nothing: state what with `axis(…)` or `uncertain(…)`")]
    Nothing,
    /// Indices of importance need draws of what is uncertain.
    #[error(
        "`indices(…)` is a way to draw what is `uncertain(…)`: it belongs in `draws(…)`, not in `points(…)`"
    )]
    IndicesOfAxes,
    /// As the sampling says.
    #[error(transparent)]
    Sampling(#[from] SamplingError),
}

/// A scheme in words.
pub fn in_words(scheme: &Scheme) -> String {
    let in_sets = |n: u64, sets: u64, what: &str| match sets {
        1 => format!("{n} {what}"),
        _ => format!("{sets} independent sets of {n} {what}"),
    };
    match *scheme {
        Scheme::Random { n } => format!("{n} independent draws"),
        Scheme::LatinHypercube { n, sets } => in_sets(n, sets, "points of a Latin hypercube"),
        Scheme::Sobol { n, sets } => in_sets(n, sets, "points of a scrambled Sobol' net"),
        Scheme::Indices { n, sets } => in_sets(n, sets, "base rows of a design for Sobol' indices"),
    }
}

impl Design {
    /// Puts a design together. `chance` is how what is uncertain is drawn.
    ///
    /// # Errors
    /// See [`DesignError`].
    pub fn new(
        axes: Vec<Axis>,
        points: &Points,
        uncertain: Vec<Axis>,
        chance: Option<Scheme>,
        seed: u64,
    ) -> Result<Design, DesignError> {
        if axes.is_empty() && uncertain.is_empty() {
            return Err(DesignError::Nothing);
        }
        if let Some(axis) = axes.iter().chain(&uncertain).find(|a| a.levels() == Some(0)) {
            return Err(DesignError::Empty { axis: axis.name.clone() });
        }
        let drawn = match points {
            Points::Grid => None,
            Points::Drawn(Scheme::Indices { .. }) => return Err(DesignError::IndicesOfAxes),
            Points::Drawn(_) if axes.is_empty() => None,
            Points::Drawn(scheme) => Some(Draws::new(*scheme, axes.len(), seed)?),
        };
        let designs = match &drawn {
            Some(draws) => u128::from(draws.len()),
            None => {
                let mut points = 1u128;
                for axis in &axes {
                    let levels = axis.levels().ok_or(DesignError::NoLevels { axis: axis.name.clone() })?;
                    points = points.saturating_mul(levels as u128);
                }
                points
            }
        };
        // another stream than that of the axes
        let chance = match chance {
            Some(scheme) if !uncertain.is_empty() => {
                Some(Draws::new(scheme, uncertain.len(), seed ^ 0x5eed_0fc4_ace5)?)
            }
            _ => None,
        };
        let per_design = chance.as_ref().map_or(1, Draws::len);
        let points = designs.saturating_mul(u128::from(per_design));
        if points > u128::from(MOST) {
            return Err(DesignError::TooMany { points });
        }
        Ok(Design { axes, uncertain, drawn, chance, designs: designs as u64, per_design })
    }

    /// Number of points.
    pub fn points(&self) -> u64 {
        self.designs * self.per_design
    }

    /// Number of combinations of the axes.
    pub fn designs(&self) -> u64 {
        self.designs
    }

    /// Draws of what is uncertain, for each design: points `d·n … (d+1)·n − 1` belong to design `d`.
    pub fn draws_per_design(&self) -> u64 {
        self.per_design
    }

    /// How what is uncertain is drawn.
    pub fn chance(&self) -> Option<&Draws> {
        self.chance.as_ref()
    }

    /// How the axes are sampled; `None` for a grid.
    pub fn sampled(&self) -> Option<&Draws> {
        self.drawn.as_ref()
    }

    /// The axes.
    pub fn axes(&self) -> &[Axis] {
        &self.axes
    }

    /// What is uncertain.
    pub fn uncertain(&self) -> &[Axis] {
        &self.uncertain
    }

    /// Axes and what is uncertain, in the order of coordinates and columns.
    pub fn all(&self) -> impl Iterator<Item = &Axis> {
        self.axes.iter().chain(&self.uncertain)
    }

    /// Coordinates of a point. In a grid the last axis moves fastest.
    pub fn at(&self, index: u64) -> Vec<Coordinate> {
        let (design, draw) = (index / self.per_design, index % self.per_design);
        let mut found = self.on_axes(design);
        match &self.chance {
            Some(draws) => {
                let mut u = vec![0.5; self.uncertain.len()];
                draws.at(draw, &mut u);
                found.extend(self.uncertain.iter().zip(u).map(|(axis, u)| axis.at(u)));
            }
            None => found.extend(self.uncertain.iter().map(|axis| axis.at(0.5))),
        }
        found
    }

    fn on_axes(&self, design: u64) -> Vec<Coordinate> {
        if let Some(draws) = &self.drawn {
            let mut u = vec![0.5; self.axes.len()];
            draws.at(design, &mut u);
            return self.axes.iter().zip(u).map(|(axis, u)| axis.at(u)).collect();
        }
        self.levels_of(design).into_iter().zip(&self.axes).map(|(i, axis)| axis.level(i)).collect()
    }

    /// Place on each axis of a design in a grid.
    pub fn levels_of(&self, mut design: u64) -> Vec<usize> {
        let mut places = vec![0; self.axes.len()];
        for (place, axis) in places.iter_mut().zip(&self.axes).rev() {
            let levels = axis.levels().unwrap_or(1).max(1) as u64;
            *place = (design % levels) as usize;
            design /= levels;
        }
        places
    }

    /// The design in a grid at these places.
    pub fn design_at(&self, places: &[usize]) -> u64 {
        let levels = |axis: &Axis| axis.levels().unwrap_or(1).max(1) as u64;
        self.axes.iter().zip(places).fold(0, |design, (axis, &place)| design * levels(axis) + place as u64)
    }
}
