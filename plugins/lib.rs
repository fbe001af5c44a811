//! The parts of a hydrofoil board and its surroundings.
//!
//! A part is one folder here and one line in [`PARTS`] (with its `pub mod`). Parts never name each
//! other: they meet in [`nomenclature`], the list of quantities they exchange.
//! [`handbook`] holds formulas that several parts cite, [`verdict`] turns a
//! finished run into an answer.

pub mod air;
pub mod arm;
pub mod ballast;
pub mod bare_shaft;
pub mod battery;
pub mod board;
pub mod controller;
pub mod foil;
pub mod fuse;
pub mod guard;
pub mod handbook;
pub mod key;
pub mod ledger;
pub mod lever;
pub mod load;
pub mod mast;
pub mod motion;
pub mod motor;
pub mod nomenclature;
pub mod pod;
pub mod propeller;
pub mod rider;
pub mod shaft;
pub mod steady;
pub mod take_off;
pub mod test_stand;
pub mod verdict;
pub mod water;
pub mod wiring;
pub mod workbench;

use engine::part::PartKind;
use engine::scenario::Catalogue;

/// Every part a setup may hold.
pub const PARTS: &[PartKind] = &[
    air::PART,
    arm::PART,
    ballast::PART,
    bare_shaft::PART,
    battery::PART,
    board::PART,
    controller::PART,
    foil::PART,
    fuse::PART,
    guard::PART,
    key::PART,
    ledger::PART,
    lever::PART,
    load::PART,
    mast::PART,
    motion::PART,
    motor::PART,
    pod::PART,
    propeller::OUTLINE,
    propeller::SERIES,
    propeller::TABLE,
    rider::IDEAL,
    rider::REACTING,
    shaft::PART,
    take_off::PART,
    test_stand::PART,
    water::PART,
    wiring::PART,
];

/// What the engine is told about this trade.
pub const CATALOGUE: Catalogue = Catalogue {
    name: "foilborne",
    about: "Predicts whether an electrically driven hydrofoil board reaches foiling speed",
    parts: PARTS,
    judge: verdict::judge,
    findings_version: verdict::FINDINGS_VERSION,
    trace: verdict::TRACE,
    report: verdict::REPORT,
    analyses: steady::ANALYSES,
    practice: workbench::practice::PRACTICE,
};
