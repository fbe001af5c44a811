//! `run`: one scenario.

use std::path::Path;

use super::output::{Output, whole_file};
use super::{Ending, document, root_of, trace};
use crate::diagnostic::Diagnostics;
use crate::run::RunError;
use crate::scenario::{Catalogue, Check, Outcome, perform};

pub(super) fn run(
    catalogue: &Catalogue,
    scenario: &Path,
    json: bool,
    trace_file: Option<&Path>,
    output: &mut Output,
) -> Result<Ending, Diagnostics> {
    let root = root_of(scenario)?;
    let outcome = perform(scenario, &root, catalogue)?;
    for line in &outcome.prints {
        eprintln!("{line}");
    }
    if let Some(file) = trace_file {
        for (i, judged) in outcome.trials.iter().enumerate() {
            let file = trace::numbered(file, i);
            whole_file(&file, &trace::table(&judged.trial, catalogue)?)?;
            let sidecar = document::origin(catalogue, scenario, &outcome, Some(&judged.trial));
            whole_file(&trace::sidecar(&file), document::pretty(&sidecar).as_bytes())?;
        }
    }
    if json {
        output.text(&document::pretty(&document::outcome(catalogue, scenario, &outcome)))?;
    } else {
        output.text(&told(&outcome))?;
    }
    Ok(ending(&outcome))
}

/// How a scenario ended.
pub(super) fn ending(outcome: &Outcome) -> Ending {
    let broke_off = outcome
        .trials
        .iter()
        .any(|j| matches!(&j.trial.error, Some(e) if !matches!(e, RunError::NoEquilibrium { .. })));
    if broke_off {
        Ending::BrokeOff
    } else if outcome.failures().next().is_some() {
        Ending::ExpectationFailed
    } else {
        Ending::Well
    }
}

fn told(outcome: &Outcome) -> String {
    let mut text = String::new();
    for line in [&outcome.title, &outcome.purpose].into_iter().filter(|line| !line.is_empty()) {
        text.push_str(line);
        text.push('\n');
    }
    for judged in &outcome.trials {
        text.push_str(&format!("\n{}\n", judged.findings.text.trim_end()));
    }
    if !outcome.checks.is_empty() {
        let failed = outcome.failures().count();
        text.push_str(&format!("\nExpectations: {} hold, {failed} do not\n", outcome.checks.len() - failed));
        for check in outcome.failures() {
            text.push_str(&format!("  {}\n", failure(check)));
        }
    }
    text
}

/// An expectation that does not hold, on one line.
pub(super) fn failure(check: &Check) -> String {
    let line = check.line.map_or(String::new(), |line| format!("line {line}: "));
    let off = check.off_by.map_or(String::new(), |by| format!(", off by {by:.4}"));
    format!("{line}{}: expected {}, found {}{off}", check.label, check.expected, check.found)
}
