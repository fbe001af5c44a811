//! A rider who reacts late and moves at a limited pace.

use engine::model::Declare;
use engine::part::Part;
use engine::quantity::Kind;
use engine::setup::Params;
use engine::units::{FRACTION, LENGTH, ROTATION, SPEED, TIME};

use super::balance::{self, Climb, Skill};
use super::{Figure, check_trim, read_figure};
use crate::handbook::G;
use crate::nomenclature::*;

/// First state of the reaction delay, told from where he stands: nothing is pending at rest.
pub const PENDING: Kind = Kind::single(
    "pending_shift",
    "m",
    "shift decided on beyond the present one, on its way through the delay",
);
/// Second state of the reaction delay.
pub const REACTION: Kind = Kind::single("reaction", "m/s", "second state of the delay");
/// The moment he feels, as the shift that would meet it.
pub const FELT: Kind = Kind::single("felt", "m", "shift that would meet the moment he feels in his feet");
/// What of it he has not got used to: nothing at rest.
pub const UNUSED_TO: Kind =
    Kind::single("unused_to", "m", "part of what he feels that he has not got used to");

/// Time in which the feet tell a moment, s. Assumption; short against all else here.
const FEELING: f64 = 0.02;

/// The part of his shift that meets the pull.
pub const PULL_LEAN: Kind =
    Kind::single("pull_lean", "m", "shift by which he has leant into the pull of the propeller");

pub fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let (figure, trim, climb) = read_figure(p, "0.1", "0.2");
    let reach = p
        .value("reach", LENGTH, "farthest shift of his centre of gravity, either way")
        .within(0.02, 1.0)
        .source("from one foot to the other of a 0.7 m stance; assumption")
        .or("350 mm");
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
    let stiffness = p
        .value("stiffness", ROTATION, "natural frequency at which he would hold the trim if he were not late")
        .within(0.5, 20.0)
        .source("assumption; see README for the range in which it is stable")
        .or("4 rad/s");
    let foresight = p
        .value("foresight", TIME, "how far ahead he sees the trim coming, from the pitch rate")
        .within(0.0, 2.0)
        .source("assumption: about delay + lag + the time the pitch itself takes to follow")
        .or("450 ms");
    let habit = p
        .value("habit_time", TIME, "time in which he gets used to a lasting moment on the board")
        .within(0.05, 20.0)
        .source("assumption")
        .or("1 s");
    let anticipation = p
        .value("anticipation", FRACTION, "share of the pull that he leans into as he opens the throttle")
        .within(0.0, 1.5)
        .source("assumption: 1 is a rider who knows his board, 0 one taken by surprise")
        .or("1");
    let pull_below = p
        .value("pull_below", LENGTH, "where he has learned the thrust to act, below the board's bottom")
        .within(0.0, 2.0)
        .source("assumption; put in the depth of the propeller shaft")
        .or("650 mm");
    p.part(|| {
        check_trim(trim, &climb)?;
        let skill = Skill { stiffness, foresight };
        let body = Pace { reach, fastest, delay, lag };
        Ok(Reacting { figure, trim, climb, body, skill, habit, anticipation, pull_below })
    })
}

/// How far and how fast he moves.
#[derive(Clone, Copy)]
struct Pace {
    reach: f64,
    fastest: f64,
    delay: f64,
    lag: f64,
}

struct Reacting {
    figure: Figure,
    trim: f64,
    climb: Climb,
    body: Pace,
    skill: Skill,
    habit: f64,
    anticipation: f64,
    pull_below: f64,
}

impl Part for Reacting {
    fn declare(&self, m: &mut Declare) {
        self.figure.declare(m, self.trim);
        m.state(&PENDING, 0.0, 0.1).within(-5.0, 5.0);
        m.state(&REACTION, 0.0, 1.0).within(-50.0, 50.0);
        m.state(&FELT, 0.0, 0.3).within(-5.0, 5.0);
        m.state(&UNUSED_TO, 0.0, 0.3).within(-5.0, 5.0);
        m.state(&RIDER_SHIFT, 0.0, 0.3).within(-5.0, 5.0);
        m.state(&PULL_LEAN, 0.0, 0.3).within(-5.0, 5.0);
        // a run starts with him at rest at the trim he wants, leaning as that takes; the shift is
        // told by the reaction, which has no limit of pace and so finds it on an unstable board too
        m.settles(&FELT, &FELT);
        m.settles(&PULL_LEAN, &PULL_LEAN);
        m.settles(&RIDER_SHIFT, &REACTION);
        m.equation("air drag and balance", |e| {
            let senses = Figure::senses(e);
            let (pitch, others) = (e.reads(&PITCH), e.reads_others(&PITCH_MOMENT));
            let (inertia, cg_below) = (e.reads(&PITCH_INERTIA), e.reads(&CG_BELOW));
            let thrust = e.reads_or(&THRUST, 0.0);
            let states = [&PENDING, &REACTION, &FELT, &UNUSED_TO, &PULL_LEAN, &RIDER_SHIFT];
            let [pending, reaction, felt, unused_to, pull_lean, shift] = states.map(|kind| e.reads(kind));
            let [d_pending, d_reaction, d_felt, d_unused_to, d_pull, d_shift] =
                states.map(|kind| e.rate_of(kind));
            let moment = e.adds(&PITCH_MOMENT);
            let work = e.adds_as(&ENERGY_SOURCE, "work");
            let used = e.writes(&REACH_USED);
            let (figure, climb, skill) = (self.figure.clone(), self.climb, self.skill);
            let Pace { reach, fastest, delay, lag } = self.body;
            let (habit, anticipation, pull_below) = (self.habit, self.anticipation, self.pull_below);
            let weight = figure.mass * G;
            move |at| {
                let sight = figure.sight(at, &senses, &climb);
                let s = at[shift];

                // the pull he is about to ask for is no surprise; what else he feels becomes a habit
                let pull = anticipation * at[thrust] * (pull_below - at[cg_below]);
                let rest = at[others] + sight.air_moment - pull;
                let moment_now = balance::within_reach(balance::shift_for(-rest, weight, sight.cos), reach);
                let feeling = (moment_now - at[felt]) / FEELING;
                at[d_felt] = feeling;
                at[d_unused_to] = feeling - at[unused_to] / habit;
                let lean = at[felt] - at[unused_to];

                // what he sees coming, what he does about it a delay later, how fast he gets there
                let off = at[pitch] - sight.trim_command;
                let correction = skill.correction(off, sight.pitch_rate, at[inertia], weight);
                let wanted = balance::within_reach(lean + correction, reach);
                let on_its_way = s - at[pull_lean] + at[pending];
                let (first, second) = balance::delay_rates(wanted, (on_its_way, at[reaction]), delay);
                let decided = balance::delayed(wanted, at[reaction], delay);
                let ready = balance::shift_for(-pull, weight, sight.cos);
                let pace =
                    balance::shift_rate(balance::within_reach(decided + ready, reach), s, lag, fastest);
                at[d_pull] = (ready - at[pull_lean]) / lag;
                at[d_shift] = pace;
                at[d_pending] = first - pace + at[d_pull];
                at[d_reaction] = second;

                let own = balance::moment_of(s, weight, sight.cos);
                at[moment] = own + sight.air_moment;
                at[work] = own * sight.pitch_rate;
                at[used] = s.abs() / reach;
            }
        });
    }
}
