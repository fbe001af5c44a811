//! `run`: one scenario.

use std::path::{Path, PathBuf};

use super::output::{Output, aside, whole_files, writable};
use super::{Ending, document, root_of, trace};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::run::RunError;
use crate::scenario::{Catalogue, Check, Outcome, perform};
use crate::sweep::sidecar_of;

pub(super) fn run(
    catalogue: &Catalogue,
    scenario: &Path,
    json: bool,
    trace_file: Option<&Path>,
    output: &mut Output,
) -> Result<Ending, Diagnostics> {
    if let Some(file) = trace_file {
        writable(file)?;
        writable(&sidecar_of(file))?;
    }
    let root = root_of(scenario)?;
    let outcome = perform(scenario, &root, catalogue)?;
    aside(&outcome.prints);
    if let Some(file) = trace_file {
        if outcome.trials.is_empty() {
            let error = Diagnostic::error(format!("there is no trial to write to {}", file.display()));
            return Err(error.help("a scenario runs one with `trial(…).run()`").into());
        }
        let mut files = Vec::new();
        for (i, judged) in outcome.trials.iter().enumerate() {
            let file = trace::numbered(file, i);
            let sidecar = document::origin(catalogue, scenario, &outcome, Some(&judged.trial));
            files.push((sidecar_of(&file), document::pretty(&sidecar).into_bytes()));
            files.push((file, trace::table(&judged.trial, catalogue)?));
        }
        not_an_input(&files, &outcome, &root)?;
        whole_files(&files)?;
    }
    if json {
        output.text(&document::pretty(&document::outcome(catalogue, scenario, &outcome)))?;
    } else {
        output.text(&told(&outcome))?;
    }
    Ok(ending(&outcome))
}

/// A result must not take the place of what it came from.
pub(super) fn not_an_input(
    files: &[(PathBuf, Vec<u8>)],
    outcome: &Outcome,
    root: &Path,
) -> Result<(), Diagnostics> {
    let inputs: Vec<PathBuf> =
        outcome.inputs.keys().filter_map(|name| root.join(name).canonicalize().ok()).collect();
    match files.iter().find(|(path, _)| path.canonicalize().is_ok_and(|path| inputs.contains(&path))) {
        Some((path, _)) => {
            let error = Diagnostic::error(format!("{} is read by this scenario", path.display()));
            Err(error.help("write to another file").into())
        }
        None => Ok(()),
    }
}

/// How a scenario ended.
pub(super) fn ending(outcome: &Outcome) -> Ending {
    let broke_off = outcome
        .trials
        .iter()
        .any(|j| matches!(&j.trial.error, Some(e) if !matches!(e, RunError::NoEquilibrium { .. })));
    let unfinished = outcome.fits.iter().any(|fitting| fitting.found.fitted.unfinished.is_some());
    if broke_off || unfinished {
        Ending::BrokeOff
    } else if outcome.failures().next().is_some() {
        Ending::ExpectationFailed
    } else {
        Ending::Well
    }
}

/// Paragraphs of a text: each begins with two blanks, and goes on with more of them.
fn paragraphs(text: &str) -> Vec<&str> {
    let mut all = Vec::new();
    let mut rest = text.trim_end();
    while !rest.is_empty() {
        let begins =
            |at: &(usize, &str)| rest[at.0 + 1..].starts_with("  ") && !rest[at.0 + 1..].starts_with("   ");
        let end = rest.match_indices('\n').find(begins).map_or(rest.len(), |(at, _)| at);
        all.push(rest[..end].trim_end());
        rest = rest[end..].trim_start_matches('\n');
    }
    all
}

pub(super) fn told(outcome: &Outcome) -> String {
    let mut text = String::new();
    for line in [&outcome.title, &outcome.purpose].into_iter().filter(|line| !line.is_empty()) {
        text.push_str(line);
        text.push('\n');
    }
    if outcome.trials.is_empty() && outcome.fits.is_empty() {
        text.push_str("No trial was run: a scenario runs one with `trial(…).run()`.\n");
    }
    for fitting in &outcome.fits {
        text.push_str(&format!("\n{}\n", fitting.found.text(&fitting.title).trim_end()));
        for (_, answer) in fitting.asked.iter().filter(|(_, answer)| !answer.text.is_empty()) {
            text.push_str(&format!("\n{}\n", answer.text.trim_end()));
        }
    }
    for judged in &outcome.trials {
        text.push_str(&format!("\n{}\n", judged.findings.text.trim_end()));
    }
    // the same for every trial, as a rule: told once
    let mut closings: Vec<&str> = Vec::new();
    let of_fits = outcome.fits.iter().flat_map(|fitting| &fitting.asked).map(|(_, answer)| &answer.closing);
    let all = of_fits.chain(outcome.trials.iter().map(|judged| &judged.findings.closing));
    for closing in all.flat_map(|closing| paragraphs(closing)) {
        if !closings.contains(&closing) {
            closings.push(closing);
        }
    }
    for closing in closings {
        text.push_str(&format!("\n{closing}\n"));
    }
    text.push_str(&expectations(outcome));
    text
}

/// How many expectations hold, and which do not; nothing where none are stated.
pub(super) fn expectations(outcome: &Outcome) -> String {
    if outcome.checks.is_empty() {
        return String::new();
    }
    let failed = outcome.failures().count();
    let mut text = format!("\nExpectations: {} hold, {failed} do not\n", outcome.checks.len() - failed);
    for check in outcome.failures() {
        text.push_str(&format!("  {}\n", failure(check)));
    }
    text
}

/// An expectation that does not hold, on one line.
pub(super) fn failure(check: &Check) -> String {
    let line = check.line.map_or(String::new(), |line| format!(":{line}"));
    let off = check.off_by.map_or(String::new(), |by| format!(", off by {by:.4}"));
    format!("{}{line}: {}: expected {}, found {}{off}", check.file, check.label, check.expected, check.found)
}
