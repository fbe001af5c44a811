//! Formulas of the handbook that several parts cite: plain functions, no part.

pub mod friction;
pub mod kinematics;
