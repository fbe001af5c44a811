//! What can be wrong with a K_T/K_Q table.

use engine::table::TableError;
use std::fmt;

/// Why a K_T/K_Q table cannot be used.
#[derive(Debug, Clone, PartialEq)]
pub enum OpenWaterError {
    /// The table is not a table.
    Table(TableError),
    /// An advance ratio below zero.
    NegativeAdvanceRatio(f64),
    /// K_T or K_Q not positive at J = 0.
    NoThrustAtRest {
        /// K_T at J = 0.
        k_t: f64,
        /// K_Q at J = 0.
        k_q: f64,
    },
    /// K_Q not positive although K_T is.
    FreeThrust {
        /// Where.
        j: f64,
        /// The torque coefficient there.
        k_q: f64,
    },
    /// At a given inflow, more shaft speed would need less torque.
    TorqueFalls {
        /// Where.
        j: f64,
    },
}

impl fmt::Display for OpenWaterError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Table(error) => write!(f, "{error}"),
            Self::NegativeAdvanceRatio(j) => {
                write!(f, "starts at J = {j}; the table covers the propeller ahead, J ≥ 0")
            }
            Self::NoThrustAtRest { k_t, k_q } => {
                write!(f, "gives K_T = {k_t} and K_Q = {k_q} at J = 0; both must be positive")
            }
            Self::FreeThrust { j, k_q } => {
                write!(f, "gives thrust without torque: K_Q = {k_q} at J = {j}, where K_T is positive")
            }
            Self::TorqueFalls { j } => write!(
                f,
                "lets the torque fall with rising shaft speed at J = {j} (2 K_Q < J dK_Q/dJ), so that \
                 a motor could settle at more than one speed"
            ),
        }
    }
}

impl std::error::Error for OpenWaterError {}
