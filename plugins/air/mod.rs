//! The air: density and pressure.

pub mod density;
