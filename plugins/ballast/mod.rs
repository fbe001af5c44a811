//! Dead weight somewhere on the craft: luggage, lead, an anchor.

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::setup::Params;
use engine::units::{LENGTH, MASS};

use crate::handbook::mass;

/// Entry in the list of parts.
pub const PART: PartKind = PartKind {
    name: "ballast",
    about: "dead weight at a point of the craft, out of the water's reach",
    read,
};

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let mass = p.value("mass", MASS, "mass").within(0.0, 200.0).required();
    let forward = p.value("forward", LENGTH, "its place forward of the tail").within(-5.0, 5.0).required();
    let below =
        p.value("below", LENGTH, "its place below the board's bottom").within(-2.0, 2.0).or("-150 mm");
    p.part(|| Ok(Ballast(mass::Mass { mass, forward, below, inertia: 0.0 })))
}

struct Ballast(mass::Mass);

impl Part for Ballast {
    fn declare(&self, m: &mut Declare) {
        mass::place(m, self.0);
    }
}
