//! The workbench: readings of a drive on its rig, and what they say: pull from the scale, torque, powers, coefficients,
//! limits, whether they agree with each other, and whether one thing is better than another.

mod asked;
pub mod belief;
pub mod checks;
pub mod compare;
pub mod drift;
pub mod drive;
pub mod mistakes;
pub mod page;
pub mod point;
pub mod practice;
pub mod reduce;
pub mod row;
pub mod thrust;

pub use drive::{Cause, Drive, DriveUnsure, Shift};
pub use row::{Row, Unsure};
