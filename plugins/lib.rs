//! The parts of a hydrofoil board and its surroundings.
//!
//! A part is one folder here and one line in [`PARTS`]. Parts never name each
//! other: they meet in [`nomenclature`], the list of quantities they exchange.

pub mod battery;
pub mod controller;
pub mod handbook;
pub mod ledger;
pub mod motion;
pub mod motor;
pub mod nomenclature;
pub mod shaft;
pub mod test_stand;
pub mod wiring;

use engine::part::PartKind;

/// Every part a setup may hold.
pub const PARTS: &[PartKind] = &[
    ledger::PART,
    motion::PART,
    test_stand::PART,
    battery::PART,
    wiring::PART,
    controller::PART,
    motor::PART,
    shaft::PART,
];
