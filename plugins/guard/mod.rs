//! A ring or cage around the propeller.

pub mod drag;

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::quantity::Kind;
use engine::setup::Params;
use engine::units::{AREA, FRACTION, LENGTH, MASS as MASS_UNIT, NUMBER};

use crate::handbook::body_point::{Body, Water, Wrench};
use crate::handbook::{disc, mass};
use crate::nomenclature::*;

/// Drag of the guard.
pub const DRAG: Kind = Kind::single("drag", "N", "drag of the guard against its velocity through the water");

/// Entry in the list of parts.
pub const PART: PartKind = PartKind {
    name: "guard",
    about: "ring or cage around the propeller: drag, and a factor on the thrust",
    read,
};

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let forward = p.value("forward", LENGTH, "guard's centre forward of the tail").required();
    let below = p.value("below", LENGTH, "guard's centre below the board's bottom").required();
    let diameter = p.value("diameter", LENGTH, "outer diameter").within(0.03, 1.5).required();
    let area = p.value("area", AREA, "frontal area of its bars").within(0.0, 0.5).required();
    let drag_coefficient = p
        .value("drag_coefficient", NUMBER, "drag coefficient C_D on that area")
        .within(0.0, 3.0)
        .source("no source at this scale: measure it by towing")
        .required();
    let thrust_factor = p
        .value(
            "thrust_factor",
            FRACTION,
            "share of the thrust the guard leaves at unchanged torque; 1 if left out",
        )
        .within(0.2, 1.3)
        .source("no source: measure it at the bollard")
        .optional();
    let mass = p.value("mass", MASS_UNIT, "mass").within(0.0, 10.0).or("0 kg");
    p.part(|| Ok(Guard { forward, below, diameter, area, drag_coefficient, thrust_factor, mass }))
}

struct Guard {
    forward: f64,
    below: f64,
    diameter: f64,
    area: f64,
    drag_coefficient: f64,
    /// Share of the thrust left, if known.
    thrust_factor: Option<f64>,
    mass: f64,
}

impl Part for Guard {
    fn declare(&self, m: &mut Declare) {
        let Guard { forward, below, diameter, area, drag_coefficient, .. } = *self;
        mass::place(m, mass::Mass { mass: self.mass, forward, below, inertia: 0.0 });
        if self.thrust_factor.is_none() {
            m.advise(
                "thrust_factor is left out: nothing is known of what the guard does to the thrust; factor 1 is taken",
            );
        }
        m.constant(&GUARD_THRUST_FACTOR, self.thrust_factor.unwrap_or(1.0));
        m.equation("drag of the guard", |e| {
            let (body, wrench, water) = (Body::reads(e), Wrench::adds(e), Water::reads(e));
            let (d, sink) = (e.writes(&DRAG), e.adds_as(&ENERGY_SINK, "drag"));
            move |at| {
                let point = body.point(at, forward, below);
                let wet = disc::immersed_share(point.depth, 0.5 * diameter);
                let (rho, current) = (at[water.rho], at[water.current]);
                let v_rel = point.v_x - current;
                let (f_x, f_z) = drag::drag(rho, drag_coefficient, wet * area, v_rel, point.v_z);
                wrench.put(at, &[(point, f_x, f_z)], 0.0);
                // ½ ρ C_D A V² and its power; a current does work on a craft it carries along
                let v2 = v_rel * v_rel + point.v_z * point.v_z;
                at[d] = 0.5 * rho * drag_coefficient * wet * area * v2;
                at[sink] = at[d] * v2.sqrt() - f_x * current;
            }
        });
    }
}

#[cfg(test)]
mod tests;
