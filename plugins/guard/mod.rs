//! A ring or cage around the propeller.

pub mod drag;
