//! A battery of lithium-ion cells.

pub mod cell;
pub mod nmc_chen2020;
pub mod pack;
pub mod protection;
