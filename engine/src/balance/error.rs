//! Why there is no answer.

use std::fmt;

use thiserror::Error;

/// What is left over of one condition.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOver {
    /// The condition, such as `d(craft.speed)/dt`.
    pub name: String,
    /// How much is left, in `unit`.
    pub value: f64,
    /// Its unit.
    pub unit: String,
    /// The same in usual sizes (of a rate: per second).
    pub relative: f64,
}

impl fmt::Display for LeftOver {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} = {:.6e} {}", self.name, self.value, self.unit)
    }
}

/// Names, values and units.
type Named = Vec<(String, f64, &'static str)>;

fn listed(named: &Named) -> String {
    let one = |(name, value, unit): &(String, f64, &str)| format!("{name} = {value:.6} {unit}");
    named.iter().map(one).collect::<Vec<_>>().join(", ")
}

fn added(left: &[LeftOver]) -> String {
    left.iter().map(LeftOver::to_string).collect::<Vec<_>>().join(", ")
}

/// Why no balance was found. None of these proves that there is none: another
/// start may find one.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum NoBalance {
    /// The search ran into a bound and would have gone on.
    #[error("no balance within bounds: {} would go on; there is left {}", listed(.bounds), added(.left))]
    Bounds {
        /// The unknowns that stand at a bound: name, the bound, unit.
        bounds: Vec<(String, f64, &'static str)>,
        /// All unknowns there.
        at: Vec<(String, f64, &'static str)>,
        /// What is left over there.
        left: Vec<LeftOver>,
    },
    /// An equation gave a number that is not finite where the search began, or all round where it got to.
    #[error("{equation} gave no finite value for {quantity}")]
    NotFinite {
        /// `instance: equation`.
        equation: String,
        /// Name of the quantity.
        quantity: String,
    },
    /// The conditions do not come about together.
    #[error("no balance: {} {}, at {}",
        if *.least { "what is left over is least, but not zero:" } else { "the search ended with" },
        added(.left), listed(.at))]
    NotConverged {
        /// What is left over, by name.
        left: Vec<LeftOver>,
        /// The unknowns there.
        at: Vec<(String, f64, &'static str)>,
        /// Whether the sum of squares of what is left has a (local) minimum there.
        least: bool,
    },
    /// The number of free quantities is not that of the conditions, or both are none.
    #[error(
        "{free} free quantities cannot meet {conditions} conditions: as many are needed, and one at least"
    )]
    Mismatch {
        /// Number of free quantities.
        free: usize,
        /// Number of conditions.
        conditions: usize,
    },
    /// Start values that are not one finite number for each free quantity.
    #[error("a start needs {free} finite values, one for each free quantity; given were {given:?}")]
    Start {
        /// Number of free quantities.
        free: usize,
        /// What was given.
        given: Vec<f64>,
    },
    /// Something that cannot be held at this value.
    #[error(
        "{quantity} cannot be held at {value}: it is no state or input, or its part does not allow the value"
    )]
    Refused {
        /// Name of the quantity.
        quantity: String,
        /// The value.
        value: f64,
    },
}

impl NoBalance {
    /// The greatest of what is left over, in usual sizes; infinite where nothing is known.
    pub fn size(&self) -> f64 {
        match self {
            NoBalance::Bounds { left, .. } | NoBalance::NotConverged { left, .. } => {
                left.iter().map(|l| l.relative.abs()).fold(0.0, f64::max)
            }
            _ => f64::INFINITY,
        }
    }
}

/// Why a model could not be linearised.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum NotLinear {
    /// Not a state.
    #[error("{quantity} is no state, so it has no rate")]
    NotAState {
        /// Its name.
        quantity: String,
    },
    /// An equation gave a number that is not finite beside the point.
    #[error("{equation} gave no finite value for {quantity} beside the point")]
    NotFinite {
        /// `instance: equation`.
        equation: String,
        /// Name of the quantity.
        quantity: String,
    },
    /// The eigenvalues of a matrix of this many rows were not found.
    #[error("the eigenvalues of a matrix of {states} rows were not found")]
    NoEigenvalues {
        /// Number of states.
        states: usize,
    },
}
