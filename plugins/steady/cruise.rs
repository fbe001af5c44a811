//! Cruise: steady flight at a speed, what it draws, how long and how far the pack lasts,
//! how warm it gets, and how many attempts to take off a pack has in it.
//!
//! At each speed, held, trim and throttle are in equilibrium: thrust meets resistance.
//! The pack's polarisation has come to rest, as after some minutes.

pub mod attempts;
pub mod heat;
pub mod level;
pub mod pack;
mod text;

use engine::analysis::{Analysis, Answer, Choice, Given, Takes};
use engine::diagnostic::Diagnostics;
use engine::units::{NUMBER, SPEED, TIME};
use serde_json::{Map, Value, json};

use super::trim::Trim;
use attempts::{Attempt, Opening};
use heat::Heat;
use level::{Flight, Level};
use pack::Endurance;

/// The command.
pub const ANALYSIS: Analysis = Analysis {
    name: "cruise",
    about: "Steady flight: power, current, range and riding time over speed; heat; attempts to take off",
    options: &[
        Choice { name: "from", about: "lowest speed", takes: Takes::Number(SPEED, "3 m/s", (0.5, 30.0)) },
        Choice { name: "to", about: "highest speed", takes: Takes::Number(SPEED, "12 m/s", (0.5, 30.0)) },
        Choice {
            name: "points",
            about: "number of speeds",
            takes: Takes::Number(NUMBER, "37", (2.0, 500.0)),
        },
        Choice {
            name: "attempts",
            about: "attempts to take off at full throttle, one after the other",
            takes: Takes::Number(NUMBER, "3", (0.0, 50.0)),
        },
        Choice {
            name: "rest",
            about: "rest between attempts",
            takes: Takes::Number(TIME, "30 s", (0.0, 3600.0)),
        },
        Choice {
            name: "ramp",
            about: "time in which an attempt opens the throttle",
            takes: Takes::Number(TIME, "1 s", (0.1, 30.0)),
        },
    ],
    answer,
};

/// All that is told.
struct Found {
    levels: Vec<Cruise>,
    /// Temperatures that are not to be exceeded, by name, °C: those at which a bench test is stopped.
    bearable: Vec<(String, f64)>,
    /// Speeds asked for at which there is no steady flight, with the reason.
    without: Vec<(f64, String)>,
    /// From cold at full throttle.
    full: Option<Heat>,
    attempts: Vec<Attempt>,
}

/// Steady flight at one speed.
struct Cruise {
    level: Level,
    /// How long the pack keeps it up.
    endurance: Endurance,
    /// Temperatures that it tends to, by name, °C; why there are none.
    steady: Result<Vec<(String, f64)>, String>,
}

impl Cruise {
    /// Names of the steady temperatures that lie above what may be borne.
    fn too_warm<'a>(&'a self, bearable: &[(String, f64)]) -> impl Iterator<Item = &'a str> {
        let most = |name: &str| bearable.iter().find(|(known, _)| known == name).map(|(_, most)| *most);
        let steady = self.steady.iter().flatten();
        let beyond = steady.filter(move |(name, t)| most(name).is_some_and(|most| *t > most));
        beyond.map(|(name, _)| name.as_str())
    }

    /// Distance the pack lasts for, m.
    fn range(&self) -> f64 {
        self.level.speed * self.endurance.time
    }
}

fn answer(given: &Given) -> Result<Answer, Diagnostics> {
    let speeds = super::speeds(given)?;
    let trim = Trim::of(&given.craft.model)?;
    let flight = Flight::of(&trim)?;
    // from above: fast flight is surely clear of the water
    let (mut levels, mut without) = (Vec::new(), Vec::new());
    let mut near: Option<Level> = None;
    for speed in speeds.into_iter().rev() {
        match flight.at(speed, near.as_ref()) {
            Ok(level) => {
                near = Some(level.clone());
                let endurance = Endurance::of(&flight, &level);
                let steady = heat::steady(&flight, &level);
                levels.push(Cruise { level, endurance, steady });
            }
            Err(why) => without.push((speed, why)),
        }
    }
    levels.reverse();
    without.reverse();
    let full = levels.last().and_then(|fastest| heat::full_throttle(&flight, &fastest.level));
    let rest = given.number("rest");
    let opening = Opening { to: 1.0, within: given.number("ramp") };
    let attempts = attempts::in_a_row(&given.craft.model, &trim, given.whole("attempts")?, rest, opening);
    let found = Found { levels, bearable: heat::bearable(&flight), without, full, attempts };
    let (headings, rows) = table(&found);
    Ok(Answer {
        text: text::tell(given.craft.setup.title(), &found),
        values: values(&found),
        headings,
        rows,
        closing: (crate::verdict::REPORT.closing)(),
    })
}

