//! How the pull creeps while the throttle is held.

use std::f64::consts::TAU;

use engine::analysis::Answer;
use engine::calibration::Calibrated;
use engine::diagnostic::{Diagnostic, Diagnostics};
use engine::inquiry::{Inquiry, Said, not_told};
use engine::text_table::paragraph;
use engine::units::FRACTION;
use serde_json::{Map, json};

use super::super::Row;
use super::super::drift::{Moment, Shape, drift};
use super::super::reduce::BIAS;
use super::key;
use super::taken::taken;

/// The question.
pub const INQUIRY: Inquiry = Inquiry {
    name: "drift",
    about: "how the pull at a given speed creeps while the throttle is held, and what it was at the first moment",
    keys: &[
        key("readings", "name of the readings; the only ones if left out"),
        key("throttle", "at which throttle; the widest with several rows if left out"),
        key("shape", "\"line\" or \"exponential\""),
    ],
    always: false,
    answer,
};

fn answer(found: &Calibrated, said: &Said) -> Result<Answer, Diagnostics> {
    let taken = taken(found, found.set(said.text("readings")?.unwrap_or_default())?)?;
    let shape = match said.text("shape")? {
        None | Some("line") => Shape::Line,
        Some("exponential") => Shape::Exponential,
        Some(other) => {
            let error = Diagnostic::error(format!("`shape` is not \"{other}\""));
            return Err(error.expected("\"line\" or \"exponential\"").into());
        }
    };
    let steps = taken.steps();
    let step = match said.number("throttle", FRACTION)? {
        Some(asked) => steps.iter().find(|step| step.throttle.is_some_and(|t| (t - asked).abs() < 1e-3)),
        None => steps.iter().rev().find(|step| step.rows.len() > 1),
    };
    let Some(step) = step else {
        return Err(Diagnostic::error("no readings were taken at this throttle").into());
    };
    let moment = |row: &Row| -> Option<Moment> { Some((row.time?, row.thrust?, row.shaft_speed? / TAU)) };
    let label = &step.label;
    let moments: Vec<Moment> = step.rows.iter().filter_map(|(row, _)| moment(row)).collect();
    let told = match drift(&moments, shape) {
        Ok(told) => told,
        Err(why) => {
            let of = format!("Creep of the pull, \"{}\" at {label}", taken.name);
            let needs = "it takes readings of scale, speed and time (readings.time(heading)) at one throttle";
            return Ok(not_told(&of, &format!("{why}; {needs}")));
        }
    };
    // asked for, so it is told; the readings themselves stay as they were
    let begin = moments.iter().map(|m| m.0).fold(f64::INFINITY, f64::min);
    let n = moments.len() as f64;
    let back: Vec<(f64, f64)> = moments.iter().map(|(t, pull, _)| told.corrected(*pull, t - begin)).collect();
    let mean = moments.iter().map(|m| m.1).sum::<f64>() / n;
    let (first, u) = (back.iter().map(|c| c.0).sum::<f64>() / n, back.iter().map(|c| c.1).sum::<f64>() / n);
    let carried = paragraph(&format!(
        "Each reading carried back to the first moment, the mean pull is {first:.1} N (u of carrying back {u:.1} N), as it was \
         read {mean:.1} N. Tell both: the first is nearer to still water, and no measurement says how near."
    ));
    let mut values = Map::new();
    let mut put = |key: &str, value| values.insert(key.into(), value);
    put("step", json!(label));
    put("readings", json!(told.readings));
    put("change", json!(told.change.0));
    put("change_standard_uncertainty", json!(told.change.1));
    put("first_pull_over_revs_squared", json!(told.first.0));
    put("mean_pull_N", json!(mean));
    put("mean_pull_at_first_moment_N", json!(first));
    put("mean_pull_at_first_moment_standard_uncertainty_N", json!(u));
    put("time_constant_s", json!(told.time_constant.map(|t| t.0)));
    let text = format!("Creep of the pull, \"{}\" at {label}\n{}{carried}", taken.name, told.text());
    Ok(Answer { text, values, closing: paragraph(BIAS), ..Answer::default() })
}
