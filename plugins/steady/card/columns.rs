//! The card as a table: expected columns filled, measured ones empty, to be filled in and read back.

use serde_json::{Map, Value, json};

use super::{Card, Line};
use crate::workbench::row::{CurrentConvention, motor_current_heading};

/// Name; unit; value. All are numbers, so that the table can be read back as readings.
struct Column(&'static str, &'static str, fn(&Line) -> Option<f64>);

const RPM: f64 = 30.0 / std::f64::consts::PI;

/// What is set, then what is expected.
const EXPECTED: &[Column] = &[
    Column("throttle", "1", |l| l.step.expected.throttle),
    Column("motor_current_limit", "A", |l| Some(l.limit)),
    Column("expected_scale_reading", "kg", |l| l.step.expected.scale_reading),
    Column("expected_thrust", "N", |l| l.step.expected.thrust),
    Column("expected_battery_current", "A", |l| l.step.expected.battery_current),
    Column("expected_motor_current", "A", |l| l.step.expected.motor_current),
    Column("expected_bus_voltage", "V", |l| l.step.expected.bus_voltage),
    Column("expected_shaft_speed", "rpm", |l| l.step.expected.shaft_speed.map(|x| RPM * x)),
    Column("expected_duty", "1", |l| l.step.expected.duty),
    Column("expected_winding_temperature", "°C", |l| l.step.expected.winding_temperature),
    Column("expected_controller_temperature", "°C", |l| l.step.controller_temperature),
    Column("expected_cell_temperature", "°C", |l| l.step.cell_temperature),
    Column("least_rig_margin", "1", |l| l.least.as_ref().map(|(_, margin)| *margin)),
    // 1: the step is not to be made
    Column("do_not_make_this_step", "1", |l| Some(if l.step.forbidden { 1.0 } else { 0.0 })),
];

/// What is to be filled in, beside the motor current: names as in a row of readings.
const MEASURED: &[(&str, &str)] = &[
    ("time", "s"),
    ("scale_reading", "kg"),
    ("battery_current", "A"),
    ("bus_voltage", "V"),
    ("shaft_speed", "rpm"),
    ("duty", "1"),
    ("winding_temperature", "°C"),
    ("controller_temperature", "°C"),
    ("cell_temperature", "°C"),
    ("state_of_charge", "1"),
];

/// Headings; the motor current that is filled in stands under the heading of the controller's convention.
pub fn headings(convention: CurrentConvention) -> Vec<String> {
    let expected = EXPECTED.iter().map(|Column(name, unit, _)| format!("{name} [{unit}]"));
    let measured = MEASURED.iter().map(|(name, unit)| format!("{name} [{unit}]"));
    let motor = format!("{} [A]", motor_current_heading(convention));
    expected.chain(measured).chain([motor]).collect()
}

/// One row per step, its measured cells empty.
pub fn rows(card: &Card) -> Vec<Vec<Value>> {
    let row = |line: &Line| {
        let expected = EXPECTED.iter().map(|Column(.., read)| json!(read(line)));
        expected.chain(std::iter::repeat_n(Value::Null, MEASURED.len() + 1)).collect()
    };
    card.lines.iter().map(row).collect()
}

/// One object per step.
pub fn objects(card: &Card) -> Value {
    let unit = |unit: &str| match unit {
        "1" => String::new(),
        "°C" => "_degC".into(),
        unit => format!("_{unit}"),
    };
    let object = |line: &Line| -> Value {
        let mut map: Map<String, Value> = EXPECTED
            .iter()
            .map(|Column(name, u, read)| (format!("{name}{}", unit(u)), json!(read(line))))
            .collect();
        map.insert("held_by".into(), json!(line.reading.held.code()));
        map.insert("least_rig_margin_of".into(), json!(line.least.as_ref().map(|(name, _)| name)));
        map.insert("note".into(), json!(line.step.note));
        Value::Object(map)
    };
    card.lines.iter().map(object).collect()
}
