//! The bench card as a page: what is expected at each step, blanks for what is read; and the same page filled in.

use engine::text_table::{paragraph, table};

use super::checks::{ODD, SUSPICIOUS};
use super::row::{CurrentConvention, Row, Unsure};

/// A step of a test, with what is expected of it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Step {
    /// What is set: a throttle, a limit.
    pub label: String,
    /// Expected readings; the pull is net, the winding's temperature that at the end of the step.
    pub expected: Row,
    /// What fits the readings, which are then judged by it, and by their own uncertainty alone.
    pub fits: Option<Row>,
    /// Of the controller's switches at the end of the step [°C].
    pub controller_temperature: Option<f64>,
    /// Of the cells at the end of the step [°C].
    pub cell_temperature: Option<f64>,
    /// What is to be said of it.
    pub note: String,
    /// Whether it is not to be made: there is nothing to fill in then.
    pub forbidden: bool,
}

/// A row that was read at a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// Place of the step, from 0.
    pub step: usize,
    /// Readings.
    pub row: Row,
    /// Their standard uncertainties.
    pub unsure: Unsure,
}

/// How sure an expectation is: standard uncertainties as shares of it, the temperature's in K.
///
/// The default is this project's estimate for a drive nobody has measured yet; no measurement stands behind it. After
/// a fit the fit's own are the better ones.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(missing_docs)] // named as in [`Row`]
pub struct Spread {
    pub thrust: f64,
    pub battery_current: f64,
    pub motor_current: f64,
    pub bus_voltage: f64,
    pub shaft_speed: f64,
    pub duty: f64,
    pub winding_temperature: f64,
}

impl Default for Spread {
    fn default() -> Spread {
        Spread {
            thrust: 0.10,
            battery_current: 0.08,
            motor_current: 0.08,
            bus_voltage: 0.015,
            shaft_speed: 0.05,
            duty: 0.05,
            winding_temperature: 10.0,
        }
    }
}

/// A column: heading; value; its standard uncertainty; that of an expected value; factor to what is shown; digits.
struct Column {
    head: &'static str,
    value: fn(&Row) -> Option<f64>,
    u: fn(&Unsure) -> Option<f64>,
    spread: fn(&Spread, f64) -> f64,
    shown: f64,
    digits: usize,
}

fn columns(convention: CurrentConvention) -> Vec<Column> {
    let rpm = 30.0 / std::f64::consts::PI;
    let column = |head, value, u, spread, shown, digits| Column { head, value, u, spread, shown, digits };
    let mut all = vec![
        column("scale\nkg", |r| r.scale_reading, |u| u.scale_reading, |s, x| s.thrust * x, 1.0, 1),
        column("pull\nN", |r| r.thrust, |u| u.thrust, |s, x| s.thrust * x, 1.0, 0),
        column(
            "battery\nA",
            |r| r.battery_current,
            |u| u.battery_current,
            |s, x| s.battery_current * x,
            1.0,
            1,
        ),
        column(
            "motor A\nDC-eq.",
            |r| r.motor_current,
            |u| u.motor_current,
            |s, x| s.motor_current * x,
            1.0,
            1,
        ),
    ];
    if let Some(head) = counted(convention) {
        let shown = convention.from_dc(1.0);
        all.push(column(
            head,
            |r| r.motor_current,
            |u| u.motor_current,
            |s, x| s.motor_current * x,
            shown,
            1,
        ));
    }
    all.extend([
        column("at contr.\nV", |r| r.bus_voltage, |u| u.bus_voltage, |s, x| s.bus_voltage * x, 1.0, 1),
        column("shaft\nrpm", |r| r.shaft_speed, |u| u.shaft_speed, |s, x| s.shaft_speed * x, rpm, 0),
        column("duty", |r| r.duty, |u| u.duty, |s, x| s.duty * x, 1.0, 2),
        column(
            "winding\n°C",
            |r| r.winding_temperature,
            |u| u.winding_temperature,
            |s, _| s.winding_temperature,
            1.0,
            0,
        ),
    ]);
    all
}

/// Heading of a motor current that is not counted in DC-equivalent amperes.
fn counted(convention: CurrentConvention) -> Option<&'static str> {
    match convention {
        CurrentConvention::DcEquivalent => None,
        CurrentConvention::PhasePeak => Some("motor A\nph. peak"),
        CurrentConvention::PhaseRms => Some("motor A\nph. rms"),
        CurrentConvention::PowerInvariant => Some("motor A\npower-inv."),
    }
}

const BLANK: &str = "______";

fn number(x: Option<f64>, shown: f64, digits: usize) -> String {
    x.map(|x| x * shown).filter(|x| x.is_finite()).map_or("-".into(), |x| format!("{x:.digits$}"))
}

