//! Energy ledger: keeps account of all power that enters and leaves.

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::setup::Params;

use crate::nomenclature::{ENERGY_SINK, ENERGY_SOURCE};

/// Entry in the list of parts.
pub const PART: PartKind = PartKind {
    name: "ledger",
    about: "energy ledger: integrates every source and sink of power over the run",
    read,
};

/// Usual size of an entry, J: scales its error control.
const NOMINAL: f64 = 1000.0;

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    p.part(|| Ok(Ledger))
}

struct Ledger;

impl Part for Ledger {
    fn declare(&self, m: &mut Declare) {
        m.running_integrals(&ENERGY_SOURCE, NOMINAL);
        m.running_integrals(&ENERGY_SINK, NOMINAL);
    }
}
