//! `check`: every scenario under a folder, in parallel.

use std::path::{Path, PathBuf};

use rayon::prelude::*;

use super::output::Output;
use super::run::{ending, failure};
use super::{Ending, root_of};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::scenario::{Catalogue, perform};

/// Folders whose scripts are modules for others, not scenarios.
const MODULES: &str = "modules";

pub(super) fn check(
    catalogue: &Catalogue,
    folder: &Path,
    output: &mut Output,
) -> Result<Ending, Diagnostics> {
    let root = root_of(folder)?;
    let mut scripts = Vec::new();
    collect(folder, &mut scripts)?;
    scripts.sort();
    if scripts.is_empty() {
        let error = Diagnostic::error(format!("there is no scenario in {}", folder.display()));
        return Err(error.help("scenarios are files that end in .rhai").into());
    }
    // each scenario has a script engine of its own; results come back in the order of names
    let results: Vec<_> = scripts.par_iter().map(|script| tell(catalogue, script, &root)).collect();
    let mut worst = Ending::Well;
    let mut bad = Diagnostics::new();
    let (mut held, mut failed) = (0, 0);
    for result in results {
        match result {
            Ok(Told { ending, text, expectations }) => {
                worst = worst.max(ending);
                held += usize::from(ending == Ending::Well);
                failed += usize::from(ending != Ending::Well);
                let _ = expectations;
                output.text(&text)?;
            }
            Err(told) => bad.extend(told),
        }
    }
    let unusable = if bad.is_empty() { String::new() } else { ", and some could not be used".into() };
    output.text(&format!("{held} scenarios hold, {failed} do not{unusable}"))?;
    bad.or(worst)
}

struct Told {
    ending: Ending,
    text: String,
    expectations: usize,
}

fn tell(catalogue: &Catalogue, script: &Path, root: &Path) -> Result<Told, Diagnostics> {
    let outcome = perform(script, root, catalogue)?;
    let ending = ending(&outcome);
    let expectations = outcome.checks.len();
    let name = script.display();
    let mut text = match ending {
        Ending::Well if expectations == 0 => format!("{name}: ran; it states no expectations\n"),
        Ending::Well => format!("{name}: all {expectations} expectations hold\n"),
        Ending::ExpectationFailed => {
            format!("{name}: {} of {expectations} expectations do not hold\n", outcome.failures().count())
        }
        Ending::BrokeOff => {
            let why = outcome.trials.iter().find_map(|j| j.trial.error.as_ref()).map(ToString::to_string);
            format!("{name}: a run broke off: {}\n", why.unwrap_or_default())
        }
    };
    for check in outcome.failures() {
        text.push_str(&format!("  {}\n", failure(check)));
    }
    Ok(Told { ending, text, expectations })
}

fn collect(folder: &Path, scripts: &mut Vec<PathBuf>) -> Result<(), Diagnostics> {
    let refuse = |error: std::io::Error| {
        Diagnostics::from(Diagnostic::error(format!("{}: {error}", folder.display())))
    };
    for entry in std::fs::read_dir(folder).map_err(refuse)? {
        let path = entry.map_err(refuse)?.path();
        if path.is_dir() {
            if path.file_name().is_none_or(|name| name != MODULES) {
                collect(&path, scripts)?;
            }
        } else if path.extension().is_some_and(|e| e == "rhai") {
            scripts.push(path);
        }
    }
    Ok(())
}
