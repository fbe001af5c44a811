//! Scenarios: Rhai scripts that read like a test plan. A script loads a setup,
//! changes single values, prescribes inputs over time and on conditions, runs
//! trials, and says what must hold of the results.
//!
//! The script never runs inside the integration: it describes, the engine
//! integrates, and script code is called only where a condition has paused a run.

mod api;
mod calibration;
mod caller;
mod course;
mod craft;
mod expect;
mod host;
mod panics;
mod paths;
mod point;
mod prepare;
mod spread;
mod stage;
mod study;
mod told;
mod trial;
mod values;

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::sync::Arc;

use serde_json::{Map, Value};
use sha2::{Digest, Sha256};

use crate::analysis::{Analysis, Answer};
use crate::calibration::{Calibrated, Practice};
use crate::diagnostic::{Diagnostic, Diagnostics, Place};
use crate::part::PartKind;
use crate::run::{Run, RunError};
use crate::setup::files;
use crate::study::{Frame, Report};

pub use expect::Check;
pub(crate) use point::cell as table_cell;
pub use stage::Conduct;
use stage::Stage;

/// A finished trial, as the judge sees it.
pub struct Finished {
    /// Title of the trial.
    pub title: String,
    /// Title of the setup.
    pub setup_title: String,
    /// The run with all it has recorded.
    pub run: Run,
    /// Longest duration the script allowed, s.
    pub duration: f64,
    /// Why the run broke off, if it did.
    pub error: Option<RunError>,
    /// Values outside their usual range in the setup.
    pub setup_warnings: Vec<String>,
    /// Quantities to be written to a trace.
    pub record: Vec<String>,
    /// Time between rows of a trace, s.
    pub interval: f64,
    /// SHA-256 of everything the setup was read from.
    pub setup_hash: String,
}

/// What the judge says of a trial.
#[derive(Debug, Clone, Default)]
pub struct Findings {
    /// Named results, in order; also what a script can ask for.
    pub values: Map<String, Value>,
    /// The verdict, for a person.
    pub text: String,
    /// What is said once at the end, however many trials there are.
    pub closing: String,
}

/// What the engine is told about the trade it serves.
#[derive(Clone, Copy)]
pub struct Catalogue {
    /// Name of the command.
    pub name: &'static str,
    /// One line on what it does.
    pub about: &'static str,
    /// Parts a setup may hold.
    pub parts: &'static [PartKind],
    /// Turns a finished run into findings.
    pub judge: fn(&Finished) -> Findings,
    /// Version of the keys the judge uses in its findings.
    pub findings_version: u32,
    /// Quantities of a trace where the script chooses none: kind names.
    pub trace: &'static [&'static str],
    /// What a study reports of its trials.
    pub report: Report,
    /// Questions about a setup that are answered without a scenario.
    pub analyses: &'static [Analysis],
    /// How readings are taken, and what is asked of them.
    pub practice: Practice,
}

/// A trial with its findings.
pub struct Judged {
    /// The trial.
    pub trial: Finished,
    /// What came out.
    pub findings: Findings,
}

