//! How far a drive may be turned up on its bench rig: which margin of the rig ends first, and at what
//! motor-current limit or throttle.
//!
//! The parts of a rig tell their margins as [`RIG_MARGIN`], start-up factor and required safety in it; which parts
//! there are is not asked. At rest every state is the tub's: steady, cold, a fresh pack.

pub(in crate::steady) mod search;
pub(in crate::steady) mod text;
pub(in crate::steady) mod turned;

use engine::analysis::{Analysis, Answer, Choice, Given, Takes};
use engine::diagnostic::{Diagnostic, Diagnostics};
use engine::units::TIME;
use serde_json::{Map, Value, json};

use self::search::{Crossing, Where, crossings};
use self::turned::{State, Turned};
use super::tub::bench::Bench;
use super::tub::heat::Heat;

/// How far the drive may be turned up.
pub const ANALYSIS: Analysis = Analysis {
    name: "rig",
    about: "How far motor current and throttle may be turned up on a bench rig before one of its margins ends",
    options: &[Choice {
        name: "lasting",
        about: "Longest time the found current is held for the winding",
        takes: Takes::Number(TIME, "120 s", (0.1, 3600.0)),
    }],
    answer,
};

/// Motor-current limits tried, as shares of the setup's.
pub(in crate::steady) const SHARES: [f64; 30] = {
    let mut all = [0.0; 30];
    let mut k = 0;
    while k < 30 {
        all[k] = (k + 1) as f64 / 10.0;
        k += 1;
    }
    all
};

/// Steps of the throttle.
const STEPS: usize = 20;

/// Everything that was found.
struct Found {
    /// Motor-current limit of the setup, A, as the setup counts it.
    present: f64,
    /// Counts the setup's amperes in DC-equivalent ones.
    dc: f64,
    by_current: Scan,
    by_throttle: Scan,
    /// Full throttle at the first crossing, or at the setup's limit.
    heat: Heat,
    /// The limit at which it is held, A.
    heated_at: f64,
    lasting: f64,
    notes: Vec<String>,
}

/// States in rising order, and where margins end.
pub(in crate::steady) struct Scan {
    states: Vec<State>,
    pub crossings: Vec<Crossing>,
    /// Why it went no further.
    ended: Option<String>,
}

fn answer(given: &Given) -> Result<Answer, Diagnostics> {
    let turned = Turned::rigged(&given.craft, given.kinds)?;
    let present = turned.present;
    let now = turned.at_limit(present)?;
    let by_current =
        scan(&turned.names, SHARES.map(|share| turned.allowed(share * present)).into_iter(), |limit| {
            turned.at_limit(limit).and_then(|bench| turned.state(&bench, limit, 1.0))
        })?;
    let throttles = (1..=STEPS).map(|k| k as f64 / STEPS as f64);
    let by_throttle = scan(&turned.names, throttles, |throttle| turned.state(&now, throttle, throttle))?;
    let heated_at = match by_current.crossings.first() {
        Some(first) => first.at,
        None => present,
    };
    let lasting = given.number("lasting");
    let heat = Heat::after(&turned.at_limit(heated_at)?, 1.0, lasting);
    let notes = notes(&now, &turned);
    let found = Found { present, dc: turned.dc, by_current, by_throttle, heat, heated_at, lasting, notes };
    let (headings, rows) = table(&found, &turned.names);
    Ok(Answer {
        text: text::tell(given.craft.setup.title(), &found),
        values: values(&found, &turned.names),
        headings,
        rows,
        closing: text::closing(),
    })
}

