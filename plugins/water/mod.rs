//! The water: density, viscosity, vapour pressure.

pub mod properties;
