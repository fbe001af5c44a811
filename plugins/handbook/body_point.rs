//! A point fixed to the craft, for the parts that feel the water or the air there.

use engine::model::{Frame, In, Out, Wires};

use super::kinematics::{self, Offset};
use crate::nomenclature::*;

/// What must be read to place a point and to know how it moves.
pub struct Body {
    u: In,
    w: In,
    q: In,
    depth: In,
    sin: In,
    cos: In,
    cg_forward: In,
    cg_below: In,
}

/// A point as it is now.
#[derive(Debug, Clone, Copy)]
pub struct Point {
    /// Distance from the centre of gravity, earth axes, m.
    pub offset: Offset,
    /// Depth below the still surface, m.
    pub depth: f64,
    /// Forward speed over ground, m/s.
    pub v_x: f64,
    /// Downward speed, m/s.
    pub v_z: f64,
}

impl Body {
    /// Declares the reads.
    pub fn reads(e: &mut Wires) -> Body {
        Body {
            u: e.reads(&SURGE_SPEED),
            w: e.reads(&HEAVE_SPEED),
            q: e.reads(&PITCH_RATE),
            depth: e.reads(&CG_DEPTH),
            sin: e.reads(&SIN_PITCH),
            cos: e.reads(&COS_PITCH),
            cg_forward: e.reads(&CG_FORWARD),
            cg_below: e.reads(&CG_BELOW),
        }
    }

    /// The point `forward` of the tail and `below` the board's bottom, m.
    pub fn point(&self, at: &Frame, forward: f64, below: f64) -> Point {
        let (r_x, r_z) = (forward - at[self.cg_forward], below - at[self.cg_below]);
        let offset = kinematics::offset(r_x, r_z, at[self.sin], at[self.cos]);
        let (v_x, v_z) = offset.velocity(at[self.u], at[self.w], at[self.q]);
        Point { offset, depth: offset.depth(at[self.depth]), v_x, v_z }
    }

    /// sin θ and cos θ.
    pub fn pitch(&self, at: &Frame) -> (f64, f64) {
        (at[self.sin], at[self.cos])
    }

    /// Pitch rate q, rad/s.
    pub fn pitch_rate(&self, at: &Frame) -> f64 {
        at[self.q]
    }
}

/// A part's contribution to the forces on the craft.
pub struct Wrench {
    x: Out,
    z: Out,
    moment: Out,
}

impl Wrench {
    /// Declares the contributions.
    pub fn adds(e: &mut Wires) -> Wrench {
        Wrench { x: e.adds(&SURGE_FORCE), z: e.adds(&HEAVE_FORCE), moment: e.adds(&PITCH_MOMENT) }
    }

    /// Gives forces (X, Z) at points, and a free moment.
    pub fn put(&self, at: &mut Frame, forces: &[(Point, f64, f64)], moment: f64) {
        let (mut x, mut z, mut m) = (0.0, 0.0, moment);
        for (point, f_x, f_z) in forces {
            x += f_x;
            z += f_z;
            m += point.offset.moment(*f_x, *f_z);
        }
        at[self.x] = x;
        at[self.z] = z;
        at[self.moment] = m;
    }
}

/// Contributions of an added mass that moves up and down with a point, and their rates.
pub struct AddedMass([Out; 6]);

impl AddedMass {
    /// Declares the contributions.
    pub fn adds(e: &mut Wires) -> AddedMass {
        AddedMass(
            [
                &ADDED_HEAVE_MASS,
                &ADDED_HEAVE_PITCH,
                &ADDED_PITCH_INERTIA,
                &ADDED_HEAVE_MASS_RATE,
                &ADDED_HEAVE_PITCH_RATE,
                &ADDED_PITCH_INERTIA_RATE,
            ]
            .map(|kind| e.adds(kind)),
        )
    }

    /// Gives the mass a (kg) at `point`, its rate ȧ (kg/s), and the pitch rate q.
    ///
    /// A33 = a, A35 = −a e_x, A55 = a e_x²; in time e_x goes with the pitch: ė_x = q e_z.
    pub fn put(&self, at: &mut Frame, point: &Point, mass: f64, mass_rate: f64, pitch_rate: f64) {
        let Offset { x, z } = point.offset;
        let x_rate = pitch_rate * z;
        let values = [
            mass,
            -mass * x,
            mass * x * x,
            mass_rate,
            -mass_rate * x - mass * x_rate,
            mass_rate * x * x + 2.0 * mass * x * x_rate,
        ];
        for (out, value) in self.0.iter().zip(values) {
            at[*out] = value;
        }
    }
}

/// The water as a part reads it.
pub struct Water {
    /// ρ, kg/m³.
    pub rho: In,
    /// ν, m²/s.
    pub nu: In,
    /// Speed of the water over ground, m/s.
    pub current: In,
}

impl Water {
    /// Declares the reads.
    pub fn reads(e: &mut Wires) -> Water {
        Water {
            rho: e.reads(&WATER_DENSITY),
            nu: e.reads(&WATER_VISCOSITY),
            current: e.reads_or(&CURRENT, 0.0),
        }
    }
}
