//! A motor controller: losses, limits, temperature.

pub mod limits;
