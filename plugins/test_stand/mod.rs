//! A stand that holds the craft at rest over a tub, in place of `motion`.

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::setup::Params;
use engine::units::{ANGLE, LENGTH};

use crate::nomenclature::*;

/// Entry in the list of parts.
pub const PART: PartKind = PartKind {
    name: "test_stand",
    about: "holds the drive at rest in still water, in place of motion: a tub or bollard test",
    read,
};

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let depth = p
        .value(
            "depth",
            LENGTH,
            "depth of the body origin (the board's bottom, were there one) below the surface",
        )
        .within(-2.0, 2.0)
        .or("0 mm");
    let pitch = p.value("pitch", ANGLE, "pitch at which the drive is held, bow-up").or("0 deg");
    p.part(|| Ok(TestStand { depth, pitch }))
}

struct TestStand {
    depth: f64,
    pitch: f64,
}

impl Part for TestStand {
    fn declare(&self, m: &mut Declare) {
        for still in [&DISTANCE, &SURGE_SPEED, &HEAVE_SPEED, &PITCH_RATE, &CG_FORWARD, &CG_BELOW] {
            m.constant(still, 0.0);
        }
        m.constant(&CG_DEPTH, self.depth);
        m.constant(&PITCH, self.pitch);
        m.constant(&SIN_PITCH, self.pitch.sin());
        m.constant(&COS_PITCH, self.pitch.cos());
    }
}
