//! How a part declares what it weighs.

use engine::model::Declare;

use crate::nomenclature::{MASS, MASS_BELOW, MASS_FORWARD, TAIL_INERTIA};

/// A mass with its place on the craft.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mass {
    /// m, kg.
    pub mass: f64,
    /// Place of its centre forward of the tail, m.
    pub forward: f64,
    /// Place of its centre below the board's bottom, m.
    pub below: f64,
    /// Pitch inertia about its own centre, kg·m².
    pub inertia: f64,
}

/// Contributes a mass to the craft's mass, its moments and its pitch inertia.
pub fn place(m: &mut Declare, body: Mass) {
    let Mass { mass, forward, below, inertia } = body;
    m.constant(&MASS, mass);
    m.constant(&MASS_FORWARD, mass * forward);
    m.constant(&MASS_BELOW, mass * below);
    m.constant(&TAIL_INERTIA, inertia + mass * (forward * forward + below * below));
}
