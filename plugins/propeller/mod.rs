//! The propeller: from a series or from its own table, fitted to the craft in one way.

pub mod b_outline;
pub mod b_series;
pub mod blade;
pub mod cavitation;
pub mod coefficients;
pub mod cut;
pub mod inflow;
pub mod installation;
pub mod open_water;
mod outline;
mod series;
mod table;

#[cfg(test)]
mod outline_tests;
#[cfg(test)]
mod rail_tests;
#[cfg(test)]
mod series_tests;
#[cfg(test)]
mod table_tests;

use engine::part::PartKind;

pub use series::REYNOLDS_NUMBER;

/// A propeller of a published series, entry in the list of parts.
pub const SERIES: PartKind = PartKind {
    name: "propeller_series",
    about: "propeller of the Wageningen B-series, from diameter, pitch, blade area and blades",
    read: series::read,
};

/// A propeller traced from its blades, entry in the list of parts.
pub const OUTLINE: PartKind = PartKind {
    name: "propeller_outline",
    about: "propeller from a traced blade outline and measured blade angles, by the series propeller nearest to it",
    read: outline::read,
};

/// A propeller with a table of its own, entry in the list of parts.
pub const TABLE: PartKind = PartKind {
    name: "propeller_table",
    about: "propeller from a measured or supplied open-water table of K_T and K_Q",
    read: table::read,
};
