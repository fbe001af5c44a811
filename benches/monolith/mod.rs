//! The demo flight written by hand as one program: the same physics functions,
//! the same integrator and settings, nothing between them. What it takes to run
//! is what the engine's bookkeeping is measured against; that both give the same
//! flight is a test (`tests/monolith`). The running integrals of the energy
//! ledger are states here as they are in the engine.

// every bench and test uses a part of this
#![allow(dead_code)]

pub mod craft;
pub mod flight;
pub mod rates;
mod sheet;

/// The craft and throttle of the demo flight.
pub fn craft() -> craft::Craft {
    craft::Craft::new(&crate::demo::FLIGHT.setup(), crate::demo::FLIGHT.throttle)
}
