//! From a finished run to what a person and a machine want to know of it.

pub(crate) mod afloat;
mod columns;
mod facts;
mod flight;
mod hump;
mod ledger;
pub(crate) mod limits;
pub(crate) mod outcome;
mod peaks;
mod pull;
mod text;

use engine::scenario::{Findings, Finished};
use serde_json::{Map, Value, json};

use crate::nomenclature::*;
pub use columns::REPORT;
use facts::Facts;
use hump::Shortfall;
use limits::Interval;
use outcome::Reason;
use pull::Pull;

/// Version of the keys in the findings.
pub const FINDINGS_VERSION: u32 = 2;

/// Kinds of quantity in a trace where the script chooses none.
pub const TRACE: &[&str] = &[
    DISTANCE.name,
    SURGE_SPEED.name,
    CG_DEPTH.name,
    PITCH.name,
    BOARD_CLEARANCE.name,
    BOARD_LOAD.name,
    WETTED_LENGTH.name,
    REACH_USED.name,
    THROTTLE.name,
    DUTY.name,
    MOTOR_CURRENT.name,
    BATTERY_CURRENT.name,
    BUS_VOLTAGE.name,
    SHAFT_SPEED.name,
    THRUST.name,
    STATE_OF_CHARGE.name,
    WINDING_TEMPERATURE.name,
    CONTROLLER_TEMPERATURE.name,
    CELL_TEMPERATURE.name,
];

/// Judges a finished run.
pub fn judge(finished: &Finished) -> Findings {
    let facts = Facts::gather(finished);
    let reason = outcome::reason(finished, &facts);
    // how far the drive falls short can only be told by carrying the craft over the hump
    let shortfall = match reason {
        Some(reason) if reason.asks_for_thrust() => hump::shortfall(finished),
        _ => None,
    };
    Findings {
        values: values(&facts, reason, shortfall.as_ref()),
        text: text::tell(finished, &facts, reason, shortfall.as_ref()),
        closing: text::closing(),
    }
}

fn values(facts: &Facts, reason: Option<Reason>, shortfall: Option<&Shortfall>) -> Map<String, Value> {
    let mut map = Map::new();
    let mut put = |key: &str, value: Value| map.insert(key.into(), value);
    let flight = &facts.flight;
    put("foilborne", json!(flight.take_off.is_some()));
    put("outcome", json!(outcome::name(facts, reason)));
    put("reason", json!(reason.map(Reason::code)));
    put(
        "take_off",
        flight.take_off.as_ref().map_or(Value::Null, |t| {
            json!({"time_s": t.time, "distance_m": t.distance, "speed_m_s": t.speed,
                   "energy_Wh": t.energy_wh, "charge_Ah": t.charge_ah})
        }),
    );
    put("touch_down_s", json!(flight.touch_down));
    put("breached_s", json!(flight.breached));
    put("stalled_s", json!(flight.stalled));
    put("tripped_s", json!(flight.tripped));
    put("trim_lost_s", json!(flight.trim_lost));
    put("duration_s", json!(facts.duration));
    put("distance_m", json!(facts.distance));
    put("energy_Wh", json!(facts.energy_wh));
    put("charge_Ah", json!(facts.charge_ah));
    put("peaks", Value::Object(facts.peaks.iter().map(|p| (p.key(), json!(p.shown()))).collect()));
    put("motor_current_is", json!("DC-equivalent"));
    put("hump", facts.hump().map_or(Value::Null, pull));
    put("tightest", facts.tightest().map_or(Value::Null, pull));
    put(
        "shortfall",
        shortfall.map_or(
            Value::Null,
            |s| json!({"force_N": s.force, "speed_m_s": s.speed, "net_thrust_N": s.net_thrust}),
        ),
    );
    put("least_margin", least_margin(facts, shortfall));
    let at_rest = facts.pulls.at_rest;
    put("static_thrust_N", json!(at_rest.map(|s| s.thrust)));
    put("static_net_thrust_N", json!(at_rest.map(|s| s.net_thrust)));
    put("static_thrust_highest_N", json!(at_rest.map(|s| s.highest)));
    put("limits", Value::Array(facts.limits.iter().map(interval).collect()));
    put("limits_resolution_s", json!(facts::SPACING));
    put("reach_used", json!(flight.reach));
    put(
        "ledger",
        facts.ledger.as_ref().map_or(Value::Null, |l| {
            json!({"sources_J": l.sources, "sinks_J": l.sinks, "stores_J": l.stores,
                       "error_J": l.error, "relative_error": l.relative()})
        }),
    );
    let warnings = facts.warnings.iter().map(|w| {
        json!({"quantity": w.quantity, "message": w.message, "low": w.low, "high": w.high,
               "unit": w.unit, "first_s": w.first, "worst": w.worst})
    });
    put("warnings", Value::Array(warnings.collect()));
    put("notes", facts.advice.iter().cloned().chain(facts.not_afloat.clone()).map(Value::from).collect());
    map
}

/// How much thrust was left where least was, or how much is missing: told of every run
/// that got under way, so that runs can be compared whether they flew or not.
fn least_margin(facts: &Facts, shortfall: Option<&Shortfall>) -> Value {
    match (shortfall, facts.tightest()) {
        (Some(s), _) => json!({"force_N": -s.force, "speed_m_s": s.speed, "limits": s.limits}),
        (None, Some(p)) => {
            let binds = |i: &&Interval| i.from <= p.time && p.time <= i.to;
            let limits: Vec<&str> = facts.limits.iter().filter(binds).map(|i| i.limit.as_str()).collect();
            json!({"force_N": p.margin, "speed_m_s": p.speed, "limits": limits})
        }
        (None, None) => Value::Null,
    }
}

fn pull(p: Pull) -> Value {
    json!({"margin_N": p.margin, "speed_m_s": p.speed, "time_s": p.time,
           "resistance_N": p.resistance, "net_thrust_N": p.net_thrust})
}

fn interval(i: &Interval) -> Value {
    json!({"limit": i.limit, "from_s": i.from, "to_s": i.to})
}
