//! The pod that houses the motor: a streamlined body.

pub mod body;

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::setup::{Invalid, Params};
use engine::units::{FRACTION, LENGTH, MASS, VOLUME};

use crate::handbook::body_point::{AddedMass, Body as Craft, Water, Wrench};
use crate::handbook::{G, mass};
use crate::nomenclature::{ENERGY_SINK, WATER_DENSITY};
use body::Body;

/// Entry in the list of parts.
pub const PART: PartKind =
    PartKind { name: "pod", about: "a streamlined body under water, such as a motor housing", read };

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let diameter = p.value("diameter", LENGTH, "greatest diameter d").within(0.01, 0.5).required();
    let length = p.value("length", LENGTH, "length l along its axis").within(0.02, 2.0).required();
    let forward = p.value("forward", LENGTH, "its middle forward of the tail").required();
    let below = p.value("below", LENGTH, "its axis below the board's bottom").required();
    let mass = p
        .value("mass", MASS, "mass of the housing; the motor's mass stands with the motor")
        .within(0.0, 50.0)
        .required();
    let volume =
        p.value("volume", VOLUME, "displaced volume; 0.7 (π/4) d² l if left out").within(0.0, 0.1).optional();
    let laminar = p
        .value("laminar", FRACTION, "laminar share of the boundary layer")
        .within(0.0, 1.0)
        .source("a propeller beside it and a joint or two trip the layer: common practice, no source")
        .or("0");
    p.part(|| {
        if length < 1.05 * diameter {
            let problem = "shorter than thick: the drag formulas need a slender body";
            return Err(Invalid::at("length", problem).help("l/d of 2 to 10 is their range"));
        }
        Ok(Pod { body: Body::new(diameter, length, laminar, volume), forward, below, mass })
    })
}

struct Pod {
    body: Body,
    forward: f64,
    below: f64,
    mass: f64,
}

impl Part for Pod {
    fn declare(&self, m: &mut Declare) {
        let (forward, below) = (self.forward, self.below);
        let length = self.body.length;
        mass::place(
            m,
            mass::Mass { mass: self.mass, forward, below, inertia: self.mass * length * length / 12.0 },
        );

        m.equation("drag and buoyancy", |e| {
            let craft = Craft::reads(e);
            let water = Water::reads(e);
            let wrench = Wrench::adds(e);
            let [axial, across, buoyancy, current] =
                ["axial", "across", "buoyancy", "current"].map(|label| e.adds_as(&ENERGY_SINK, label));
            let body = self.body.clone();
            move |at| {
                let (rho, nu, stream) = (at[water.rho], at[water.nu], at[water.current]);
                let point = craft.point(at, forward, below);
                let (sin, cos) = craft.pitch(at);
                // speed along the axis and across it
                let v_x = point.v_x - stream;
                let (v_axial, v_across) = (v_x * cos - point.v_z * sin, v_x * sin + point.v_z * cos);
                let share = body.immersion(point.depth, sin);
                let d_axial = share * body.drag(v_axial, rho, nu);
                let d_across = share * body.cross_drag(v_across, rho);
                let float = rho * G * body.volume * share;

                let x = -d_axial * cos - d_across * sin;
                let z = d_axial * sin - d_across * cos;
                wrench.put(at, &[(point, x, z - float)], 0.0);
                at[axial] = d_axial * v_axial;
                at[across] = d_across * v_across;
                at[buoyancy] = float * point.v_z;
                at[current] = -x * stream;
            }
        });

        m.equation("added mass", |e| {
            let craft = Craft::reads(e);
            let rho = e.reads(&WATER_DENSITY);
            let added = AddedMass::adds(e);
            let body = self.body.clone();
            move |at| {
                let point = craft.point(at, forward, below);
                let full = at[rho] * body.added_volume;
                let (sin, cos) = craft.pitch(at);
                let pitch_rate = craft.pitch_rate(at);
                let mass = full * body.immersion(point.depth, sin);
                let mass_rate = full * body.immersion_rate(point.depth, (sin, cos), point.v_z, pitch_rate);
                added.put(at, &point, mass, mass_rate, pitch_rate);
            }
        });
    }
}
