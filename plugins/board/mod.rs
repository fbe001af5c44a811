//! The board: what floats, pushes through its own wave, planes and takes off.

pub mod added_mass;
pub mod forces;
pub mod hull;
pub mod mercier_savitsky;
pub mod ranges;
pub mod savitsky;

#[cfg(test)]
mod afloat;
#[cfg(test)]
mod tests;

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::quantity::Kind;
use engine::setup::{Invalid, Params};
use engine::units::{ANGLE, FRACTION, INERTIA, LENGTH, MASS as KILOGRAMS, NUMBER, VOLUME};

use crate::handbook::G;
use crate::handbook::mass::{Mass, place};
use crate::nomenclature::*;
use forces::{Board, Coefficients, Water};
use hull::{Attitude, Hull, Outline, Shape, VolumeMismatch};
use mercier_savitsky::Residuary;

/// Entry in the list of parts.
pub const PART: PartKind = PartKind {
    name: "board",
    about: "board: buoyancy, hump, planing, skin friction and added mass of a flat-bottomed hull",
    read,
};

/// C_v.
pub const SPEED_COEFFICIENT: Kind =
    Kind::single("speed_coefficient", "1", "C_v = V/√(g b) of the board through the water");
/// F_n∇.
pub const VOLUME_FROUDE_NUMBER: Kind =
    Kind::single("volume_froude_number", "1", "F_n∇ = V/√(g ∇^⅓), with ∇ of the load the water carries");
/// L/∇^⅓.
pub const SLENDERNESS: Kind = Kind::single("slenderness", "1", "L/∇^⅓, with ∇ of the load the water carries");
/// Share of the deck under water.
pub const DECK_AWASH: Kind = Kind::single("deck_awash", "1", "share of the deck that is under water");
/// Porpoising limit less trim.
pub const PORPOISING_MARGIN: Kind =
    Kind::single("porpoising_margin", "rad", "porpoising limit less trim while planing; negative: unstable");
/// Trim at which the planing formulas are asked.
pub const PLANING_TRIM: Kind =
    Kind::single("planing_trim", "rad", "trim while the planing formulas carry load, else mid-range");

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let length = p.value("length", LENGTH, "length L").within(0.8, 5.0).usual(1.2, 2.6).required();
    let beam = p.value("beam", LENGTH, "beam b, carried to the tail").within(0.3, 1.5).required();
    let thickness = p.value("thickness", LENGTH, "largest thickness").within(0.02, 0.4).required();
    let volume = p.value("volume", VOLUME, "enclosed volume").within(0.01, 0.6).required();
    let nose_length = p.value("nose_length", LENGTH, "length of the rising nose; a third of L if left out");
    let nose_length = nose_length.within(0.0, 3.0).optional().unwrap_or(length / 3.0);
    let nose_rise = p.value("nose_rise", LENGTH, "rise of the bottom at the tip").within(0.0, 0.5);
    let nose_rise = nose_rise.or("100 mm");
    let outline = p.choice("outline", &["round", "square"], "plan form of the nose").or("round");

    let mass = p.value("mass", KILOGRAMS, "mass of the bare board").within(0.5, 60.0).required();
    let forward = p.value("cg_forward", LENGTH, "its centre of gravity forward of the tail; L/2 if left out");
    let forward = forward.within(0.0, 5.0).optional();
    let below = p.value("cg_below", LENGTH, "its centre of gravity below the bottom; mid-height if left out");
    let below = below.within(-0.5, 0.1).optional();
    let inertia = p.value("inertia", INERTIA, "its pitch inertia about its own centre; m L²/12 if left out");
    let inertia = inertia.within(0.0, 100.0).optional();

    let entrance = p.value("half_entrance_angle", ANGLE, "half angle of entrance i_E of the waterline");
    let entrance = entrance.within(0.05, 1.2).usual(0.15, 0.7).source("assumption").or("25 deg");
    let transom = p.value("transom_ratio", NUMBER, "transom area ÷ largest section area, W");
    let transom = transom.within(0.0, 1.0).source("assumption").or("0.6");
    let k_hump = p.value("k_hump", NUMBER, "factor on wave resistance").within(0.0, 5.0).usual(0.75, 1.5);
    let k_hump = k_hump.source("no measurement found; 68 % range 0.75–1.5").or("1");
    let allowance = p.value("roughness_allowance", NUMBER, "ΔC_F").within(0.0, 0.005).usual(0.0, 0.0004);
    let allowance = allowance.source("Savitsky 1964 takes 0.0004; half of it assumed").or("0.0002");
    let c_d_nose = p.value("nose_drag_coefficient", NUMBER, "C_DN of the immersed nose, on beam × immersion");
    let c_d_nose = c_d_nose.within(0.0, 2.0).usual(0.3, 1.0).source("assumption").or("0.6");
    let damping = p.value("heave_damping", FRACTION, "damping ratio of heave by waves, strip by strip");
    let damping = damping.within(0.0, 1.0).source("assumption").or("0.2");

    p.part(|| {
        if nose_length > length {
            return Err(Invalid::at("nose_length", "longer than the board").help("give at most its length"));
        }
        let outline = if outline == "square" { Outline::Square } else { Outline::Round };
        let shape = Shape { length, beam, thickness, volume, nose_length, nose_rise, outline };
        let hull = Hull::new(&shape).map_err(|VolumeMismatch { outline_times_thickness }| {
            let (given, box_) = (1000.0 * volume, 1000.0 * outline_times_thickness);
            Invalid::at("volume", format!("{given:.0} L do not fit: outline × thickness is {box_:.0} L"))
                .help(format!("a board fills {:.0} to {box_:.0} L of that", 0.5 * box_))
        })?;
        let body = Mass {
            mass,
            forward: forward.unwrap_or(0.5 * length),
            below: below.unwrap_or(-0.5 * hull.height),
            inertia: inertia.unwrap_or(mass * length * length / 12.0),
        };
        let residuary = Residuary::new(entrance.to_degrees(), transom);
        let coefficients = Coefficients { k_hump, allowance, c_d_nose, heave_damping: damping };
        Ok(BoardPart { board: Board { hull, residuary, coefficients }, body })
    })
}

