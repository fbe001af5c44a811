//! The parts of a hydrofoil board and its surroundings.

pub mod handbook;