/// States at rising places, and the margins' crossings between them.
pub(in crate::steady) fn scan(
    names: &[String],
    places: impl Iterator<Item = f64>,
    state: impl Fn(f64) -> Result<State, Diagnostics>,
) -> Result<Scan, Diagnostics> {
    let mut states: Vec<State> = Vec::new();
    let mut ended = None;
    for place in places {
        // limits that a controller does not take are moved to the end of what it does, and then coincide
        if states.last().is_some_and(|last| place <= last.at) {
            continue;
        }
        match state(place) {
            Ok(found) => states.push(found),
            Err(why) if states.is_empty() => return Err(why),
            Err(why) => {
                ended = why.iter().next().map(Diagnostic::title);
                break;
            }
        }
    }
    let crossings = crossings(names, &states, |place| state(place).ok());
    Ok(Scan { states, crossings, ended })
}

/// What the parts of drive and rig advise.
pub(in crate::steady) fn notes(bench: &Bench, turned: &Turned) -> Vec<String> {
    let mut notes = bench.notes.clone();
    let owners: Vec<&str> = turned.names.iter().filter_map(|name| name.split('.').next()).collect();
    for (part, advice) in turned.model.advice() {
        let note = format!("{part}: {advice}");
        if owners.contains(&part) && !notes.contains(&note) {
            notes.push(note);
        }
    }
    notes
}

fn table(found: &Found, names: &[String]) -> (Vec<String>, Vec<Vec<Value>>) {
    let fixed =
        ["motor current limit [A]", "throttle", "net thrust [N]", "motor current [A]", "battery current [A]"];
    let headings =
        fixed.iter().map(ToString::to_string).chain(names.iter().map(|n| format!("margin {n}"))).collect();
    let row = |limit: f64, s: &State| -> Vec<Value> {
        let r = &s.reading;
        let fixed = [limit, r.throttle, r.net_thrust, r.motor_current, r.battery_current];
        fixed.into_iter().chain(s.margins.iter().copied()).map(|x| json!(x)).collect()
    };
    let current = found.by_current.states.iter().map(|s| row(s.at, s));
    let throttle = found.by_throttle.states.iter().map(|s| row(found.present, s));
    (headings, current.chain(throttle).collect())
}

fn values(found: &Found, names: &[String]) -> Map<String, Value> {
    let ends = |scan: &Scan, key: &str| -> Value {
        let one = |c: &Crossing| {
            let place = match c.place {
                Where::Found => "found",
                Where::Below => "at or below",
            };
            json!({"margin": c.name, key: c.at, "place": place, "net_thrust_N": c.reading.net_thrust,
                   "motor_current_A": c.reading.motor_current, "battery_current_A": c.reading.battery_current})
        };
        Value::Array(scan.crossings.iter().map(one).collect())
    };
    let states = |scan: &Scan, key: &str| -> Value {
        let one = |s: &State| {
            let margins: Map<String, Value> =
                names.iter().cloned().zip(s.margins.iter().map(|&x| json!(x))).collect();
            json!({key: s.at, "net_thrust_N": s.reading.net_thrust, "motor_current_A": s.reading.motor_current,
                   "battery_current_A": s.reading.battery_current, "held_by": s.reading.held.code(), "margins": margins})
        };
        Value::Array(scan.states.iter().map(one).collect())
    };
    let heat = json!({"held_at_limit_A": found.heated_at, "lasting_s": found.lasting,
        "reached_s": found.heat.reached.as_ref().map(|(t, _)| t), "limit": found.heat.reached.as_ref().map(|(_, n)| n),
        "winding_degC": found.heat.winding, "broke": found.heat.broke});
    let all = json!({
        "motor_current_limit_A": found.present,
        "dc_equivalent_per_ampere": found.dc,
        "ends_by_current": ends(&found.by_current, "limit_A"),
        "ends_by_throttle": ends(&found.by_throttle, "throttle"),
        "by_current": states(&found.by_current, "limit_A"),
        "by_throttle": states(&found.by_throttle, "throttle"),
        "scan_ended": [found.by_current.ended, found.by_throttle.ended],
        "heat": heat,
        "notes": found.notes,
    });
    match all {
        Value::Object(map) => map,
        _ => Map::new(),
    }
}

#[cfg(test)]
mod tests;
