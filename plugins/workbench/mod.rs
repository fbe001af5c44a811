//! The workbench: readings of a drive on its rig, and what they say.

pub mod belief;
pub mod mistakes;
pub mod practice;
