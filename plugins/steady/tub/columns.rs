//! A reading as a row of a table and as an object of a document.

use serde_json::{Map, Value, json};

use super::{Row, Told};
use crate::handbook::G;

/// Name with its unit, empty for words; key in a document; value.
struct Column(&'static str, &'static str, &'static str, fn(&Row) -> Value);

const COLUMNS: &[Column] = &[
    Column("throttle", "1", "throttle", |r| json!(r.reading.throttle)),
    Column("thrust", "N", "thrust_N", |r| json!(r.reading.thrust)),
    Column("thrust", "kgf", "thrust_kgf", |r| json!(r.reading.thrust / G)),
    Column("net_thrust", "N", "net_thrust_N", |r| json!(r.reading.net_thrust)),
    Column("net_thrust", "kgf", "net_thrust_kgf", |r| json!(r.reading.net_thrust / G)),
    Column("shaft_speed", "rpm", "shaft_speed_rpm", |r| json!(r.reading.rpm())),
    Column("duty", "1", "duty", |r| json!(r.reading.duty)),
    Column("motor_current_dc_equivalent", "A", "motor_current_A", |r| json!(r.reading.motor_current)),
    Column("battery_current", "A", "battery_current_A", |r| json!(r.reading.battery_current)),
    Column("bus_voltage", "V", "bus_voltage_V", |r| json!(r.reading.bus_voltage)),
    Column("propeller_torque", "N·m", "propeller_torque_N_m", |r| json!(r.reading.torque)),
    Column("torque_per_speed_squared", "N·m·s²/rev²", "torque_per_speed_squared_N_m_s2", |r| {
        json!(r.reading.torque_per_revs2())
    }),
    Column("shaft_power", "W", "shaft_power_W", |r| json!(r.reading.shaft_power)),
    Column("battery_power", "W", "battery_power_W", |r| json!(r.reading.battery_power)),
    Column("thrust_per_battery_power", "N/W", "thrust_per_battery_power_N_W", |r| {
        json!(r.reading.thrust_per_watt())
    }),
    Column("figure_of_merit", "1", "figure_of_merit", |r| json!(r.reading.merit)),
    Column("figure_of_merit_overall", "1", "figure_of_merit_overall", |r| json!(r.reading.overall)),
    Column("held_by", "", "held_by", |r| json!(r.reading.held.code())),
    Column("limits", "", "limits", |r| json!(r.reading.limits)),
    Column("winding_temperature", "°C", "winding_temperature_degC", |r| json!(r.heat.winding)),
    Column("case_temperature", "°C", "case_temperature_degC", |r| json!(r.heat.case)),
    Column("controller_temperature", "°C", "controller_temperature_degC", |r| json!(r.heat.controller)),
    Column("cell_temperature", "°C", "cell_temperature_degC", |r| json!(r.heat.cells)),
    Column("temperature_limit", "", "temperature_limit", |r| {
        json!(r.heat.reached.as_ref().map(|(_, name)| name))
    }),
    Column("temperature_limit_reached", "s", "temperature_limit_reached_s", |r| {
        json!(r.heat.reached.as_ref().map(|(time, _)| time))
    }),
    Column("protection_opened", "s", "protection_opened_s", |r| json!(r.heat.opened)),
    Column("heat_broke_off", "", "heat_broke_off", |r| json!(r.heat.broke)),
];

/// Headings of the table; with two setups the first column says which.
pub fn headings(two: bool) -> Vec<String> {
    let own = COLUMNS.iter().map(|Column(name, unit, ..)| match *unit {
        "" => (*name).to_string(),
        unit => format!("{name} [{unit}]"),
    });
    two.then(|| "setup".to_string()).into_iter().chain(own).collect()
}

/// Rows of the table.
pub fn rows(told: &Told, which: Option<&str>) -> Vec<Vec<Value>> {
    let cell = |value: Value| match value {
        Value::Array(words) => words.iter().filter_map(Value::as_str).collect::<Vec<_>>().join(" + ").into(),
        other => other,
    };
    let row = |row: &Row| {
        let own = COLUMNS.iter().map(|Column(.., read)| cell(read(row)));
        which.map(Value::from).into_iter().chain(own).collect()
    };
    told.rows.iter().map(row).collect()
}

/// One object per throttle.
pub fn objects(told: &Told) -> Value {
    let object = |row: &Row| -> Map<String, Value> {
        COLUMNS.iter().map(|Column(.., key, read)| ((*key).to_string(), read(row))).collect()
    };
    told.rows.iter().map(|row| Value::Object(object(row))).collect()
}
