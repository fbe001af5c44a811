//! The lever of a bench rig: from the drive's pull to the scale, and what hook, pivot and tub bear.

pub mod balance;

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::quantity::Kind;
use engine::setup::{Invalid, Params};
use engine::units::{ANGLE, FORCE, LENGTH, MASS, NUMBER, VOLUME};

use self::balance::{Lever, Scale, buoyancy_moment, tipping};
use crate::handbook::G;
use crate::nomenclature::{PROPELLER_ARM, RIG_MARGIN, START_UP_FACTOR, SURGE_FORCE, WATER_DENSITY};

/// Steady pull at the hook.
pub const HOOK_PULL: Kind = Kind::single("hook_pull", "N", "steady pull at the scale's hook");
/// What the scale shows.
pub const SCALE_READING: Kind = Kind::single("scale_reading", "kg", "what the scale shows, tare taken off");
/// Steady load of the pivot.
pub const PIVOT_LOAD: Kind =
    Kind::single("pivot_load", "N", "steady force on the pivot, the lever's weight left out");
/// What one step of the scale is worth.
pub const PULL_STEP: Kind =
    Kind::single("pull_step", "N", "pull at the propeller that one step of the scale stands for");
/// a_s.
pub const SCALE_ARM: Kind = Kind::single("scale_arm", "m", "distance from the pivot to the scale's hook");
/// θ.
pub const MISALIGNMENT: Kind =
    Kind::single("misalignment", "rad", "how far the scale's line is off the perpendicular to its arm");
/// Indicated over true.
pub const SCALE_SLOPE: Kind = Kind::single("scale_slope", "1", "shown over true");
/// Indicated at no pull, less the tare.
pub const SCALE_ZERO: Kind = Kind::single("scale_zero", "kg", "shown at no pull, tare taken off");
/// Moment of the wet strut.
pub const WET_MOMENT: Kind =
    Kind::single("wet_moment", "N.m", "moment of the wet strut's buoyancy, in the sense of the pull");

/// Entry in the list of parts.
pub const PART: PartKind = PartKind {
    name: "lever",
    about: "lever and scale of a bench rig: reading of the scale, load of hook and pivot, tipping of the tub",
    read,
};

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let propeller_arm = p
        .value("propeller_arm", LENGTH, "from the pivot to the propeller's axis")
        .within(0.05, 5.0)
        .required();
    let scale_arm =
        p.value("scale_arm", LENGTH, "from the pivot to the scale's hook").within(0.02, 5.0).required();
    let misalignment = p
        .value("misalignment", ANGLE, "how far the scale's line is off the perpendicular to its arm")
        .within(-1.0, 1.0)
        .usual(-0.18, 0.18)
        .or("0 deg");
    let pivot = p
        .choice("pivot", &["between", "end"], "whether the pivot lies between propeller and hook")
        .or("between");
    let factor = p
        .value(
            "start_up_factor",
            NUMBER,
            "peak pull over steady pull at a start, for all that breaks or tips",
        )
        .within(1.0, 10.0)
        .usual(1.2, 3.0)
        .source("common practice, no source: a load put on at once gives 2 in an undamped spring")
        .or("1.5");
    let slope = p
        .value("scale_slope", NUMBER, "shown over true, from known masses")
        .within(0.5, 2.0)
        .usual(0.95, 1.05)
        .or("1");
    let offset = p.value("scale_offset", MASS, "shown at no pull").within(-1000.0, 1000.0).or("0 kg");
    let tare = p.value("tare", MASS, "taken off before reading").within(-1000.0, 1000.0).or("0 kg");
    let capacity =
        p.value("scale_capacity", MASS, "greatest mass the scale may bear").within(0.1, 1e4).optional();
    let step = p.value("scale_resolution", MASS, "smallest step of the scale").within(0.0, 10.0).or("10 g");
    let hook_capacity = p
        .value("hook_capacity", FORCE, "greatest load of hook, line and their fixings")
        .within(1.0, 1e6)
        .optional();
    let pivot_capacity =
        p.value("pivot_capacity", FORCE, "greatest load of the pivot").within(1.0, 1e6).optional();
    let volume = p.value("wet_volume", VOLUME, "volume of the wet strut and pod").within(0.0, 0.1).or("0 L");
    let wet_below =
        p.value("wet_below", LENGTH, "middle of the wet volume below the pivot").within(0.0, 5.0).or("0 mm");
    let lean = p.value("lean", ANGLE, "lean of the strut under load").within(-0.5, 0.5).or("0 deg");
    let mass = p
        .value("tub_mass", MASS, "tub with water and stand, if the scale hangs outside it")
        .within(0.1, 1e5)
        .optional();
    let half = p
        .value("tub_half_width", LENGTH, "from its middle to the edge it would tip over")
        .within(0.01, 10.0)
        .optional();
    let height = p
        .value("pull_height", LENGTH, "height of the scale's line above the ground")
        .within(0.0, 10.0)
        .optional();
    let tipping_safety = p
        .value("tipping_safety", NUMBER, "required safety against tipping")
        .within(1.0, 10.0)
        .source("common practice, no source")
        .or("1.5");
    p.part(|| {
        let tub = match (mass, half, height) {
            (Some(mass), Some(half_width), Some(height)) => Some(Tub { mass, half_width, height }),
            (None, None, None) => None,
            _ => {
                let why = "tipping needs tub_mass, tub_half_width and pull_height together";
                return Err(
                    Invalid::part(why).help("give all three, or none if the scale hangs on the tub itself")
                );
            }
        };
        if scale_arm > 20.0 * propeller_arm || propeller_arm > 20.0 * scale_arm {
            let why = format!("arms of {scale_arm} m and {propeller_arm} m differ more than twentyfold");
            return Err(Invalid::at("scale_arm", why).help("look whether mm and m were mixed up"));
        }
        Ok(Rig {
            lever: Lever { propeller_arm, scale_arm, misalignment, pivot_between: pivot == "between" },
            scale: Scale { slope, offset, tare },
            factor,
            capacity,
            step,
            hook_capacity,
            pivot_capacity,
            wet: (volume, wet_below, lean),
            tub,
            tipping_safety,
        })
    })
}

