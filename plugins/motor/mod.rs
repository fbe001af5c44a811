//! A motor as an equivalent direct-current machine with two temperatures.

pub mod equivalent_dc;
pub mod temperature;
pub mod thermal;
