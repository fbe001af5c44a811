//! How much may come off the blades of a propeller: thrust at rest, currents, hump, take-off and top speed
//! against what is cut, with what is not known; and in which steps to go about it.

pub(crate) mod blades;
mod bound;
pub(crate) mod outlook;
pub(crate) mod plan;
pub(crate) mod spread;
mod states;
mod table;
mod text;
mod values;

use engine::analysis::{Analysis, Answer, Choice, Craft, Given, Takes};
use engine::diagnostic::Diagnostics;
use engine::part::PartKind;
use engine::units::{FRACTION, LENGTH, NUMBER};

use self::blades::Blades;
use self::bound::Best;
use self::outlook::{Measure, Outlook, outlook};
use self::plan::Plan;
pub(crate) use self::spread::Doubt as Stated;

/// The command.
pub const ANALYSIS: Analysis = Analysis {
    name: "cut",
    about: "How much to cut off a propeller's blades: thrust, currents, hump and top speed, with their doubt, and a plan",
    options: &[
        Choice {
            name: "removed",
            about: "What is taken off in all, for each way of cutting",
            takes: Takes::Numbers(LENGTH, "0 mm,3 mm,5 mm,8 mm,10 mm,13 mm", (0.0, 0.1)),
        },
        Choice {
            name: "throttle",
            about: "At which it is looked at, at rest and on the water",
            takes: Takes::Number(FRACTION, "100 %", (0.01, 1.0)),
        },
        Choice {
            name: "thrust-spread",
            about: "Standard uncertainty of K_T, as a share",
            takes: Takes::Number(FRACTION, "6 %", (0.0, 0.25)),
        },
        Choice {
            name: "torque-spread",
            about: "Standard uncertainty of K_Q, as a share",
            takes: Takes::Number(FRACTION, "8 %", (0.0, 0.25)),
        },
        Choice {
            name: "exponent-spread",
            about: "Standard uncertainty of the exponents of (D'/D) by which a cut changes K_T and K_Q besides",
            takes: Takes::Number(NUMBER, "0.3", (0.0, 1.0)),
        },
        Choice {
            name: "hump-spread",
            about: "Share by which the board's k_hump may be greater, one standard uncertainty (half as much less)",
            takes: Takes::Number(FRACTION, "50 %", (0.0, 1.0)),
        },
        Choice {
            name: "regret",
            about: "Greatest probability taken that after the next step things are worse than now",
            takes: Takes::Number(FRACTION, "20 %", (0.0, 0.5)),
        },
    ],
    answer,
};

/// Ways of cutting, as the propeller's `cut` has them. Nobody can scale a blade: a yardstick.
pub(crate) const WAYS: [&str; 3] = ["tip", "outline", "scale"];

/// Everything that is told.
struct Found {
    title: String,
    /// At which it is looked at, 0 to 1.
    throttle: f64,
    /// As the setup stands, without doubt.
    nominal: Outlook,
    /// With it.
    spread: Outlook,
    /// Where its doubt comes from.
    doubt: Doubt,
    hump: Hump,
    best: Vec<Best>,
    plans: Vec<Planned>,
    notes: Vec<String>,
}

/// A plan for one way by one measure.
struct Planned {
    way: String,
    measure: Measure,
    plan: Plan,
}

fn answer(given: &Given) -> Result<Answer, Diagnostics> {
    let craft = &given.craft;
    let doubt = Stated {
        thrust: given.number("thrust-spread"),
        torque: given.number("torque-spread"),
        exponent: given.number("exponent-spread"),
        hump: given.number("hump-spread"),
    };
    let blades = Blades::of(craft, given.kinds)?;
    let humps = spread::humps(craft, given.kinds)?;
    let draws = spread::draws(&blades, &humps, &doubt);
    let asked = Asked {
        craft,
        kinds: given.kinds,
        removed: given.numbers("removed"),
        ways: &[],
        throttle: given.number("throttle"),
        centre: Vec::new(),
        draws,
        doubt: Doubt::Stated(doubt),
        hump: if humps.is_empty() || doubt.hump == 0.0 { Hump::Left } else { Hump::Drawn(doubt.hump) },
        regret: given.number("regret"),
    };
    told(&asked)
}

/// Where the doubt about a cut comes from.
#[derive(Clone, Copy)]
pub(crate) enum Doubt {
    /// From spreads as they were stated.
    Stated(Stated),
    /// From a fit to readings of so many rows, and a spread of the exponents if these were not sought.
    Fitted {
        rows: usize,
        exponent: Option<f64>,
        /// Whether the readings speak against the model that was fitted.
        misfit: bool,
    },
}

/// What the draws do with the board's resistance at the hump.
#[derive(Clone, Copy)]
pub(crate) enum Hump {
    /// They let its factor be greater by this share, or less by half of it.
    Drawn(f64),
    /// It was sought in the fit.
    Sought,
    /// They leave it, or there is none.
    Left,
}

/// What is asked of a propeller that may be cut.
pub(crate) struct Asked<'a> {
    pub craft: &'a Craft,
    pub kinds: &'a [PartKind],
    /// Taken off in all, m.
    pub removed: &'a [f64],
    /// Ways of cutting that are looked at; all that are open if there are none.
    pub ways: &'a [&'a str],
    /// At which it is looked at, 0 to 1.
    pub throttle: f64,
    /// Parameters of the craft at their likeliest values, SI, where these differ from the setup's.
    pub centre: Vec<(String, f64)>,
    /// Parameters as they may be.
    pub draws: Vec<Vec<(String, f64)>>,
    pub doubt: Doubt,
    pub hump: Hump,
    /// Greatest probability of regret that is taken.
    pub regret: f64,
}

/// Looks at all ways of cutting, with the doubt of the draws, and plans.
///
/// # Errors
/// There is no propeller with blades to cut, no such way of cutting them, or nothing can be read at rest.
pub(crate) fn told(asked: &Asked) -> Result<Answer, Diagnostics> {
    let (craft, kinds) = (asked.craft, asked.kinds);
    let blades = Blades::of(craft, kinds)?;
    let steps = blades.steps(asked.removed);
    let ways = blades.ways(asked.ways)?;
    let nominal = outlook(craft, kinds, &ways, &steps, asked.throttle, std::slice::from_ref(&asked.centre))?;
    let spread = outlook(craft, kinds, &ways, &steps, asked.throttle, &asked.draws)?;
    let best = bound::best(&nominal);
    let plans = plans(&nominal, &spread, asked.regret);
    let mut notes = blades.notes;
    notes.extend(spread.notes.iter().cloned());
    let title = craft.setup.title().into();
    let found = Found {
        title,
        throttle: asked.throttle,
        nominal,
        spread,
        doubt: asked.doubt,
        hump: asked.hump,
        best,
        plans,
        notes,
    };
    Ok(Answer {
        text: text::tell(&found),
        values: values::document(&found),
        headings: table::headings(&found),
        rows: table::rows(&found),
        closing: text::closing(),
    })
}

/// A plan for each way that a file can go, by thrust at rest, margin at the hump and time to take-off, where all draws tell
/// them.
fn plans(nominal: &Outlook, spread: &Outlook, acceptable: f64) -> Vec<Planned> {
    let mut all = Vec::new();
    for measure in [Measure::Thrust, Measure::HumpMargin, Measure::TakeOff] {
        for way in nominal.ways.iter().filter(|way| *way != "scale") {
            let along = plan::along(nominal, spread, way, measure);
            if let Some(plan) = plan::plan(&along, acceptable) {
                all.push(Planned { way: way.clone(), measure, plan });
            }
        }
    }
    all
}
