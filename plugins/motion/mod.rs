//! Motion of the craft in its longitudinal plane.

use engine::model::{Declare, Then, Trigger};
use engine::part::{Part, PartKind};
use engine::setup::Params;
use engine::units::{ANGLE, LENGTH, SPEED};

use crate::handbook::G;
use crate::nomenclature::*;

/// Entry in the list of parts.
pub const PART: PartKind = PartKind {
    name: "motion",
    about: "motion of the craft: surge, heave and pitch of a rigid body with added mass",
    read,
};

/// Pitch, either way, beyond which the craft counts as turned over: 1.2 rad, 69°. No rider stays on,
/// and the formulas for board, mast and rider lose their meaning near 70°.
pub const TURNED_OVER_AT: f64 = 1.2;

/// Greatest depth or height of the CG that can be asked for, m.
const DEPTH_MAX: f64 = 10.0;
/// Greatest speed that can be asked for, either way, m/s: several times that of any such board.
const SPEED_MAX: f64 = 30.0;

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let depth = p
        .value("depth", LENGTH, "depth of the CG at the start, before it settles")
        .within(-DEPTH_MAX, DEPTH_MAX)
        .or("0 mm");
    let pitch = p
        .value("pitch", ANGLE, "pitch at the start, before it settles")
        .within(-TURNED_OVER_AT, TURNED_OVER_AT)
        .or("0 deg");
    let speed =
        p.value("speed", SPEED, "speed over ground at the start").within(-SPEED_MAX, SPEED_MAX).or("0 m/s");
    p.part(|| Ok(Motion { depth, pitch, speed }))
}

/// Rigid body with three degrees of freedom.
struct Motion {
    depth: f64,
    pitch: f64,
    speed: f64,
}

