//! A rider who knows all forces and holds the trim he wants.

use engine::model::Declare;
use engine::part::Part;
use engine::quantity::Kind;
use engine::setup::Params;
use engine::units::{LENGTH, NUMBER, ROTATION};

use super::balance::{self, Climb, Inertia};
use super::{Figure, check_trim, read_figure};
use crate::handbook::G;
use crate::nomenclature::*;

/// Shift that the wanted trim would take.
pub const SHIFT_NEEDED: Kind =
    Kind::single("shift_needed", "m", "shift that holding the wanted trim takes, reach or not");

pub fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let (figure, trim, climb) = read_figure(p, "0.35", "0.05");
    let reach = p
        .value("reach", LENGTH, "farthest shift of his centre of gravity, either way")
        .within(0.02, 1.0)
        .source("from one foot to the other of a 0.7 m stance; assumption")
        .or("350 mm");
    let omega = p
        .value("stiffness", ROTATION, "natural frequency ω of his pitch control")
        .within(0.5, 30.0)
        .source("assumption: settles within a second")
        .or("6 rad/s");
    let zeta = p.value("damping", NUMBER, "damping ratio ζ of his pitch control").within(0.2, 3.0).or("1");
    p.part(|| {
        check_trim(trim, &climb)?;
        Ok(Ideal { figure, trim, climb, reach, omega, zeta })
    })
}

struct Ideal {
    figure: Figure,
    trim: f64,
    climb: Climb,
    reach: f64,
    omega: f64,
    zeta: f64,
}

impl Part for Ideal {
    fn declare(&self, m: &mut Declare) {
        self.figure.declare(m, self.trim);
        m.equation("air drag and balance", |e| {
            let senses = Figure::senses(e);
            let pitch = e.reads(&PITCH);
            let (m_33, m_35, m_55) =
                (e.reads(&HEAVE_MASS), e.reads(&HEAVE_PITCH_MASS), e.reads(&PITCH_INERTIA));
            // the moment of everything else, before he adds his own
            let (heave, others) = (e.reads(&HEAVE_FORCE), e.reads_others(&PITCH_MOMENT));
            let moment = e.adds(&PITCH_MOMENT);
            let work = e.adds_as(&ENERGY_SOURCE, "work");
            let (shift, needed, used) =
                (e.writes(&RIDER_SHIFT), e.writes(&SHIFT_NEEDED), e.writes(&REACH_USED));
            let Ideal { figure, climb, reach, omega, zeta, .. } = self;
            let (figure, climb) = (figure.clone(), *climb);
            let (reach, omega, zeta) = (*reach, *omega, *zeta);
            let weight = figure.mass * G;
            move |at| {
                let sight = figure.sight(at, &senses, &climb);
                let q_dot = balance::wanted_pitch_acceleration(
                    (at[pitch], sight.trim_command),
                    sight.pitch_rate,
                    omega,
                    zeta,
                );
                let inertia = Inertia { heave: at[m_33], coupling: at[m_35], pitch: at[m_55] };
                let rest = at[others] + sight.air_moment;
                let wanted = balance::needed_moment(&inertia, at[heave], rest, q_dot);
                let s = balance::shift_for(wanted, weight, sight.cos);
                let held = balance::within_reach(s, reach);
                let own = balance::moment_of(held, weight, sight.cos);
                at[moment] = own + sight.air_moment;
                at[work] = own * sight.pitch_rate;
                at[needed] = s;
                at[shift] = held;
                at[used] = held.abs() / reach;
            }
        });
    }
}