/// The least and the best of a row of flights.
fn least(levels: &[Cruise], by: impl Fn(&Cruise) -> f64) -> Option<&Cruise> {
    levels.iter().min_by(|a, b| by(a).total_cmp(&by(b)))
}

const COLUMNS: &[&str] = &[
    "speed [m/s]",
    "throttle",
    "power [W]",
    "battery current [A]",
    "motor current [A]",
    "duty",
    "shaft speed [rpm]",
    "riding time [s]",
    "range [m]",
    "usable charge [A·h]",
    "ends by",
    "height [m]",
    "reach used",
    "limits",
    "steady temperatures beyond",
];

fn table(found: &Found) -> (Vec<String>, Vec<Vec<Value>>) {
    let mut headings: Vec<String> = COLUMNS.iter().map(ToString::to_string).collect();
    let names: Vec<String> = found
        .levels
        .iter()
        .find_map(|c| c.steady.as_ref().ok())
        .map(|all| all.iter().map(|(name, _)| name.clone()).collect())
        .unwrap_or_default();
    headings.extend(names.iter().map(|name| format!("steady {name} [°C]")));
    let rows = found.levels.iter().map(|c| {
        let l = &c.level;
        let mut row = vec![
            json!(l.speed),
            json!(l.throttle),
            json!(l.power),
            json!(l.battery_current),
            json!(l.motor_current),
            json!(l.duty),
            json!(l.shaft_speed * 60.0 / std::f64::consts::TAU),
            json!(c.endurance.time),
            json!(c.range()),
            json!(c.endurance.charge / 3600.0),
            json!(c.endurance.ends),
            json!(l.height),
            json!(l.reach),
            json!(l.limits.join(" + ")),
            json!(c.too_warm(&found.bearable).collect::<Vec<_>>().join(" + ")),
        ];
        let steady = c.steady.as_ref().ok();
        row.extend((0..names.len()).map(|i| json!(steady.and_then(|all| all.get(i)).map(|(_, t)| *t))));
        row
    });
    (headings, rows.collect())
}

fn values(found: &Found) -> Map<String, Value> {
    let level = |c: &Cruise| {
        let l = &c.level;
        let steady = c.steady.as_ref().map_or(Value::Null, |all| {
            Value::Object(
                all.iter().map(|(name, t)| (format!("{name}_degC").replace(' ', "_"), json!(t))).collect(),
            )
        });
        json!({"speed_m_s": l.speed, "throttle": l.throttle, "power_W": l.power,
               "battery_current_A": l.battery_current, "motor_current_A": l.motor_current, "duty": l.duty,
               "riding_time_s": c.endurance.time, "range_m": c.range(),
               "usable_charge_Ah": c.endurance.charge / 3600.0, "ends_by": c.endurance.ends,
               "height_m": l.height, "reach_used": l.reach, "limits": l.limits, "steady": steady,
               "steady_beyond": c.too_warm(&found.bearable).collect::<Vec<_>>()})
    };
    let mut map = Map::new();
    let mut put = |key: &str, value: Value| map.insert(key.into(), value);
    let one = |c: Option<&Cruise>| c.map_or(Value::Null, level);
    put("slowest", one(found.levels.first()));
    put("least_power", one(least(&found.levels, |c| c.level.power)));
    put("best_range", one(least(&found.levels, |c| -c.range())));
    put("fastest", one(found.levels.last()));
    put("levels", found.levels.iter().map(level).collect());
    let without = found.without.iter().map(|(v, why)| json!({"speed_m_s": v, "why": why}));
    put("no_steady_flight", without.collect());
    let bearable =
        found.bearable.iter().map(|(name, t)| (format!("{name}_degC").replace(' ', "_"), json!(t)));
    put("not_above", Value::Object(bearable.collect()));
    put("full_throttle_from_cold", found.full.as_ref().map_or(Value::Null, Heat::value));
    put("attempts", found.attempts.iter().map(Attempt::value).collect());
    map
}
