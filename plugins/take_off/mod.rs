//! Watches for take-off: when the board is clear of the water and carries next to nothing.

use engine::model::{Declare, Then, Trigger};
use engine::part::{Part, PartKind};
use engine::quantity::Kind;
use engine::setup::Params;
use engine::units::{FRACTION, TIME};

use crate::handbook::G;
use crate::nomenclature::*;

/// Entry in the list of parts.
pub const PART: PartKind = PartKind {
    name: "take_off",
    about: "watches for take-off: board clear of the water and carrying next to nothing for a while",
    read,
};

/// Share of the weight that the board carries.
pub const CARRIED_SHARE: Kind =
    Kind::single("carried_share", "1", "share of the weight that the board carries");
/// Start of the present flight; −1 on the water.
pub const LIFTED_AT: Kind =
    Kind::single("lifted_at", "s", "when the board last came clear; -1 while on the water");

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let share = p
        .value("share", FRACTION, "share of the weight below which the board counts as unloaded")
        .within(0.001, 0.2)
        .or("2 %");
    let lasting =
        p.value("lasting", TIME, "how long it must stay clear to be foilborne").within(0.1, 30.0).or("1 s");
    let flight = p
        .value("flight", TIME, "the run ends this long after take-off; long enough to see a touch-down")
        .within(0.0, 3600.0)
        .or("6 s");
    p.part(|| Ok(TakeOff { share, lasting, flight }))
}

struct TakeOff {
    share: f64,
    lasting: f64,
    flight: f64,
}

/// Clearance over which the margin rises by one, m: only its sign matters.
const CLEARANCE_SCALE: f64 = 0.05;

impl Part for TakeOff {
    fn declare(&self, m: &mut Declare) {
        let TakeOff { share, lasting, flight } = *self;
        m.mode(&LIFTED_AT, -1.0);
        m.mode(&FOILBORNE, 0.0);
        m.mode(&TAKE_OFF_TIME, -1.0);
        m.mode(&TAKE_OFF_DISTANCE, 0.0);
        m.mode(&TAKE_OFF_SPEED, 0.0);
        m.mode(&TOUCH_DOWN_TIME, -1.0);

        m.equation("share of the weight on the board", |e| {
            let (load, mass, clearance) = (e.reads(&BOARD_LOAD), e.reads(&MASS), e.reads(&BOARD_CLEARANCE));
            let (carried, margin) = (e.writes(&CARRIED_SHARE), e.writes(&FREE_MARGIN));
            move |at| {
                at[carried] = at[load] / (at[mass] * G);
                at[margin] = (at[clearance] / CLEARANCE_SCALE).min((share - at[carried]) / share);
            }
        });

        m.event("board comes clear", |e| {
            let (margin, t) = (e.reads(&FREE_MARGIN), e.time());
            let (x, u) = (e.reads(&DISTANCE), e.reads(&SURGE_SPEED));
            let (lifted, foilborne) = (e.sets(&LIFTED_AT), e.sets(&FOILBORNE));
            let (time, distance, speed) =
                (e.sets(&TAKE_OFF_TIME), e.sets(&TAKE_OFF_DISTANCE), e.sets(&TAKE_OFF_SPEED));
            Trigger::rising(
                move |at| at[margin],
                move |at| {
                    at[lifted] = at[t];
                    // kept if this flight turns out to be the first that lasts
                    if at[foilborne] == 0.0 {
                        at[time] = at[t];
                        at[distance] = at[x];
                        at[speed] = at[u];
                    }
                    Then::Go
                },
            )
        });

        m.event("foilborne", |e| {
            let (t, lifted) = (e.time(), e.reads(&LIFTED_AT));
            let foilborne = e.sets(&FOILBORNE);
            Trigger::rising(
                move |at| {
                    if at[lifted] < 0.0 || at[foilborne] > 0.0 { -1.0 } else { at[t] - at[lifted] - lasting }
                },
                move |at| {
                    at[foilborne] = 1.0;
                    Then::Go
                },
            )
        });

        m.event("board touches down", |e| {
            let (margin, t) = (e.reads(&FREE_MARGIN), e.time());
            let (lifted, foilborne) = (e.sets(&LIFTED_AT), e.sets(&FOILBORNE));
            let (time, down) = (e.sets(&TAKE_OFF_TIME), e.sets(&TOUCH_DOWN_TIME));
            Trigger::falling(
                move |at| at[margin],
                move |at| {
                    at[lifted] = -1.0;
                    if at[foilborne] == 0.0 {
                        at[time] = -1.0;
                    } else if at[down] < 0.0 {
                        at[down] = at[t];
                    }
                    Then::Go
                },
            )
        });

        m.event("flight is long enough", |e| {
            let (t, foilborne, time) = (e.time(), e.reads(&FOILBORNE), e.reads(&TAKE_OFF_TIME));
            Trigger::rising(
                move |at| if at[foilborne] == 0.0 { -1.0 } else { at[t] - at[time] - flight },
                move |_| Then::Stop,
            )
        });
    }
}
