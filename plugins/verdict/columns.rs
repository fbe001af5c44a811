//! The findings as columns of a study's table.

use engine::study::{Column, Ranking, Report};
use serde_json::{Map, Value};

/// What a study reports of each trial.
pub const REPORT: Report = Report {
    columns: COLUMNS,
    tally: "outcome",
    success: "foilborne",
    success_in_words: "reaches foiling speed",
    time: "take_off.time",
    response: "least_margin",
    explains: &["limits.at_least_margin"],
    rankings: &[
        Ranking { name: "static thrust", column: "static_thrust", highest: true, beforehand: true },
        Ranking {
            name: "least margin over the hump",
            column: "least_margin",
            highest: true,
            beforehand: false,
        },
        Ranking { name: "take-off time", column: "take_off.time", highest: false, beforehand: false },
    ],
    disagreement: "a thrust measured at rest does not decide: the board is lifted, or not, between the drag hump \
                   and take-off, where the propeller turns in moving water",
    front: &["take_off.time", "peak.motor_current", "take_off.energy"],
    closing: super::text::closing,
};

type Findings = Map<String, Value>;

macro_rules! columns {
    ($($name:literal, $unit:literal, $about:literal, $read:expr;)+) => {
        &[$(Column { name: $name, unit: $unit, about: $about, read: $read }),+]
    };
}

const COLUMNS: &[Column] = columns! {
    "foilborne", "", "whether the board took off", |f| at(f, &["foilborne"]);
    "outcome", "", "what became of the run", |f| at(f, &["outcome"]);
    "reason", "", "why it did not fly, or not for long", |f| at(f, &["reason"]);
    "take_off.time", "s", "time from the start to take-off", |f| at(f, &["take_off", "time_s"]);
    "take_off.distance", "m", "distance to take-off", |f| at(f, &["take_off", "distance_m"]);
    "take_off.speed", "m/s", "speed over ground at take-off", |f| at(f, &["take_off", "speed_m_s"]);
    "take_off.energy", "W·h", "energy from the pack to take-off", |f| at(f, &["take_off", "energy_Wh"]);
    "take_off.charge", "A·h", "charge from the pack to take-off", |f| at(f, &["take_off", "charge_Ah"]);
    "static_thrust", "N", "propeller thrust at rest, on a stand", |f| at(f, &["static_thrust_N"]);
    "static_net_thrust", "N", "what pulls at the stand", |f| at(f, &["static_net_thrust_N"]);
    "hump.margin", "N", "net thrust less resistance where resistance was greatest", |f| at(f, &["hump", "margin_N"]);
    "hump.speed", "m/s", "speed at which resistance was greatest", |f| at(f, &["hump", "speed_m_s"]);
    "hump.resistance", "N", "greatest resistance before take-off", |f| at(f, &["hump", "resistance_N"]);
    "least_margin", "N", "least net thrust less resistance, throttle open, up to take-off; negative: what is missing",
        |f| at(f, &["least_margin", "force_N"]);
    "least_margin.speed", "m/s", "speed at the least margin", |f| at(f, &["least_margin", "speed_m_s"]);
    "limits.at_least_margin", "", "limits of the drive that bind there", limits_at_least_margin;
    "limits", "", "limits of the drive that bound, and when", limits;
    "energy", "W·h", "energy from the pack, whole run", |f| at(f, &["energy_Wh"]);
    "charge", "A·h", "charge from the pack, whole run", |f| at(f, &["charge_Ah"]);
    "distance", "m", "distance, whole run", |f| at(f, &["distance_m"]);
    "duration", "s", "length of the run", |f| at(f, &["duration_s"]);
    "peak.motor_current", "A", "highest motor current, DC-equivalent", |f| peak(f, "motor_current", "A", f64::max);
    "peak.battery_current", "A", "highest battery current", |f| peak(f, "battery_current", "A", f64::max);
    "lowest.bus_voltage", "V", "lowest voltage at the controller", |f| peak(f, "bus_voltage_lowest", "V", f64::min);
    "peak.duty", "", "highest duty", |f| peak(f, "duty", "", f64::max);
    "peak.shaft_speed", "rpm", "highest shaft speed", |f| peak(f, "shaft_speed", "rpm", f64::max);
    "peak.thrust", "N", "highest propeller thrust", |f| peak(f, "thrust", "N", f64::max);
    "peak.winding_temperature", "°C", "highest winding temperature", |f| peak(f, "winding_temperature", "degC", f64::max);
    "peak.controller_temperature", "°C", "highest controller temperature",
        |f| peak(f, "controller_temperature", "degC", f64::max);
    "peak.cell_temperature", "°C", "highest cell temperature", |f| peak(f, "cell_temperature", "degC", f64::max);
    "peak.surge_speed", "m/s", "highest speed through the run", |f| peak(f, "surge_speed", "m_s", f64::max);
    "reach_used", "", "share of the rider's reach that was used", |f| at(f, &["reach_used"]);
    "warnings", "", "ranges of the formulas that were left", warnings;
};

