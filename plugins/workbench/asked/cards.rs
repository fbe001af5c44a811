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
use super::key;
use super::taken::all_taken;
use crate::steady::card::{counted, expected};
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
        let at = |bench: &Bench| Ok::<Row, Diagnostics>(expected(bench, &bench.reading(throttle)?));
        let (expected, fits) = (at(&before)?, at(&fitted)?);
        steps.push(Step { label, expected, fits: Some(fits), ..Step::default() });
    }
    let at = |row: &Row| step_of(&steps, row).unwrap_or(usize::MAX);
    let measured =
        taken.rows.iter().map(|(row, unsure)| Measured { step: at(row), row: *row, unsure: *unsure });
    let measured: Vec<Measured> = measured.collect();
    let convention = counted(&taken.craft, found.problem.kinds)?;
    let page = filled(&steps, &measured, &Spread::default(), convention);
    let mut values = Map::new();
    values.insert("steps".into(), json!(steps.len()));
    values.insert("rows".into(), json!(measured.len()));
    let text = format!("Bench card, filled in | {}\n{page}", taken.name);
    Ok(Answer { text, values, closing: paragraph(BIAS), ..Answer::default() })
}