/// A fit that a script has done, and what it asked of it.
pub struct Fitting {
    /// Title of the fit.
    pub title: String,
    /// What was found.
    pub found: Calibrated,
    /// Answers to what was asked, by the name of the question.
    pub asked: Vec<(&'static str, Answer)>,
    /// Names of those among them that nobody asked for.
    pub unasked: Vec<&'static str>,
}

/// All that a script has done.
#[derive(Default)]
pub struct Outcome {
    /// Title given in the script.
    pub title: String,
    /// Purpose given in the script.
    pub purpose: String,
    /// Seed given in the script.
    pub seed: u64,
    /// Trials in the order they were run.
    pub trials: Vec<Judged>,
    /// Expectations in the order they were stated.
    pub checks: Vec<Check>,
    /// Every file read, with its SHA-256.
    pub inputs: BTreeMap<String, String>,
    /// What the script printed.
    pub prints: Vec<String>,
    /// What came out of the script's study, if it has one that was conducted.
    pub study: Option<Map<String, Value>>,
    /// Its fits, in the order they were done.
    pub fits: Vec<Fitting>,
    /// Points of its study that were tried, where no more was wanted.
    pub rehearsed: Option<u64>,
}

impl Outcome {
    /// Expectations that do not hold.
    pub fn failures(&self) -> impl Iterator<Item = &Check> {
        self.checks.iter().filter(|c| !c.holds)
    }
}

/// What a script's functions share while it runs.
pub(crate) struct Session {
    pub catalogue: Catalogue,
    pub root: PathBuf,
    pub script: PathBuf,
    pub outcome: Outcome,
    /// Texts of the script and its modules, by the names in messages.
    pub texts: BTreeMap<String, Arc<str>>,
    /// Modules being imported, outermost first.
    pub importing: Vec<String>,
    /// Where the script changed a setup, by the name the setup has for it.
    pub changes: BTreeMap<String, Place>,
    /// Operations taken outside the script language.
    pub effort: u64,
    /// What the script is run for.
    pub stage: Stage,
    /// The script's study, once it is to be run.
    study: Option<study::Study>,
    /// The script was stopped because all that was wanted of it is done.
    pub ended: bool,
}

pub(crate) type Shared = Rc<RefCell<Session>>;

/// Runs a scenario. No file outside `root` is read.
///
/// # Errors
/// Everything wrong with the script or with a setup it loads. An expectation
/// that does not hold is no error; neither is a run that breaks off. A study is refused.
pub fn perform(script: &Path, root: &Path, catalogue: &Catalogue) -> Result<Outcome, Diagnostics> {
    staged(script, root, catalogue, Stage::Trials)
}

/// Runs a scenario; of a study only the first and the last point, where the script then ends.
///
/// # Errors
/// As [`perform`], and where neither point can be tried.
pub fn rehearse(script: &Path, root: &Path, catalogue: &Catalogue) -> Result<Outcome, Diagnostics> {
    staged(script, root, catalogue, Stage::Rehearsal)
}

/// Runs a scenario whose study is conducted by `conductor`.
///
/// # Errors
/// As [`perform`], and what the conductor says.
pub fn lead(
    script: &Path,
    root: &Path,
    catalogue: &Catalogue,
    conductor: Rc<dyn Conduct>,
) -> Result<Outcome, Diagnostics> {
    staged(script, root, catalogue, Stage::Lead(conductor))
}

/// Runs a scenario up to its study and hands a function to `serve` that makes a row of
/// the study's table from its number.
///
/// # Errors
/// As [`perform`].
pub fn work(
    script: &Path,
    root: &Path,
    catalogue: &Catalogue,
    frame: &Frame,
    serve: impl FnOnce(&mut dyn FnMut(u64) -> Vec<u8>),
) -> Result<(), Diagnostics> {
    let (session, text) = opened(script, root, catalogue, Stage::Work)?;
    host::work(&text, &session, frame, serve)
}

/// A table of headings and values as CSV.
pub(crate) fn table(headings: &[String], rows: &[Vec<Value>]) -> Vec<u8> {
    let mut bytes = table_row(headings);
    for row in rows {
        bytes.extend(table_row(&row.iter().map(table_cell).collect::<Vec<_>>()));
    }
    bytes
}

/// A line of a study's table.
pub(crate) fn table_row(cells: &[String]) -> Vec<u8> {
    let cells: Vec<String> = cells.iter().map(|cell| point::safe(cell)).collect();
    point::record_bytes(&cells)
}

fn staged(script: &Path, root: &Path, catalogue: &Catalogue, stage: Stage) -> Result<Outcome, Diagnostics> {
    let (session, text) = opened(script, root, catalogue, stage)?;
    host::run(&text, &session)?;
    // a study's trials know the session they belong to: the ring is cut here
    session.borrow_mut().study = None;
    // taken out, not unwrapped: a script may hold its trials in a ring
    let outcome = std::mem::take(&mut session.borrow_mut().outcome);
    Ok(outcome)
}

fn opened(
    script: &Path,
    root: &Path,
    catalogue: &Catalogue,
    stage: Stage,
) -> Result<(Shared, String), Diagnostics> {
    let name = script.display().to_string();
    if files::inside(root, script).is_err() {
        let error = Diagnostic::error(format!("\"{name}\" is outside the project folder {}", root.display()));
        return Err(error.into());
    }
    let text = files::read(script)?;
    let mut session = Session {
        catalogue: *catalogue,
        root: root.to_path_buf(),
        script: script.to_path_buf(),
        outcome: Outcome::default(),
        texts: BTreeMap::new(),
        importing: Vec::new(),
        changes: BTreeMap::new(),
        effort: 0,
        stage,
        study: None,
        ended: false,
    };
    session.note_input(script, text.as_bytes());
    Ok((Rc::new(RefCell::new(session)), text.to_string()))
}

impl Session {
    /// Counts work that the script language does not see.
    pub fn charge(&mut self, operations: u64) -> Result<(), Diagnostics> {
        self.effort += operations;
        if self.effort > host::OPERATIONS { Err(told::endless().into()) } else { Ok(()) }
    }

    /// Keeps the hash of a file that was read.
    pub fn note_input(&mut self, path: &Path, bytes: &[u8]) {
        let name = path.strip_prefix(&self.root).unwrap_or(path).display().to_string();
        let hash = format!("{:x}", Sha256::digest(bytes));
        self.outcome.inputs.insert(name, hash);
    }
}

#[cfg(test)]
mod study_tests;
#[cfg(test)]
mod tests;
