//! What a drive does at rest, against throttle: thrust, currents, what holds it back, how fast it
//! heats; and why another drive, with another propeller say, differs.
//!
//! The steady state is that of a cold drive and a fresh pack at its state of charge: no polarisation,
//! temperatures as the setup starts them. It is evaluated, not integrated; only the heat is.

pub(in crate::steady) mod because;
pub(crate) mod bench;
mod columns;
mod compare;
mod differs;
pub(in crate::steady) mod heat;
pub(in crate::steady) mod held;
pub(in crate::steady) mod reading;
pub(in crate::steady) mod text;

use engine::analysis::{Analysis, Answer, Choice, Craft, Given, Takes};
use engine::diagnostic::Diagnostics;
use engine::units::{FRACTION, TIME};
use serde_json::{Map, Value, json};

use bench::Bench;
use compare::Pair;
use heat::Heat;
use reading::Reading;

/// What is said at the end of all that happens at rest: what is not known, and cautions.
pub(crate) fn closing() -> String {
    text::closing()
}

/// Thrust at rest.
pub const ANALYSIS: Analysis = Analysis {
    name: "tub",
    about: "Thrust, currents and heat of a drive at rest against throttle, and what holds it back",
    options: &[
        Choice {
            name: "throttles",
            about: "Throttles to read at",
            takes: Takes::Numbers(FRACTION, "20 %,40 %,60 %,80 %,100 %", (0.0, 1.0)),
        },
        Choice {
            name: "lasting",
            about: "How long each throttle is held for the heat",
            takes: Takes::Number(TIME, "30 s", (0.1, 3600.0)),
        },
        Choice {
            name: "against",
            about: "Another setup, told beside the first, with why it differs",
            takes: Takes::Setup,
        },
    ],
    answer,
};

/// One drive at one throttle.
pub(in crate::steady) struct Row {
    reading: Reading,
    heat: Heat,
}

/// One drive at all throttles.
pub(in crate::steady) struct Told {
    title: String,
    rows: Vec<Row>,
    notes: Vec<String>,
}

fn answer(given: &Given) -> Result<Answer, Diagnostics> {
    let mut throttles = given.numbers("throttles").to_vec();
    // rising and once each, so that the last is the widest open
    throttles.sort_by(f64::total_cmp);
    throttles.dedup();
    let lasting = given.number("lasting");
    let this = told(&given.craft, &throttles, lasting)?;
    let other = given.other("against").map(|craft| told(craft, &throttles, lasting)).transpose()?;
    let pairs: Vec<Pair> = match &other {
        Some(other) => this.rows.iter().zip(&other.rows).map(Pair::of).collect(),
        None => Vec::new(),
    };
    let mut rows = columns::rows(&this, other.as_ref().map(|_| "A"));
    rows.extend(other.iter().flat_map(|other| columns::rows(other, Some("B"))));
    Ok(Answer {
        text: text::tell(&this, other.as_ref(), &pairs, lasting),
        values: values(&this, other.as_ref(), &pairs, lasting),
        headings: columns::headings(other.is_some()),
        rows,
        closing: text::closing(),
    })
}

fn told(craft: &Craft, throttles: &[f64], lasting: f64) -> Result<Told, Diagnostics> {
    let bench = Bench::new(craft)?;
    let mut rows = Vec::new();
    let mut notes = bench.notes.clone();
    let mut warned: Vec<String> = Vec::new();
    for &throttle in throttles {
        let reading = bench.reading(throttle)?;
        let heat = Heat::after(&bench, throttle, lasting);
        for warning in &heat.warnings {
            // once, at the smallest throttle that brings it on
            if !warned.contains(warning) {
                notes.push(format!("{warning} (at {} throttle)", text::percent(throttle)));
                warned.push(warning.clone());
            }
        }
        rows.push(Row { reading, heat });
    }
    Ok(Told { title: craft.setup.title().into(), rows, notes })
}

fn values(this: &Told, other: Option<&Told>, pairs: &[Pair], lasting: f64) -> Map<String, Value> {
    let mut map = Map::new();
    let mut put = |key: &str, value: Value| map.insert(key.into(), value);
    put("motor_current_is", json!("DC-equivalent"));
    put("lasting_s", json!(lasting));
    put("throttles", columns::objects(this));
    put("held_in_words", json!(this.rows.last().map(|row| because::alone(&row.reading))));
    put("notes", json!(this.notes));
    if let Some(other) = other {
        let comparison = Value::Array(pairs.iter().map(compare::values).collect());
        put(
            "against",
            json!({"title": other.title, "throttles": columns::objects(other),
                   "held_in_words": other.rows.last().map(|row| because::alone(&row.reading)),
                   "notes": other.notes, "comparison": comparison}),
        );
    }
    map
}
