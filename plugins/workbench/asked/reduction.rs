//! What the readings say by themselves, step by step: always told.

use engine::analysis::Answer;
use engine::calibration::{Calibrated, Set};
use engine::diagnostic::Diagnostics;
use engine::inquiry::{Inquiry, Said};
use engine::text_table::{figure, paragraph, table};
use serde_json::{Map, Value, json};

use super::super::checks::{self, Verdict, checks};
use super::super::reduce::{BIAS, Reduced, Reduction, budget_table, reduce};
use super::mean::Mean;
use super::taken::{Taken, taken};
use crate::steady::tub;

/// The question.
pub const INQUIRY: Inquiry = Inquiry {
    name: "reduction",
    about: "pull, torque, powers, K_T and K_Q at each step, how they agree, and which limit holds",
    keys: &[],
    always: true,
    answer,
};

fn answer(found: &Calibrated, _: &Said) -> Result<Answer, Diagnostics> {
    let mut text =
        String::from("What the readings say by themselves, with the drive as it was known before\n");
    let (mut sets, mut notes): (Vec<Value>, Vec<String>) = Default::default();
    for set in found.problem.sets.iter().filter(|set| !set.in_time()) {
        let taken = match taken(found, set) {
            Ok(taken) => taken,
            // a pack or a bare shaft by itself has no pull to reduce
            Err(told) => {
                text.push_str(&format!("\n{}\n", set.name));
                text.push_str(&paragraph(&format!("Not reduced: {}.", told.in_short())));
                continue;
            }
        };
        let means: Vec<Mean> = taken.steps().iter().map(|step| Mean::of(&taken, step)).collect();
        let reduced: Vec<Reduction> =
            means.iter().map(|m| reduce(&m.row, &m.unsure, &taken.drive, &taken.drive_unsure)).collect();
        text.push_str(&format!("\n{}\n", taken.name));
        text.push_str(&steps(&means, &reduced));
        text.push_str(&agreement(&taken, &means));
        if let Some((label, pull)) = means.iter().rev().find_map(|m| Some((&m.label, m.pull.as_ref()?))) {
            text.push_str(&paragraph(&format!("Budget of the pull at {label}:")));
            text.push_str(&budget_table(pull, "N"));
        }
        for note in reduced.iter().flat_map(|r| &r.notes) {
            if !notes.contains(note) {
                notes.push(note.clone());
            }
        }
        let steps: Vec<Value> = means.iter().zip(&reduced).map(object).collect();
        sets.push(json!({"set": taken.name, "steps": steps}));
    }
    // a pack under load or a log from the water leaves nothing to reduce, and asks for no less care
    let on_the_way = match found.problem.sets.iter().any(Set::in_time) {
        true => (crate::verdict::REPORT.closing)(),
        false => String::new(),
    };
    if sets.is_empty() {
        let at_rest = found.problem.sets.iter().any(|set| !set.in_time());
        let closing = if at_rest { [tub::closing(), on_the_way].concat() } else { on_the_way };
        return Ok(Answer { closing, ..Answer::default() });
    }
    text.push('\n');
    for note in &notes {
        text.push_str(&paragraph(&format!("Note: {note}.")));
    }
    text.push_str(&paragraph(
        "Repeats are taken together: their scatter over √n beside what is told of a single reading, which is taken to be \
         common to all of them.",
    ));
    let closing = [paragraph(BIAS), tub::closing(), on_the_way].concat();
    let mut values = Map::new();
    values.insert("sets".into(), Value::Array(sets));
    Ok(Answer { text, values, closing, ..Answer::default() })
}

/// Two tables, each no wider than a page: what was read and what follows from it; what these say of propeller and drive.
fn steps(means: &[Mean], reduced: &[Reduction]) -> String {
    let with = |q: Option<&Reduced>, factor: f64| {
        let known = q.and_then(|q| Some((q.value()?, q.u()?)));
        known.map_or("-".into(), |(value, u)| beside(factor * value, factor * u))
    };
    let all = || means.iter().zip(reduced);
    let powers = all().map(|(m, r)| {
        let pull = m.row.thrust.zip(m.unsure.thrust);
        let binds: Vec<&str> = r.limits.iter().filter(|l| l.binds).map(|l| l.name).collect();
        [
            m.label.clone(),
            m.readings.to_string(),
            pull.map_or("-".into(), |(x, u)| beside(x, u)),
            with(r.get("electrical_power"), 1.0),
            with(r.get("shaft_torque"), 1.0),
            with(r.get("shaft_power"), 1.0),
            if binds.is_empty() { "-".into() } else { binds.join(",\n") },
        ]
    });
    let heads = ["step", "rows", "pull\nN", "from pack\nW", "torque\nN·m", "at shaft\nW", "at its limit"];
    let ratios = all().map(|(m, r)| {
        [
            m.label.clone(),
            with(r.get("thrust_coefficient"), 1.0),
            with(r.get("torque_coefficient"), 10.0),
            with(r.get("share_of_ideal_thrust"), 1.0),
            with(r.get("duty_by_currents"), 1.0),
            with(r.get("duty_by_speed"), 1.0),
        ]
    });
    let ratio_heads = ["step", "K_T", "10 K_Q", "T/T_ideal", "duty by\ncurrents", "duty by\nspeed"];
    [table(heads, powers), table(ratio_heads, ratios)].join("\n")
}

/// A value beside its uncertainty, both to the second digit of that.
fn beside(value: f64, u: f64) -> String {
    if u <= 0.0 || !u.is_finite() {
        return format!("{} ± 0", figure(value));
    }
    let digits = (1 - u.log10().floor() as i32).clamp(0, 6) as usize;
    format!("{value:.digits$} ± {u:.digits$}")
}

/// Checks that do not agree, in words; how many do.
fn agreement(taken: &Taken, means: &[Mean]) -> String {
    let (mut out, mut agree, mut told) = (String::new(), 0, 0);
    for m in means {
        let all = checks(&m.row, &m.unsure, &taken.drive, &taken.drive_unsure);
        agree += all.iter().filter(|c| c.verdict == Verdict::Agrees).count();
        told += all.iter().filter(|c| c.verdict != Verdict::NotTold).count();
        if all.iter().any(|c| matches!(c.verdict, Verdict::Suspicious | Verdict::Odd)) {
            out.push_str(&paragraph(&format!("At {}, repeats taken together:", m.label)));
            out.push_str(&checks::text(m.row.line, &all));
        }
    }
    out.push_str(&paragraph(&match told {
        0 => "These columns allow no check of readings against each other.".into(),
        _ => format!("{agree} of {told} checks of these readings against each other agree."),
    }));
    out
}

fn object((m, r): (&Mean, &Reduction)) -> Value {
    let quantity = |q: &Reduced| match &q.result {
        Ok(b) => json!({"value": b.value, "standard_uncertainty": b.u, "unit": q.unit}),
        Err(why) => json!({"missing": why}),
    };
    let quantities: Map<String, Value> =
        r.quantities.iter().map(|q| (q.name.to_string(), quantity(q))).collect();
    let limit = |l: &super::super::reduce::Limit| json!({"limit": l.name, "margin": l.margin.value(), "binds": l.binds});
    let limits: Vec<Value> = r.limits.iter().map(limit).collect();
    json!({"step": m.label, "rows": m.readings, "throttle": m.row.throttle, "pull_N": m.row.thrust,
           "pull_standard_uncertainty_N": m.unsure.thrust, "quantities": quantities, "limits": limits})
}
