//! The arm of a bench rig: bends and twists under the drive's pull.

pub mod beam;
pub mod material;
pub mod section;

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::quantity::Kind;
use engine::setup::{Invalid, Params};
use engine::units::{LENGTH, NUMBER};

use self::beam::{cantilever, reach};
use self::section::Section;
use crate::nomenclature::{PROPELLER_ARM, RIG_MARGIN, START_UP_FACTOR, SURGE_FORCE};

/// von Mises.
pub const STRESS: Kind = Kind::single("stress", "Pa", "peak combined stress at the pivot, start-up included");
/// δ.
pub const DEFLECTION: Kind = Kind::single("deflection", "m", "peak deflection of the tip, start-up included");
/// Twist.
pub const TWIST: Kind = Kind::single("twist", "rad", "peak twist of the arm, start-up included");

/// Entry in the list of parts.
pub const PART: PartKind = PartKind {
    name: "arm",
    about: "arm of a bench rig from pivot to propeller: stress, deflection, twist, clearance to the wall",
    read,
};

const SECTIONS: &[&str] = &["box", "slit_box", "tube", "slit_tube", "rectangle"];

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let shape = p.choice("section", SECTIONS, "shape of the cross-section").or("box");
    let height = p
        .value("height", LENGTH, "outer height in the direction of the pull; a tube's diameter")
        .within(1e-3, 1.0)
        .required();
    let width = p.value("width", LENGTH, "outer width; a tube has none").within(1e-3, 1.0).optional();
    let wall =
        p.value("wall", LENGTH, "thickness of the wall; a rectangle has none").within(1e-4, 0.5).optional();
    let material = p.choice("material", material::NAMES, "grade of the metal").or("6060-T66");
    let welded = p
        .choice("welded", &["yes", "no"], "whether there is a weld near the pivot or along the arm")
        .or("yes");
    let offset = p
        .value("lateral_offset", LENGTH, "thrust line beside the arm's axis of twist (its shear centre)")
        .within(-2.0, 2.0)
        .or("0 mm");
    let safety = p
        .value("safety_factor", NUMBER, "required safety against yielding")
        .within(1.0, 20.0)
        .usual(2.0, 6.0)
        .source("common practice, no source")
        .or("3");
    let clearance = p
        .value("clearance", LENGTH, "from the propeller's disc to the wall ahead, unloaded")
        .within(1e-3, 10.0)
        .optional();
    let radius = p
        .value("propeller_radius", LENGTH, "radius of the propeller, for the clearance")
        .within(1e-3, 1.0)
        .optional();
    p.part(|| {
        let section = section(shape, width, height, wall)?;
        let thickness = section.thickness();
        let grade = material::of(material, thickness).ok_or_else(|| {
            let most = 1e3 * material::thickest(material);
            let why = format!("{material} is known up to {most} mm, this is {:.1} mm thick", 1e3 * thickness);
            Invalid::at("material", why).help("take another grade or a thinner section")
        })?;
        let wall_ahead = match (clearance, radius) {
            (Some(clearance), Some(radius)) => Some((clearance, radius)),
            (None, None) => None,
            _ => {
                let why = "the clearance needs clearance and propeller_radius together";
                return Err(Invalid::part(why).help("give both, or neither"));
            }
        };
        let proof = if welded == "yes" { grade.proof_welded } else { grade.proof };
        Ok(Arm { section, moduli: (grade.e, grade.g), allowed: proof / safety, offset, wall_ahead })
    })
}

/// The section that was meant.
fn section(shape: &str, width: Option<f64>, height: f64, wall: Option<f64>) -> Result<Section, Invalid> {
    let need = |key: &str, value: Option<f64>| {
        value.ok_or_else(|| {
            Invalid::at(key, format!("a {shape} needs a {key}"))
                .help(format!("say `{key}: 40 mm` or the like"))
        })
    };
    let hollow = |smaller: f64| -> Result<f64, Invalid> {
        let wall = need("wall", wall)?;
        if wall >= 0.5 * smaller {
            let (wall, half) = (1e3 * wall, 500.0 * smaller);
            let why = format!("a wall of {wall:.2} mm leaves no room within half a section of {half:.2} mm");
            return Err(Invalid::at("wall", why).help("a solid bar is `section: rectangle`"));
        }
        Ok(wall)
    };
    let none = |key: &str, value: Option<f64>| match value {
        Some(_) => Err(Invalid::at(key, format!("a {shape} has no {key}")).help(format!("leave {key} out"))),
        None => Ok(()),
    };
    Ok(match shape {
        "rectangle" => {
            none("wall", wall)?;
            Section::Rectangle { width: need("width", width)?, height }
        }
        "tube" | "slit_tube" => {
            none("width", width)?;
            let wall = hollow(height)?;
            if shape == "tube" {
                Section::Tube { diameter: height, wall }
            } else {
                Section::SlitTube { diameter: height, wall }
            }
        }
        _ => {
            let width = need("width", width)?;
            let wall = hollow(width.min(height))?;
            if shape == "box" {
                Section::Box { width, height, wall }
            } else {
                Section::SlitBox { width, height, wall }
            }
        }
    })
}

struct Arm {
    section: Section,
    /// E, G.
    moduli: (f64, f64),
    /// Stress allowed, weld and safety included.
    allowed: f64,
    offset: f64,
    /// Clearance and radius of the propeller.
    wall_ahead: Option<(f64, f64)>,
}

impl Part for Arm {
    fn declare(&self, m: &mut Declare) {
        let Arm { section, moduli, allowed, offset, wall_ahead } = *self;
        m.equation("arm", |e| {
            let (force, factor, length) =
                (e.reads(&SURGE_FORCE), e.reads(&START_UP_FACTOR), e.reads(&PROPELLER_ARM));
            let (stress, deflection, twist) = (e.writes(&STRESS), e.writes(&DEFLECTION), e.writes(&TWIST));
            let strength = e.adds_as(&RIG_MARGIN, "strength");
            let room = wall_ahead.map(|ahead| (e.adds_as(&RIG_MARGIN, "blade clearance"), ahead));
            move |at| {
                let bent = cantilever(&section, at[length], moduli, at[factor] * at[force], offset);
                at[stress] = bent.combined();
                at[deflection] = bent.deflection;
                at[twist] = bent.twist;
                at[strength] = 1.0 - bent.combined() / allowed;
                if let Some((margin, (clearance, radius))) = room {
                    at[margin] = 1.0 - reach(&bent, radius, offset) / clearance;
                }
            }
        });
        if matches!(section, Section::SlitBox { .. } | Section::SlitTube { .. }) {
            m.advise(
                "a slit section has its axis of twist outside itself (a slit tube two radii from its centre): count \
                 lateral_offset from there",
            );
        }
    }
}

#[cfg(test)]
mod tests;
