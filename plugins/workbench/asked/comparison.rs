//! Is A better than B?

use engine::analysis::Answer;
use engine::calibration::Calibrated;
use engine::diagnostic::{Diagnostic, Diagnostics, suggest};
use engine::inquiry::{Inquiry, Said};
use engine::text_table::{paragraph, table};
use engine::units::FRACTION;
use serde_json::{Map, Value, json};

use super::super::checks::{Expected, Group, Scaling, Verdict, scaling, scaling_text};
use super::super::compare::{
    BATTERY_CURRENT, Compared, Comparison, Covariate, PULL, PULL_PER_WATT, Step, compare,
};
use super::super::reduce::BIAS;
use super::super::{Row, Unsure};
use super::taken::{Step as Taking, Taken, taken};
use super::{key, required};

/// The question.
pub const INQUIRY: Inquiry = Inquiry {
    name: "compare",
    about: "is A better than B: paired difference, confidence, repeats that would settle it",
    keys: &[
        required("between", "two names of readings, such as [\"A\", \"B\"]"),
        key("of", "\"pull\", \"pull per battery power\" or \"battery current\""),
        key("throttle", "at which step; the widest both have if left out"),
        key("by", "pairs at equal \"throttle\" or \"motor current\""),
        key("drift_with", "\"time\", \"charge\" or \"temperature\""),
        key("worth", "smallest difference worth having, a share"),
        key("confidence", "of the interval"),
        key("tip_cut", "\"yes\" if the smaller is the larger with its tips turned off"),
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
    let same_file = found.set(a)?.file == found.set(b)?.file;
    let (a, b) = (taken(found, found.set(a)?)?, taken(found, found.set(b)?)?);
    let what = [PULL, PULL_PER_WATT, BATTERY_CURRENT].map(|compared| (compared.name, compared));
    let what = word(said, "of", &what)?.unwrap_or(PULL);
    let by = word(said, "by", &[("throttle", Step::Throttle), ("motor current", Step::MotorCurrent)])?;
    let covariates =
        [("time", Covariate::Time), ("charge", Covariate::Charge), ("temperature", Covariate::Temperature)];
    let covariate = word(said, "drift_with", &covariates)?;
    if a.name == b.name {
        let error = Diagnostic::error("`between` needs two names of readings that are not the same");
        return Err(error.found(format!("\"{}\" twice", a.name)).into());
    }
    let worth = said.number("worth", FRACTION)?.unwrap_or(0.03);
    let confidence = said.number("confidence", FRACTION)?.unwrap_or(0.95);
    let share = 1e-6..=0.999_999;
    if !(share.contains(&worth) && share.contains(&confidence)) {
        let error = Diagnostic::error("`worth` and `confidence` are shares between 0 and 1");
        return Err(error.found(format!("{worth} and {confidence}")).into());
    }
    let worth = Worth { what, by: by.unwrap_or(Step::Throttle), covariate, worth, confidence };
    let names = (a.name.as_str(), b.name.as_str());
    let asked = said.number("throttle", FRACTION)?;
    let near = |step: &Taking| asked.is_none_or(|t| step.throttle.is_some_and(|x| (x - t).abs() < 1e-3));
    let (mut each, mut chosen): (Vec<(String, Comparison)>, Option<usize>) = Default::default();
    let steps_of_b = b.steps();
    for of_a in a.steps() {
        let Some(of_b) = steps_of_b.iter().find(|other| other.label == of_a.label) else { continue };
        // the widest step is what a take-off is made with
        chosen = if near(&of_a) { Some(each.len()) } else { chosen };
        let mut told = worth.compare(names, &of_a.rows, &of_b.rows);
        told.in_blocks = same_file && in_blocks(&told);
        each.push((of_a.label, told));
    }
    let Some((label, told)) = chosen.and_then(|place| each.get(place)) else {
        let error =
            Diagnostic::error(format!("\"{}\" and \"{}\" have no such step in common", names.0, names.1));
        let steps =
            |taken: &Taken| taken.steps().into_iter().map(|step| step.label).collect::<Vec<_>>().join(", ");
        return Err(error.found(format!("{} and {}", steps(&a), steps(&b))).into());
    };
    let mut text = told.text().replacen('\n', &format!(" at {label}\n"), 1);
    text.push_str(&step_by_step(&each));
    let mut cut_tips: Vec<Value> = Vec::new();
    if word(said, "tip_cut", &[("yes", true), ("no", false)])? == Some(true) {
        let group = |taken: &Taken| Group {
            name: taken.name.clone(),
            diameter: taken.drive.diameter,
            u_diameter: taken.drive_unsure.of(|shift| shift.diameter),
            rows: taken.rows.clone(),
        };
        let expected = |large: &Group, small: &Group| {
            let craft = if large.name == a.name { &a.craft } else { &b.craft };
            Expected::of(craft, found.problem.kinds, small.diameter)
        };
        let found = scaling(&[group(&a), group(&b)], &a.drive, expected);
        text.push_str(&scaling_text(&found));
        cut_tips = found.iter().map(cut_tip).collect();
    }
    let mut values = values(told);
    values.insert("step".into(), json!(label));
    let step = |(label, told): &(String, Comparison)| {
        let mut map = self::values(told);
        map.insert("step".into(), json!(label));
        Value::Object(map)
    };
    values.insert("steps".into(), each.iter().map(step).collect());
    if !cut_tips.is_empty() {
        values.insert("tip_cut".into(), Value::Array(cut_tips));
    }
    Ok(Answer { text, values, closing: paragraph(BIAS), ..Answer::default() })
}

/// How thrust or torque went with the diameter.
fn cut_tip(scaling: &Scaling) -> Value {
    let verdict = match scaling.verdict {
        Verdict::Agrees => "agrees",
        Verdict::Suspicious => "suspicious",
        Verdict::Odd => "odd",
        Verdict::NotTold => "not told",
    };
    let exponent = scaling.exponent.as_ref().ok();
    json!({"of": scaling.what, "exponent": exponent.map(|e| e.0), "standard_uncertainty": exponent.map(|e| e.1),
           "expected": scaling.expected.0, "expected_standard_uncertainty": scaling.expected.1, "verdict": verdict})
}

/// What is compared, how it is paired, and what would be worth having.
struct Worth {
    what: Compared,
    by: Step,
    covariate: Option<Covariate>,
    worth: f64,
    confidence: f64,
}

impl Worth {
    fn compare(&self, names: (&str, &str), a: &[(Row, Unsure)], b: &[(Row, Unsure)]) -> Comparison {
        let rows = |all: &[(Row, Unsure)]| all.iter().map(|(row, _)| *row).collect::<Vec<Row>>();
        let (of_a, of_b) = (rows(a), rows(b));
        let found =
            compare(names, (&of_a, &of_b), &self.what, self.by, self.covariate, self.worth, self.confidence);
        found.at_least(self.told(a).hypot(self.told(b)))
    }

    /// What is told of single readings, as a share: the root mean square over the rows.
    fn told(&self, rows: &[(Row, Unsure)]) -> f64 {
        let squares: f64 = rows.iter().map(|(row, unsure)| (self.what.told)(row, unsure).powi(2)).sum();
        (squares / rows.len().max(1) as f64).sqrt()
    }
}

/// Whether the lines of one all come before those of the other, where each has two or more.
fn in_blocks(told: &Comparison) -> bool {
    let range = |lines: Vec<usize>| Some((*lines.iter().min()?, *lines.iter().max()?));
    let a = range(told.pairs.iter().map(|pair| pair.lines.0).collect());
    let b = range(told.pairs.iter().map(|pair| pair.lines.1).collect());
    matches!((a, b), (Some(a), Some(b)) if told.pairs.len() > 1 && (a.1 < b.0 || b.1 < a.0))
}

/// Every step by itself: a difference at one need not be there at another.
fn step_by_step(each: &[(String, Comparison)]) -> String {
    let percent = |x: f64| format!("{:+.1}", 100.0 * x);
    let row = |(label, told): &(String, Comparison)| match told.result() {
        Ok(p) => [
            label.clone(),
            told.pairs.len().to_string(),
            percent(p.difference),
            format!("{} to {}", percent(p.interval.low), percent(p.interval.high)),
            if told.settled() { "settled".into() } else { "not settled".into() },
        ],
        Err(why) => [label.clone(), told.pairs.len().to_string(), "-".into(), "-".into(), why.to_string()],
    };
    let heads = ["step", "pairs", "difference\n% of mean", "interval\n%", ""];
    let mut out = table(heads, each.iter().map(row));
    let sides: Vec<bool> = each
        .iter()
        .filter(|(_, c)| c.settled())
        .filter_map(|(_, c)| c.result().ok())
        .map(|p| p.difference > 0.0)
        .collect();
    if sides.contains(&true) && sides.contains(&false) {
        out.push_str(&paragraph(
            "Which is the better changes with the step: ask at the step the drive is used at, and mind that the best at rest \
             need not be the best over the hump.",
        ));
    }
    if each.len() > 1 {
        out.push_str(&paragraph(&format!(
            "{} intervals at once: by chance one of them leaves out the truth more often than one alone.",
            each.len()
        )));
    }
    out
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
    put("settled", json!(result.map(|_| told.settled())));
    put("read_in_blocks", json!(told.in_blocks));
    put("pairs_to_settle", json!(told.to_settle.as_ref().and_then(|n| n.as_ref().ok())));
    put("worth", json!(told.worth.0));
    put("pairs_for_what_is_worth", json!(told.worth.1.as_ref().and_then(|n| n.as_ref().ok())));
    map
}
