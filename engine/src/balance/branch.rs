//! A branch of equilibria, and how it is followed.

use super::error::NoBalance;
use super::point::Point;
use crate::model::Probe;

/// How a branch is followed. Lengths are along the branch, in usual sizes of
/// all unknowns and the parameter together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steps {
    /// Usual size of the parameter, in its unit.
    pub size: f64,
    /// Whether the parameter rises at first.
    pub rising: bool,
    /// First step.
    pub first: f64,
    /// Shortest step: where a shorter one would be needed, the branch is lost.
    pub least: f64,
    /// Longest step.
    pub greatest: f64,
    /// Most points.
    pub most: usize,
}

impl Steps {
    /// Steps of some twentieth of usual sizes, for a parameter of this usual size.
    pub fn sized(size: f64, rising: bool) -> Steps {
        Steps { size, rising, first: 0.05, least: 1e-6, greatest: 0.25, most: 400 }
    }
}

/// Where a branch turns back in the parameter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fold {
    /// Its place among the points.
    pub at: usize,
    /// Value of the parameter.
    pub parameter: f64,
    /// Whether the parameter is greatest there, not least.
    pub greatest: bool,
}

/// Why a branch is not followed any further.
#[derive(Debug, Clone, PartialEq)]
pub enum BranchEnd {
    /// The parameter has reached the end asked for.
    Parameter,
    /// A free quantity has reached its bound.
    Bound(Probe),
    /// It has come back to where it began.
    Closed,
    /// There are as many points as were asked for.
    Full,
    /// The shortest step found nothing, or nothing could be begun.
    Lost(NoBalance),
}

/// Equilibria in the order they follow each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Branch {
    /// The points; folds are among them.
    pub points: Vec<Point>,
    /// Folds, in the order they were passed.
    pub folds: Vec<Fold>,
    /// Points after which another branch crosses this one, up to the next point. Where a slope
    /// jumps this may be claimed in error.
    pub crossings: Vec<usize>,
    /// Why it ends.
    pub end: BranchEnd,
    /// Evaluations of the model spent, those of folds included.
    pub evaluations: usize,
}
