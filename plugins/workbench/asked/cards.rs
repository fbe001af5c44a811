//! The bench card, filled in.

use engine::analysis::Answer;
use engine::calibration::Calibrated;
use engine::diagnostic::Diagnostics;
use engine::inquiry::{Inquiry, Said};
use engine::text_table::paragraph;
use serde_json::{Map, json};

use super::super::Row;
use super::super::page::{Measured, Spread, Step, filled, step_of};
use super::super::reduce::BIAS;
use super::super::row::CurrentConvention;
use super::key;
use super::taken::all_taken;
use crate::lever::SCALE_READING;
use crate::steady::tub::bench::Bench;

/// The question.
pub const INQUIRY: Inquiry = Inquiry {
    name: "filled_card",
    about: "the bench card with what was read beside what was expected before, the odd reading marked",
    keys: &[key("readings", "name of the readings; the only ones if left out")],
    always: false,
    answer,
};

fn answer(found: &Calibrated, said: &Said) -> Result<Answer, Diagnostics> {
    let set = found.set(said.text("readings")?.unwrap_or_default())?;
    // what was left out is shown and marked like the rest
    let taken = all_taken(found, set, true)?;
    let (before, fitted) = (Bench::new(&taken.craft)?, Bench::new(&found.craft(set)?)?);
    let mut steps = Vec::new();
    for (label, rows) in taken.steps() {
        let Some(throttle) = rows.first().and_then(|(row, _)| row.throttle) else { continue };
        let (expected, fits) = (expected(&before, throttle)?, expected(&fitted, throttle)?);
        steps.push(Step { label, expected, fits: Some(fits), ..Step::default() });
    }
    let at = |row: &Row| step_of(&steps, row).unwrap_or(usize::MAX);
    let measured =
        taken.rows.iter().map(|(row, unsure)| Measured { step: at(row), row: *row, unsure: *unsure });
    let measured: Vec<Measured> = measured.collect();
    let page = filled(&steps, &measured, &Spread::default(), CurrentConvention::DcEquivalent);
    let mut values = Map::new();
    values.insert("steps".into(), json!(steps.len()));
    values.insert("rows".into(), json!(measured.len()));
    let text = format!("Bench card, filled in | {}\n{page}", taken.name);
    Ok(Answer { text, values, closing: paragraph(BIAS), ..Answer::default() })
}

/// What a craft would show at a throttle.
fn expected(bench: &Bench, throttle: f64) -> Result<Row, Diagnostics> {
    let r = bench.reading(throttle)?;
    let mut run = bench.steady(throttle);
    let probe = run.model().providers(SCALE_READING.name).first().copied();
    Ok(Row {
        throttle: Some(throttle),
        pack_voltage: Some(r.bus_voltage),
        battery_current: Some(r.battery_current),
        motor_current: Some(r.motor_current),
        shaft_speed: Some(r.omega),
        duty: Some(r.duty),
        scale_reading: probe.map(|probe| run.value(probe)),
        thrust: Some(r.net_thrust),
        ..Row::default()
    })
}
