//! The rider: weight, air drag and balance.

pub mod balance;
mod ideal;
pub mod posture;
mod reacting;

use engine::model::{Declare, Frame, In, Out, Wires};
use engine::part::PartKind;
use engine::quantity::Kind;
use engine::setup::{Invalid, Params};
use engine::units::{ANGLE, AREA, LENGTH, MASS, NUMBER};

use crate::handbook::body_point::{Body, Point};
use crate::handbook::mass;
use crate::nomenclature::*;
use balance::Climb;
use posture::Stance;

/// A rider who never errs, entry in the list of parts.
pub const IDEAL: PartKind = PartKind {
    name: "rider_ideal",
    about: "rider who holds the trim he wants, as far as his reach goes",
    read: ideal::read,
};

/// A rider with reaction time, entry in the list of parts.
pub const REACTING: PartKind = PartKind {
    name: "rider_reacting",
    about: "rider who reacts late and moves at a limited pace",
    read: reacting::read,
};

/// Trims that may be asked of him, in a setup or by a scenario, rad.
const TRIM_RANGE: (f64, f64) = (-0.2, 0.3);

/// Trim before take-off.
pub const TRIM: Kind = Kind::single("trim", "rad", "trim the rider takes while the board is low, bow-up");
/// Height of the board under the rider.
pub const FLIGHT_HEIGHT: Kind =
    Kind::single("flight_height", "m", "height of the board's bottom under the rider above still water");

/// The rider's body and where he stands.
#[derive(Clone)]
struct Figure {
    mass: f64,
    forward: f64,
    below: f64,
    inertia: f64,
    drag_area: f64,
    board_area: f64,
}

/// Reads what both kinds of rider have: body, and how he asks for trim.
fn read_figure(p: &mut Params, gain: &'static str, damping: &'static str) -> (Figure, f64, Climb) {
    let mass = p.value("mass", MASS, "mass with clothing").within(20.0, 200.0).usual(40.0, 130.0).required();
    let height = p.value("height", LENGTH, "body height").within(1.0, 2.3).or("1.75 m");
    let stance = p.choice("stance", &["kneeling", "crouched", "standing"], "how he rides").or("crouched");
    let forward = p.value("forward", LENGTH, "his centre of gravity at ease, forward of the tail").required();
    let deck = p.value("deck", LENGTH, "deck above the board's bottom").within(0.0, 0.5).or("120 mm");
    let stance = match stance {
        "kneeling" => Stance::Kneeling,
        "crouched" => Stance::Crouched,
        _ => Stance::Standing,
    };
    let drag_area = p
        .value("drag_area", AREA, "C_D A in the wind; by stance, mass and height if left out")
        .within(0.0, 2.0)
        .source("Spring et al. 1988; kneeling assumed")
        .optional();
    let board_area = p
        .value("board_drag_area", AREA, "C_D A of the board in the wind")
        .within(0.0, 1.0)
        .source("0.03 to 0.06 m² assumed, no source")
        .or("0.04 m²");
    let trim = p
        .value("trim", ANGLE, "trim taken while the board is low, bow-up")
        .within(TRIM_RANGE.0, TRIM_RANGE.1)
        .or("4 deg");
    let flight_height = p
        .value("flight_height", LENGTH, "height of the board's bottom at which he begins to lower the bow")
        .within(0.02, 2.0)
        .or("200 mm");
    let gain = p
        .value("climb_gain", NUMBER, "trim taken off per height above that, rad/m")
        .within(0.0, 5.0)
        .source("assumption; the later a rider reacts, the less he may ask")
        .or(gain);
    let damping = p
        .value("climb_damping", NUMBER, "trim taken off per speed of climb, rad/(m/s)")
        .within(0.0, 2.0)
        .source("assumption")
        .or(damping);
    let low = p.value("trim_min", ANGLE, "least trim he asks for").within(-0.5, 0.2).or("-6 deg");
    let high = p.value("trim_max", ANGLE, "greatest trim he asks for").within(-0.2, 0.5).or("10 deg");
    let figure = Figure {
        mass,
        forward,
        below: -(deck + stance.centre_of_gravity() * height),
        inertia: posture::rod_inertia(mass, stance.height() * height),
        drag_area: drag_area.unwrap_or_else(|| posture::scaled_drag_area(stance.drag_area(), mass, height)),
        board_area,
    };
    (figure, trim, Climb { flight_height, gain, damping, limits: (low, high) })
}

/// Limits that cross, or a trim outside them.
fn check_trim(trim: f64, climb: &Climb) -> Result<(), Invalid> {
    let (low, high) = climb.limits;
    if high - low < 0.02 {
        return Err(Invalid::at("trim_max", "not above trim_min by a degree or more"));
    }
    if !(low..=high).contains(&trim) {
        return Err(Invalid::at("trim", "outside trim_min and trim_max"));
    }
    Ok(())
}

/// Reads and writes of the rider's body: air drag at his chest, and his view of the motion.
struct Senses {
    body: Body,
    air: In,
    wind: In,
    drag: Out,
    air_sink: Out,
    board_sink: Out,
    height: Out,
    trim: In,
    command: Out,
}

/// What a rider knows at an instant.
struct Sight {
    trim_command: f64,
    /// Moment of the air on him and the board, N·m.
    air_moment: f64,
    cos: f64,
    pitch_rate: f64,
}

impl Figure {
    /// Declares mass and inputs.
    fn declare(&self, m: &mut Declare, trim: f64) {
        let Figure { mass, forward, below, inertia, .. } = *self;
        mass::place(m, mass::Mass { mass, forward, below, inertia });
        m.input(&TRIM, trim).within(TRIM_RANGE.0, TRIM_RANGE.1);
        m.watch(&REACH_USED, f64::NEG_INFINITY, 0.97, "the rider has run out of reach");
    }

    fn senses(e: &mut Wires) -> Senses {
        Senses {
            body: Body::reads(e),
            air: e.reads_or(&AIR_DENSITY, 1.225),
            wind: e.reads_or(&HEAD_WIND, 0.0),
            drag: e.adds(&SURGE_FORCE),
            air_sink: e.adds_as(&ENERGY_SINK, "air"),
            board_sink: e.adds_as(&ENERGY_SINK, "air_on_board"),
            height: e.writes(&FLIGHT_HEIGHT),
            trim: e.reads(&TRIM),
            command: e.writes(&TRIM_COMMAND),
        }
    }

    /// Air drag with its moment, and the trim he asks for.
    fn sight(&self, at: &mut Frame, s: &Senses, climb: &Climb) -> Sight {
        let chest = s.body.point(at, self.forward, self.below);
        let bottom = s.body.point(at, self.forward, 0.0);
        let drag =
            |at: &Frame, point: &Point, area| posture::air_drag(at[s.air], area, point.v_x + at[s.wind]);
        let (rider, board) = (drag(at, &chest, self.drag_area), drag(at, &bottom, self.board_area));
        at[s.drag] = -rider - board;
        at[s.air_sink] = rider * chest.v_x;
        at[s.board_sink] = board * bottom.v_x;

        let height = -bottom.depth;
        let trim_command = balance::commanded_trim(at[s.trim], height, -bottom.v_z, climb);
        at[s.height] = height;
        at[s.command] = trim_command;
        let cos = s.body.pitch(at).1;
        Sight {
            trim_command,
            air_moment: chest.offset.moment(-rider, 0.0) + bottom.offset.moment(-board, 0.0),
            cos,
            pitch_rate: s.body.pitch_rate(at),
        }
    }
}