fn at(findings: &Findings, path: &[&str]) -> Value {
    let (first, rest) = match path.split_first() {
        Some((first, rest)) => (findings.get(*first), rest),
        None => (None, path),
    };
    rest.iter().fold(first, |value, key| value.and_then(|v| v.get(key))).cloned().unwrap_or(Value::Null)
}

/// The extreme over all instances of a kind: `motor_current_A`, or
/// `left_motor_motor_current_A` and its like where there are several.
fn peak(findings: &Findings, kind: &str, unit: &str, worse: fn(f64, f64) -> f64) -> Value {
    let key = if unit.is_empty() { kind.to_string() } else { format!("{kind}_{unit}") };
    let mine =
        |name: &str| name.strip_suffix(&key).is_some_and(|before| before.is_empty() || before.ends_with('_'));
    let peaks = findings.get("peaks").and_then(Value::as_object);
    let values = peaks.into_iter().flatten().filter(|(name, _)| mine(name)).filter_map(|(_, v)| v.as_f64());
    values.reduce(worse).map_or(Value::Null, Value::from)
}

fn text(findings: &Findings, list: &str, tell: impl Fn(&Value) -> Option<String>) -> Value {
    let all: Vec<String> =
        findings.get(list).and_then(Value::as_array).into_iter().flatten().filter_map(tell).collect();
    if all.is_empty() { Value::Null } else { all.join("; ").into() }
}

fn interval(limit: &Value) -> Option<(&str, f64, f64)> {
    Some((limit.get("limit")?.as_str()?, limit.get("from_s")?.as_f64()?, limit.get("to_s")?.as_f64()?))
}

/// `throttle 0.00-1.50 s; motor current 1.50-40.00 s`
fn limits(findings: &Findings) -> Value {
    text(findings, "limits", |l| interval(l).map(|(name, from, to)| format!("{name} {from:.2}-{to:.2} s")))
}

fn limits_at_least_margin(findings: &Findings) -> Value {
    match at(findings, &["least_margin", "limits"]) {
        Value::Array(names) if !names.is_empty() => {
            names.iter().filter_map(Value::as_str).collect::<Vec<_>>().join(" + ").into()
        }
        _ => Value::Null,
    }
}

fn warnings(findings: &Findings) -> Value {
    text(findings, "warnings", |w| {
        let (quantity, message) = (w.get("quantity")?.as_str()?, w.get("message")?.as_str()?);
        Some(format!("{quantity}: {message}"))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn map(value: Value) -> Findings {
        value.as_object().cloned().unwrap_or_default()
    }

    #[test]
    fn the_worst_of_several_instances_is_the_peak() {
        let one = map(json!({"peaks": {"motor_current_A": 30.0, "duty": 0.5}}));
        assert_eq!(peak(&one, "motor_current", "A", f64::max), json!(30.0));
        assert_eq!(peak(&one, "duty", "", f64::max), json!(0.5));
        let two = map(json!({"peaks": {"left_motor_current_A": 30.0, "right_motor_current_A": 40.0}}));
        assert_eq!(peak(&two, "motor_current", "A", f64::max), json!(40.0));
        assert_eq!(peak(&two, "bus_voltage_lowest", "V", f64::min), Value::Null);
    }

    #[test]
    fn every_name_in_the_report_is_a_column() {
        let names = [REPORT.success, REPORT.time, REPORT.response].into_iter();
        let names = names.chain(REPORT.explains.iter().copied()).chain(REPORT.front.iter().copied());
        for name in names.chain(REPORT.rankings.iter().map(|r| r.column)) {
            assert!(COLUMNS.iter().any(|c| c.name == name), "{name}");
        }
    }
}