struct BoardPart {
    board: Board,
    body: Mass,
}

impl Part for BoardPart {
    fn declare(&self, m: &mut Declare) {
        place(m, self.body);
        m.constant(&BOARD_LENGTH, self.board.hull.length);

        let board = self.board.clone();
        m.equation("water on the board", |e| {
            let (u, w, q) = (e.reads(&SURGE_SPEED), e.reads(&HEAVE_SPEED), e.reads(&PITCH_RATE));
            let (theta, sin, cos) = (e.reads(&PITCH), e.reads(&SIN_PITCH), e.reads(&COS_PITCH));
            let (depth, cg_forward) = (e.reads(&CG_DEPTH), e.reads(&CG_FORWARD));
            let (cg_below, current) = (e.reads(&CG_BELOW), e.reads(&CURRENT));
            let (rho, nu) = (e.reads(&WATER_DENSITY), e.reads(&WATER_VISCOSITY));

            let x = ["friction", "waves", "form", "damping"].map(|cause| e.adds_as(&SURGE_FORCE, cause));
            let z = ["buoyancy", "planing lift", "damping"].map(|cause| e.adds_as(&HEAVE_FORCE, cause));
            let moment = e.adds(&PITCH_MOMENT);
            let sinks = ["friction", "waves", "form", "buoyancy", "planing lift", "damping"];
            let sinks = sinks.map(|cause| e.adds_as(&ENERGY_SINK, cause));
            let added = [&ADDED_SURGE_MASS, &ADDED_HEAVE_MASS, &ADDED_HEAVE_PITCH, &ADDED_PITCH_INERTIA];
            let added = added.map(|k| e.adds(k));
            let rates = [
                &ADDED_SURGE_MASS_RATE,
                &ADDED_HEAVE_MASS_RATE,
                &ADDED_HEAVE_PITCH_RATE,
                &ADDED_PITCH_INERTIA_RATE,
            ];
            let rates = rates.map(|k| e.adds(k));

            let (load, clearance) = (e.writes(&BOARD_LOAD), e.writes(&BOARD_CLEARANCE));
            let (wetted, c_v) = (e.writes(&WETTED_LENGTH), e.writes(&SPEED_COEFFICIENT));
            let (f_n, slenderness) = (e.writes(&VOLUME_FROUDE_NUMBER), e.writes(&SLENDERNESS));
            let (awash, margin) = (e.writes(&DECK_AWASH), e.writes(&PORPOISING_MARGIN));
            let planing_trim = e.writes(&PLANING_TRIM);

            move |at| {
                let water = Water { rho: at[rho], nu: at[nu], g: G };
                let attitude = Attitude {
                    w: at[w],
                    q: at[q],
                    sin: at[sin],
                    cos: at[cos],
                    depth: at[depth],
                    cg_forward: at[cg_forward],
                    cg_below: at[cg_below],
                };
                let mut f = board.forces(at[u] - at[current], &attitude, water);
                // `motion` takes ½ Ȧ11 u; the water of the added mass had the current's speed
                f.damping.x += 0.5 * water.rho * f.immersion.added_rate.a11 * at[current];

                for (slot, force) in x.into_iter().zip([f.friction, f.wave, f.form, f.damping]) {
                    at[slot] = force.x;
                }
                for (slot, force) in z.into_iter().zip([f.buoyancy, f.planing_lift, f.damping]) {
                    at[slot] = force.z;
                }
                at[moment] = f.total().m;
                let causes = [f.friction, f.wave, f.form, f.buoyancy, f.planing_lift, f.damping];
                for (slot, cause) in sinks.into_iter().zip(causes) {
                    at[slot] = cause.sink(at[u], at[w], at[q]);
                }

                let (a, r) = (f.immersion.added, f.immersion.added_rate);
                for (slot, a) in added.into_iter().zip([a.a11, a.a33, a.a35, a.a55]) {
                    at[slot] = water.rho * a;
                }
                for (slot, r) in rates.into_iter().zip([r.a11, r.a33, r.a35, r.a55]) {
                    at[slot] = water.rho * r;
                }

                at[load] = f.load;
                at[clearance] = f.clearance;
                at[wetted] = f.wetted_length;
                at[c_v] = f.c_v;
                at[f_n] = f.f_n_volume;
                at[slenderness] = f.slenderness;
                at[awash] = f.immersion.deck / board.hull.deck_area;
                let beam = board.hull.beam;
                at[margin] = ranges::porpoising_margin(&f, at[theta], water.rho, G, beam);
                at[planing_trim] = ranges::planing_trim(&f, at[theta], water.rho, G, beam);
            }
        });

        m.watch(&DECK_AWASH, 0.0, 0.02, "the deck is under water, where neither resistance method holds");
        m.watch(&PORPOISING_MARGIN, 0.0, f64::INFINITY, "trim above Savitsky's porpoising limit");
        m.watch(
            &PLANING_TRIM,
            2f64.to_radians(),
            15f64.to_radians(),
            "planing outside 2° to 15° of trim, the range of Savitsky's formulas",
        );
        m.watch(
            &SLENDERNESS,
            3.1,
            f64::INFINITY,
            "L/∇^⅓ below 3.1, shorter than any hull behind the wave resistance",
        );
    }
}