impl Part for Motion {
    fn declare(&self, m: &mut Declare) {
        m.state(&DISTANCE, 0.0, 10.0).within(-1e5, 1e5);
        m.state(&CG_DEPTH, self.depth, 0.3).within(-DEPTH_MAX, DEPTH_MAX);
        m.state(&PITCH, self.pitch, 0.1).within(-TURNED_OVER_AT, TURNED_OVER_AT);
        m.state(&SURGE_SPEED, self.speed, 3.0).within(-SPEED_MAX, SPEED_MAX);
        m.state(&HEAVE_SPEED, 0.0, 0.3).within(-SPEED_MAX, SPEED_MAX);
        m.state(&PITCH_RATE, 0.0, 0.3).within(-30.0, 30.0);
        // a run starts afloat: weight carried, moments in balance
        m.settles(&CG_DEPTH, &HEAVE_SPEED);
        m.settles(&PITCH, &PITCH_RATE);

        m.mode(&TURNED_OVER, 0.0);
        m.watch(&PITCH, -TURNED_OVER_AT, TURNED_OVER_AT, "the craft has turned over: the run ends there");
        m.event("turns over", |e| {
            let theta = e.reads(&PITCH);
            let turned_over = e.sets(&TURNED_OVER);
            Trigger::rising(
                move |at| at[theta].abs() - TURNED_OVER_AT,
                move |at| {
                    at[turned_over] = 1.0;
                    Then::Stop
                },
            )
        });

        m.equation("attitude", |e| {
            let theta = e.reads(&PITCH);
            let (sin, cos) = (e.writes(&SIN_PITCH), e.writes(&COS_PITCH));
            move |at| (at[sin], at[cos]) = at[theta].sin_cos()
        });

        m.equation("centre of gravity", |e| {
            let (mass, mx, mz) = (e.reads(&MASS), e.reads(&MASS_FORWARD), e.reads(&MASS_BELOW));
            let (x, z) = (e.writes(&CG_FORWARD), e.writes(&CG_BELOW));
            move |at| {
                at[x] = at[mx] / at[mass];
                at[z] = at[mz] / at[mass];
            }
        });

        m.equation("mass matrix", |e| {
            let (mass, i_tail) = (e.reads(&MASS), e.reads(&TAIL_INERTIA));
            let (x, z) = (e.reads(&CG_FORWARD), e.reads(&CG_BELOW));
            let (a33, a35, a55) =
                (e.reads(&ADDED_HEAVE_MASS), e.reads(&ADDED_HEAVE_PITCH), e.reads(&ADDED_PITCH_INERTIA));
            let (m33, m35, m55) =
                (e.writes(&HEAVE_MASS), e.writes(&HEAVE_PITCH_MASS), e.writes(&PITCH_INERTIA));
            move |at| {
                at[m33] = at[mass] + at[a33];
                at[m35] = at[a35];
                at[m55] = at[i_tail] - at[mass] * (at[x] * at[x] + at[z] * at[z]) + at[a55];
            }
        });

        // With a mass matrix that depends on position, M a + ½ Ṁ v = F keeps the energy exact.
        m.equation("weight and change of added mass", |e| {
            let (u, w, q) = (e.reads(&SURGE_SPEED), e.reads(&HEAVE_SPEED), e.reads(&PITCH_RATE));
            let mass = e.reads(&MASS);
            let (r11, r33) = (e.reads(&ADDED_SURGE_MASS_RATE), e.reads(&ADDED_HEAVE_MASS_RATE));
            let (r35, r55) = (e.reads(&ADDED_HEAVE_PITCH_RATE), e.reads(&ADDED_PITCH_INERTIA_RATE));
            let (fx, fz, my) = (e.adds(&SURGE_FORCE), e.adds(&HEAVE_FORCE), e.adds(&PITCH_MOMENT));
            move |at| {
                at[fx] = -0.5 * at[r11] * at[u];
                at[fz] = at[mass] * G - 0.5 * (at[r33] * at[w] + at[r35] * at[q]);
                at[my] = -0.5 * (at[r35] * at[w] + at[r55] * at[q]);
            }
        });

        m.equation("acceleration", |e| {
            let (mass, a11) = (e.reads(&MASS), e.reads(&ADDED_SURGE_MASS));
            let (m33, m35, m55) = (e.reads(&HEAVE_MASS), e.reads(&HEAVE_PITCH_MASS), e.reads(&PITCH_INERTIA));
            let (fx, fz, my) = (e.reads(&SURGE_FORCE), e.reads(&HEAVE_FORCE), e.reads(&PITCH_MOMENT));
            let (du, dw, dq) = (e.rate_of(&SURGE_SPEED), e.rate_of(&HEAVE_SPEED), e.rate_of(&PITCH_RATE));
            move |at| {
                at[du] = at[fx] / (at[mass] + at[a11]);
                let determinant = at[m33] * at[m55] - at[m35] * at[m35];
                at[dw] = (at[m55] * at[fz] - at[m35] * at[my]) / determinant;
                at[dq] = (at[m33] * at[my] - at[m35] * at[fz]) / determinant;
            }
        });

        m.equation("path", |e| {
            let (u, w, q) = (e.reads(&SURGE_SPEED), e.reads(&HEAVE_SPEED), e.reads(&PITCH_RATE));
            let (dx, dz, dtheta) = (e.rate_of(&DISTANCE), e.rate_of(&CG_DEPTH), e.rate_of(&PITCH));
            move |at| {
                at[dx] = at[u];
                at[dz] = at[w];
                at[dtheta] = at[q];
            }
        });

        m.equation("energy of motion and height", |e| {
            let (u, w, q, z) =
                (e.reads(&SURGE_SPEED), e.reads(&HEAVE_SPEED), e.reads(&PITCH_RATE), e.reads(&CG_DEPTH));
            let (mass, a11) = (e.reads(&MASS), e.reads(&ADDED_SURGE_MASS));
            let (m33, m35, m55) = (e.reads(&HEAVE_MASS), e.reads(&HEAVE_PITCH_MASS), e.reads(&PITCH_INERTIA));
            let (kinetic, potential) =
                (e.adds_as(&ENERGY_STORE, "kinetic"), e.adds_as(&ENERGY_STORE, "potential"));
            move |at| {
                let surge = (at[mass] + at[a11]) * at[u] * at[u];
                let heave_pitch =
                    at[m33] * at[w] * at[w] + 2.0 * at[m35] * at[w] * at[q] + at[m55] * at[q] * at[q];
                at[kinetic] = 0.5 * (surge + heave_pitch);
                at[potential] = -at[mass] * G * at[z];
            }
        });
    }
}