#[derive(Clone, Copy)]
struct Tub {
    mass: f64,
    half_width: f64,
    height: f64,
}

struct Rig {
    lever: Lever,
    scale: Scale,
    factor: f64,
    capacity: Option<f64>,
    step: f64,
    hook_capacity: Option<f64>,
    pivot_capacity: Option<f64>,
    wet: (f64, f64, f64),
    tub: Option<Tub>,
    tipping_safety: f64,
}

impl Part for Rig {
    fn declare(&self, m: &mut Declare) {
        let Rig { lever, scale, factor, wet: (volume, below, lean), .. } = *self;
        m.constant(&START_UP_FACTOR, factor);
        m.constant(&PROPELLER_ARM, lever.propeller_arm);
        m.constant(&PULL_STEP, lever.pull(self.step / scale.slope * G, 0.0));
        m.constant(&SCALE_ARM, lever.scale_arm);
        m.constant(&MISALIGNMENT, lever.misalignment);
        m.constant(&SCALE_SLOPE, scale.slope);
        m.constant(&SCALE_ZERO, scale.offset - scale.tare);
        m.equation("lever", |e| {
            let (force, rho) = (e.reads(&SURGE_FORCE), e.reads(&WATER_DENSITY));
            let wet = e.writes(&WET_MOMENT);
            let (hook, reading, pivot) =
                (e.writes(&HOOK_PULL), e.writes(&SCALE_READING), e.writes(&PIVOT_LOAD));
            move |at| {
                let pull = at[force];
                at[wet] = buoyancy_moment(at[rho], volume, below, lean);
                at[hook] = lever.hook(pull, at[wet]);
                at[reading] = scale.reading(at[hook]);
                let (along, across) = lever.pivot(pull, at[hook]);
                at[pivot] = along.hypot(across);
            }
        });
        let of_hook = |m: &mut Declare, name, label, capacity: f64| {
            m.equation(name, |e| {
                let (hook, margin) = (e.reads(&HOOK_PULL), e.adds_as(&RIG_MARGIN, label));
                move |at| at[margin] = 1.0 - factor * at[hook].abs() / capacity
            });
        };
        if let Some(capacity) = self.capacity {
            of_hook(m, "margin of the scale", "scale", capacity * G);
        }
        if let Some(capacity) = self.hook_capacity {
            of_hook(m, "margin of the hook", "hook", capacity);
        }
        if let Some(capacity) = self.pivot_capacity {
            m.equation("margin of the pivot", |e| {
                let (pivot, margin) = (e.reads(&PIVOT_LOAD), e.adds_as(&RIG_MARGIN, "pivot"));
                move |at| at[margin] = 1.0 - factor * at[pivot] / capacity
            });
        }
        if let Some(Tub { mass, half_width, height }) = self.tub {
            let safety = self.tipping_safety;
            m.equation("margin against tipping", |e| {
                let (hook, margin) = (e.reads(&HOOK_PULL), e.adds_as(&RIG_MARGIN, "tipping"));
                move |at| at[margin] = 1.0 - safety * factor * tipping(at[hook], height, mass, half_width)
            });
        }
        if self.capacity.is_none() {
            m.advise("scale_capacity is left out: whether the scale bears the pull is not told");
        }
    }
}

#[cfg(test)]
mod tests;
