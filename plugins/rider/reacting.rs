//! A rider who reacts late and moves at a limited pace.

use engine::model::Declare;
use engine::part::Part;
use engine::quantity::Kind;
use engine::setup::Params;
use engine::smooth::smoothstep;
use engine::units::{FRACTION, LENGTH, NUMBER, SPEED, TIME};

use super::balance::{self, Climb};
use super::{Figure, check_trim, read_figure};
use crate::handbook::G;
use crate::nomenclature::*;

/// First state of the reaction delay.
pub const REACTION_1: Kind =
    Kind::single("reaction_1", "m", "delayed shift wanted, first state of the delay");
/// Second state of the reaction delay.
pub const REACTION_2: Kind = Kind::single("reaction_2", "m/s", "second state of the delay");
/// Sum of trim errors he has got used to.
pub const TRIM_ERROR: Kind =
    Kind::single("trim_error", "rad.s", "trim error over time, that he leans against");

pub fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let (figure, trim, climb) = read_figure(p, "0.2", "0.1");
    let reach = p
        .value("reach", LENGTH, "farthest shift of his centre of gravity, either way")
        .within(0.02, 1.0)
        .source("assumption")
        .or("250 mm");
    let fastest = p
        .value("shift_speed", SPEED, "fastest shift of his centre of gravity")
        .within(0.05, 5.0)
        .source("assumption")
        .or("0.8 m/s");
    let delay = p
        .value("delay", TIME, "from sensing to acting")
        .within(0.01, 0.6)
        .source("loop delay in quiet standing 0.10 to 0.20 s, Peterka 2002, recalled")
        .or("150 ms");
    let lag = p
        .value("lag", TIME, "time constant of moving his weight")
        .within(0.02, 1.0)
        .source("assumption")
        .or("200 ms");
    let angle_gain =
        p.value("angle_gain", NUMBER, "shift per trim error, m/rad; assumption").within(0.0, 10.0).or("0.6");
    let rate_gain = p
        .value("rate_gain", NUMBER, "shift per pitch rate, m/(rad/s); assumption")
        .within(0.0, 5.0)
        .or("0.3");
    let patience = p
        .value("lean_gain", NUMBER, "shift per trim error and second, m/(rad·s); assumption")
        .within(0.0, 10.0)
        .or("0.2");
    let feel = p
        .value("feel", FRACTION, "share of the moment on the board that he feels in his feet and meets")
        .within(0.0, 1.0)
        .source("assumption: 0 is a pure angle controller")
        .or("0.5");
    p.part(|| {
        check_trim(trim, &climb)?;
        let gains = Gains { angle: angle_gain, rate: rate_gain, patience, feel };
        Ok(Reacting { figure, trim, climb, reach, fastest, delay, lag, gains })
    })
}

#[derive(Clone, Copy)]
struct Gains {
    angle: f64,
    rate: f64,
    patience: f64,
    feel: f64,
}

struct Reacting {
    figure: Figure,
    trim: f64,
    climb: Climb,
    reach: f64,
    fastest: f64,
    delay: f64,
    lag: f64,
    gains: Gains,
}

impl Part for Reacting {
    fn declare(&self, m: &mut Declare) {
        self.figure.declare(m, self.trim);
        m.state(&REACTION_1, 0.0, 0.1);
        m.state(&REACTION_2, 0.0, 1.0);
        m.state(&RIDER_SHIFT, 0.0, 0.1);
        m.state(&TRIM_ERROR, 0.0, 0.1);
        // a run starts with him at rest at the trim he wants, leaning as that takes
        m.settles(&RIDER_SHIFT, &RIDER_SHIFT);
        m.settles(&TRIM_ERROR, &TRIM_ERROR);
        m.settles(&REACTION_1, &REACTION_2);
        m.equation("air drag and balance", |e| {
            let senses = Figure::senses(e);
            let (pitch, others) = (e.reads(&PITCH), e.reads_others(&PITCH_MOMENT));
            let states = [&REACTION_1, &REACTION_2, &RIDER_SHIFT, &TRIM_ERROR];
            let [x_1, x_2, shift, error] = states.map(|kind| e.reads(kind));
            let [dx_1, dx_2, d_shift, d_error] = states.map(|kind| e.rate_of(kind));
            let moment = e.adds(&PITCH_MOMENT);
            let work = e.adds_as(&ENERGY_SOURCE, "work");
            let used = e.writes(&REACH_USED);
            let Reacting { figure, climb, reach, fastest, delay, lag, gains, .. } = self;
            let (figure, climb, gains) = (figure.clone(), *climb, *gains);
            let (reach, fastest, delay, lag) = (*reach, *fastest, *delay, *lag);
            let weight = figure.mass * G;
            move |at| {
                let sight = figure.sight(at, &senses, &climb);
                let off = at[pitch] - sight.trim_command;
                let rest = at[others] + sight.air_moment;

                // what he wants to do, what he does about it 0.15 s later, how fast he gets there
                let felt = gains.feel * balance::shift_for(-rest, weight, sight.cos);
                let asked =
                    gains.angle * off + gains.rate * sight.pitch_rate + gains.patience * at[error] + felt;
                let wanted = balance::within_reach(asked, reach);
                (at[dx_1], at[dx_2]) = balance::delay_rates(wanted, (at[x_1], at[x_2]), delay);
                let now = balance::within_reach(balance::delayed(wanted, at[x_2], delay), reach);
                at[d_shift] = balance::shift_rate(now, at[shift], lag, fastest);
                // at the end of his reach, leaning on hardly adds up
                at[d_error] = off * (1.0 - 0.9 * smoothstep(5.0 * (asked.abs() / reach - 0.9)));

                let own = balance::moment_of(at[shift], weight, sight.cos);
                at[moment] = own + sight.air_moment;
                at[work] = own * sight.pitch_rate;
                at[used] = at[shift].abs() / reach;
            }
        });
    }
}
