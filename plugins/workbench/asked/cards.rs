//! The bench card, filled in.

use engine::analysis::Answer;
use engine::calibration::Calibrated;
use engine::diagnostic::Diagnostics;
use engine::inquiry::{Inquiry, Said};
use engine::text_table::paragraph;
use serde_json::{Map, json};

use super::super::Row;
use super::super::page::{Measured, Spread, Step, filled};
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
    let (mut before, mut fitted) = (Bench::new(&taken.craft)?, Bench::new(&found.craft(set)?)?);
    let mut steps = Vec::new();
    let mut measured = Vec::new();
    for step in taken.steps() {
        let rows = step.rows.iter();
        let Some(throttle) = step.throttle else {
            // told of below the page
            measured.extend(rows.map(|(row, unsure)| Measured {
                step: usize::MAX,
                row: *row,
                unsure: *unsure,
            }));
            continue;
        };
        let at = |bench: &mut Bench| {
            step.put().into_iter().for_each(|(quantity, value)| bench.put(quantity, value));
            Ok::<Row, Diagnostics>(expected(bench, &bench.reading(throttle)?))
        };
        let (expected, fits) = (at(&mut before)?, at(&mut fitted)?);
        let place = steps.len();
        measured.extend(rows.map(|(row, unsure)| Measured { step: place, row: *row, unsure: *unsure }));
        steps.push(Step { label: step.label, expected, fits: Some(fits), ..Step::default() });
    }
    let convention = counted(&taken.craft, found.problem.kinds)?;
    let page = filled(&steps, &measured, &Spread::default(), convention);
    let mut values = Map::new();
    values.insert("steps".into(), json!(steps.len()));
    values.insert("rows".into(), json!(measured.len()));
    let text = format!("Bench card, filled in | {}\n{page}", taken.name);
    Ok(Answer { text, values, closing: paragraph(BIAS), ..Answer::default() })
}
