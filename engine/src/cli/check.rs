//! `check`: every scenario under a folder, in parallel.

use std::path::{Path, PathBuf};

use rayon::prelude::*;

use super::output::Output;
use super::run::{ending, failure};
use super::{Ending, root_of};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::scenario::{Catalogue, rehearse};

/// Folders whose scripts are modules for others, not scenarios.
const MODULES: &str = "modules";

pub(super) fn check(
    catalogue: &Catalogue,
    folder: &Path,
    output: &mut Output,
) -> Result<Ending, Diagnostics> {
    let name = folder.display();
    match folder.metadata() {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            return Err(Diagnostic::error(format!("there is no folder {name}")).into());
        }
        Ok(about) if !about.is_dir() => {
            let error = Diagnostic::error(format!("{name} is not a folder"));
            return Err(error.help("`run` runs a single scenario").into());
        }
        _ => {}
    }
    let root = root_of(folder)?;
    let mut scripts = Vec::new();
    collect(folder, &mut scripts)?;
    scripts.sort();
    if scripts.is_empty() {
        let error = Diagnostic::error(format!("there is no scenario in {name}"));
        return Err(error.help("scenarios are files that end in .rhai").into());
    }
    // each scenario has a script engine of its own; results come back in the order of names
    let results: Vec<_> = scripts.par_iter().map(|script| tell(catalogue, script, &root)).collect();
    let mut worst = Ending::Well;
    let mut bad = Diagnostics::new();
    let (mut held, mut failed) = (0, 0);
    for (script, result) in scripts.iter().zip(results) {
        match result {
            Ok(Told { ending, text }) => {
                worst = worst.max(ending);
                held += usize::from(ending == Ending::Well);
                failed += usize::from(ending != Ending::Well);
                output.text(&text)?;
            }
            Err(told) => {
                output.text(&format!("{}: cannot be run", script.display()))?;
                bad.extend(told);
            }
        }
    }
    let broken = scripts.len() - held - failed;
    let unusable = if broken == 0 { String::new() } else { format!(", {broken} cannot be run") };
    output.text(&format!("{held} scenarios hold, {failed} do not{unusable}"))?;
    bad.or(worst)
}

struct Told {
    ending: Ending,
    text: String,
}

fn tell(catalogue: &Catalogue, script: &Path, root: &Path) -> Result<Told, Diagnostics> {
    let outcome = rehearse(script, root, catalogue)?;
    let ending = ending(&outcome);
    let expectations = outcome.checks.len();
    let name = script.display();
    let mut text = match ending {
        Ending::Well if outcome.rehearsed.is_some() => {
            format!("{name}: a study; its first and last point can be tried (`sweep` runs it)\n")
        }
        Ending::Well if expectations == 0 => format!("{name}: ran; it states no expectations\n"),
        Ending::Well => format!("{name}: all {expectations} expectations hold\n"),
        Ending::ExpectationFailed => {
            format!("{name}: {} of {expectations} expectations do not hold\n", outcome.failures().count())
        }
        Ending::BrokeOff | Ending::Again => {
            let why = outcome.trials.iter().find_map(|j| j.trial.error.as_ref()).map(ToString::to_string);
            match why {
                Some(why) => format!("{name}: a run broke off: {why}\n"),
                None => format!("{name}: a fit came to no end\n"),
            }
        }
    };
    for check in outcome.failures() {
        text.push_str(&format!("  {}\n", failure(check)));
    }
    Ok(Told { ending, text })
}

fn collect(folder: &Path, scripts: &mut Vec<PathBuf>) -> Result<(), Diagnostics> {
    let refuse = |error: std::io::Error| {
        Diagnostics::from(Diagnostic::error(format!("{}: {error}", folder.display())))
    };
    for entry in std::fs::read_dir(folder).map_err(refuse)? {
        let entry = entry.map_err(refuse)?;
        let path = entry.path();
        // links to folders are not followed: they may lead in circles
        if entry.file_type().map_err(refuse)?.is_dir() {
            if path.file_name().is_none_or(|name| name != MODULES) {
                collect(&path, scripts)?;
            }
        } else if !path.is_dir() && path.extension().is_some_and(|e| e == "rhai") {
            scripts.push(path);
        }
    }
    Ok(())
}
