//! Is A better than B?

use engine::analysis::Answer;
use engine::calibration::Calibrated;
use engine::diagnostic::{Diagnostic, Diagnostics, suggest};
use engine::inquiry::{Inquiry, Said};
use engine::units::FRACTION;
use serde_json::{Map, Value, json};

use super::super::Row;
use super::super::checks::{Group, scaling, scaling_text};
use super::super::compare::{BATTERY_CURRENT, Comparison, Covariate, PULL, PULL_PER_WATT, Step, compare};
use super::taken::{Taken, taken};
use super::{key, required};

/// The question.
pub const INQUIRY: Inquiry = Inquiry {
    name: "compare",
    about: "is A better than B: paired difference, confidence, repeats that would settle it",
    keys: &[
        required("between", "two names of readings, such as [\"A\", \"B\"]"),
        key("of", "\"pull\", \"pull per battery power\" or \"battery current\""),
        key("by", "pairs at equal \"throttle\" or \"motor current\""),
        key("drift_with", "\"time\", \"charge\" or \"temperature\""),
        key("worth", "smallest difference worth having, a share"),
        key("confidence", "of the interval"),
        key("tip_cut", "whether the smaller is the larger with its tips turned off"),
    ],
    always: false,
    answer,
};

/// One of some words.
fn word<T: Copy>(said: &Said, key: &str, words: &[(&str, T)]) -> Result<Option<T>, Diagnostics> {
    let Some(text) = said.text(key)? else { return Ok(None) };
    match words.iter().find(|(word, _)| *word == text) {
        Some((_, value)) => Ok(Some(*value)),
        None => {
            let names: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
            let error = Diagnostic::error(format!("`{key}` is not \"{text}\"")).expected(names.join(", "));
            Err(error.near(suggest(text, names.iter().copied())).into())
        }
    }
}

fn answer(found: &Calibrated, said: &Said) -> Result<Answer, Diagnostics> {
    let names = said.texts("between")?;
    let [a, b] = names[..] else {
        let error = Diagnostic::error("`between` needs two names of readings");
        return Err(error.found(names.len().to_string()).into());
    };
    let (a, b) = (taken(found, found.set(a)?)?, taken(found, found.set(b)?)?);
    let what = [PULL, PULL_PER_WATT, BATTERY_CURRENT].map(|compared| (compared.name, compared));
    let what = word(said, "of", &what)?.unwrap_or(PULL);
    let by = word(said, "by", &[("throttle", Step::Throttle), ("motor current", Step::MotorCurrent)])?;
    let covariates =
        [("time", Covariate::Time), ("charge", Covariate::Charge), ("temperature", Covariate::Temperature)];
    let covariate = word(said, "drift_with", &covariates)?;
    let worth = said.number("worth", FRACTION)?.unwrap_or(0.03);
    let confidence = said.number("confidence", FRACTION)?.unwrap_or(0.95);
    let share = 1e-6..=0.999_999;
    if !(share.contains(&worth) && share.contains(&confidence)) {
        let error = Diagnostic::error("`worth` and `confidence` are shares between 0 and 1");
        return Err(error.found(format!("{worth} and {confidence}")).into());
    }
    let rows = |taken: &Taken| taken.rows.iter().map(|(row, _)| *row).collect::<Vec<Row>>();
    let (of_a, of_b) = (rows(&a), rows(&b));
    let (names, by) = ((a.name.as_str(), b.name.as_str()), by.unwrap_or(Step::Throttle));
    let told = compare(names, (&of_a, &of_b), &what, by, covariate, worth, confidence);
    let mut text = told.text();
    if said.values.get("tip_cut").and_then(Value::as_bool) == Some(true) {
        let group = |taken: &Taken| Group {
            name: taken.name.clone(),
            diameter: taken.drive.diameter,
            u_diameter: taken.drive_unsure.diameter,
            rows: taken.rows.clone(),
        };
        text.push_str(&scaling_text(&scaling(&[group(&a), group(&b)], &a.drive)));
    }
    Ok(Answer { text, values: values(&told), ..Answer::default() })
}

fn values(told: &Comparison) -> Map<String, Value> {
    let result = told.result().ok();
    let mut map = Map::new();
    let mut put = |key: &str, value: Value| map.insert(key.into(), value);
    put("between", json!([told.names.0, told.names.1]));
    put("of", json!(told.of.0));
    put("pairs", json!(told.pairs.len()));
    put("difference", json!(result.map(|p| p.difference)));
    put("standard_uncertainty", json!(result.map(|p| p.u)));
    put("interval", json!(result.map(|p| [p.interval.low, p.interval.high])));
    put("confidence", json!(told.confidence));
    put("settled", json!(result.map(|p| p.settled())));
    put("pairs_to_settle", json!(told.to_settle.as_ref().and_then(|n| n.as_ref().ok())));
    put("worth", json!(told.worth.0));
    put("pairs_for_what_is_worth", json!(told.worth.1.as_ref().and_then(|n| n.as_ref().ok())));
    map
}