/// Columns that at least one step has an expectation for.
fn in_use(steps: &[Step], convention: CurrentConvention) -> Vec<Column> {
    let has = |c: &Column| steps.iter().any(|s| (c.value)(&s.expected).is_some());
    columns(convention).into_iter().filter(has).collect()
}

fn heads(columns: &[Column]) -> Vec<String> {
    let own = columns.iter().map(|c| c.head.to_string());
    ["step", ""]
        .map(String::from)
        .into_iter()
        .chain(own)
        .chain(["contr.\n°C", "cells\n°C"].map(String::from))
        .collect()
}

fn expected(step: &Step, columns: &[Column]) -> Vec<String> {
    let own = columns.iter().map(|c| number((c.value)(&step.expected), c.shown, c.digits));
    let heat = [step.controller_temperature, step.cell_temperature].map(|t| number(t, 1.0, 0));
    [step.label.clone(), "expected".into()].into_iter().chain(own).chain(heat).collect()
}

/// What is expected at each step, and a blank for each reading; `convention` is how the controller counts motor current.
pub fn blank(steps: &[Step], convention: CurrentConvention) -> String {
    let columns = in_use(steps, convention);
    let rows = steps.iter().flat_map(|step| {
        let blanks = std::iter::repeat_n(BLANK.to_string(), columns.len() + 2);
        let read = [String::new(), "read".into()].into_iter().chain(blanks).collect::<Vec<_>>();
        std::iter::once(expected(step, &columns)).chain((!step.forbidden).then_some(read))
    });
    table(heads(&columns), rows)
}

/// Distance of a reading from what fits it, or else from its expectation, in standard uncertainties of both.
fn score(column: &Column, step: &Step, measured: &Measured, spread: &Spread) -> Option<f64> {
    let (by, read) = ((column.value)(by(step))?, (column.value)(&measured.row)?);
    let of_expectation = if step.fits.is_some() { 0.0 } else { (column.spread)(spread, by) };
    let u = of_expectation.hypot((column.u)(&measured.unsure).unwrap_or(0.0));
    (u > 0.0).then(|| (read - by) / u)
}

/// What readings of a step are judged by.
fn by(step: &Step) -> &Row {
    step.fits.as_ref().unwrap_or(&step.expected)
}

/// The card filled in: each step's expectation, what was read, and marks where these are far apart: `?` beyond 2
/// standard uncertainties of both together, `!` beyond 3. A row of no step is told of below.
pub fn filled(
    steps: &[Step],
    measured: &[Measured],
    spread: &Spread,
    convention: CurrentConvention,
) -> String {
    let columns = in_use(steps, convention);
    let mut rows = Vec::new();
    let mut odd = String::new();
    for (i, step) in steps.iter().enumerate() {
        rows.push(expected(step, &columns));
        for m in measured.iter().filter(|m| m.step == i) {
            let mut cells = vec![String::new(), "read".to_string()];
            for column in &columns {
                let score = score(column, step, m, spread);
                let mark = match score.map(f64::abs) {
                    Some(x) if x > ODD => "!",
                    Some(x) if x > SUSPICIOUS => "?",
                    _ => "",
                };
                if let (false, Some(score)) = (mark.is_empty(), score) {
                    let (head, line) = (column.head.replace('\n', " "), m.row.line);
                    let what = if mark == "!" { "odd" } else { "suspicious" };
                    let place = if line > 0 { format!(", line {line}") } else { String::new() };
                    odd.push_str(&paragraph(&format!(
                        "{mark} {}{place}: {head} is {what}: {} read, {} {}, {score:+.1} standard uncertainties.",
                        step.label,
                        number((column.value)(&m.row), column.shown, column.digits),
                        number((column.value)(by(step)), column.shown, column.digits),
                        if step.fits.is_some() { "fits" } else { "expected" },
                    )));
                }
                cells.push(number((column.value)(&m.row), column.shown, column.digits) + mark);
            }
            cells.extend(["-".to_string(), "-".to_string()]);
            rows.push(cells);
        }
    }
    let mut out = table(heads(&columns), rows);
    out.push_str(&odd);
    for m in measured.iter().filter(|m| m.step >= steps.len()) {
        out.push_str(&paragraph(&format!("Line {} belongs to no step of the card.", m.row.line)));
    }
    out.push_str(&paragraph(
        "Expected: by the setup before the fit. A reading is judged by what fits all readings best: ? beyond 2 standard \
         uncertainties of the reading, ! beyond 3.",
    ));
    if odd.is_empty() {
        out.push_str(&paragraph(
            "No reading lies beyond 2 standard uncertainties from what it is judged by.",
        ));
    }
    let untold = columns
        .iter()
        .any(|c| measured.iter().any(|m| (c.value)(&m.row).is_some() && (c.u)(&m.unsure).is_none()));
    if untold {
        out.push_str(&paragraph(
            "Where no uncertainty of a reading was told, only that of the expectation counts.",
        ));
    }
    out
}

#[cfg(test)]
mod tests;
