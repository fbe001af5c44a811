//! `sweep`: a study to a table. `merge`: a table from its parts.

use std::cell::RefCell;
use std::path::{Path, PathBuf};
use std::rc::Rc;

use serde_json::{Map, Value, json};

use super::output::{Output, aside, complain, writable};
use super::run::{ending, expectations};
use super::{Ending, document, root_of};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::scenario::{Catalogue, Conduct, lead, table_row, work};
use crate::study::{Frame, Heading, Summary};
use crate::sweep::{self, Desk, Order, Part, Stop, SweepError};

/// Most threads that may be asked for.
const THREADS: usize = 1024;

/// What the command line says of a sweep.
pub(super) struct Wanted {
    pub out: Option<PathBuf>,
    pub threads: Option<usize>,
    pub resume: bool,
    pub part: Option<String>,
    pub json: bool,
}

pub(super) fn sweep(
    catalogue: &Catalogue,
    scenario: &Path,
    wanted: &Wanted,
    output: &mut Output,
) -> Result<Ending, Diagnostics> {
    let part: Option<Part> = match wanted.part.as_deref().map(str::parse) {
        Some(Ok(part)) => Some(part),
        Some(Err(error)) => {
            let error: sweep::PartError = error;
            return Err(Diagnostic::error(format!("--part: {error}")).into());
        }
        None => None,
    };
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let threads = wanted.threads.unwrap_or(cores);
    if !(1..=THREADS).contains(&threads) {
        return Err(Diagnostic::error(format!("--threads is from 1 to {THREADS}, not {threads}")).into());
    }
    let out = wanted.out.clone().unwrap_or_else(|| default_out(scenario, part));
    writable(&out)?;
    let stop = Stop::on_ctrl_c()
        .map_err(|error| Diagnostic::error(format!("Ctrl-C cannot be listened to: {error}")))?;
    let conductor = Rc::new(Conductor {
        catalogue: *catalogue,
        scenario: scenario.to_path_buf(),
        root: root_of(scenario)?,
        out,
        threads,
        resume: wanted.resume,
        part,
        stop,
        told: RefCell::new(Told::default()),
    });
    let outcome = lead(scenario, &conductor.root, catalogue, conductor.clone());
    let told = conductor.told.take();
    let outcome = match outcome {
        // what may succeed when it is done again has an exit code of its own
        Err(error) if told.retry => {
            complain(&error);
            return Ok(Ending::Again);
        }
        Err(error) => return Err(error),
        Ok(outcome) => outcome,
    };
    aside(&outcome.prints);
    if !told.conducted {
        let error = Diagnostic::error("this scenario holds no study");
        return Err(error.help("a study is run with `study(…).run()`; `run` runs single trials").into());
    }
    if wanted.json {
        output.text(&document::pretty(&document::study(catalogue, scenario, &outcome)))?;
    } else {
        output.text(&told.text)?;
        output.text(&expectations(&outcome))?;
        if part.is_none() {
            output.text(&(catalogue.report.closing)())?;
        }
    }
    Ok(ending(&outcome))
}

fn default_out(scenario: &Path, part: Option<Part>) -> PathBuf {
    let stem = scenario.file_stem().unwrap_or_default().to_string_lossy();
    match part {
        Some(part) => format!("{stem}.part-{}-of-{}.csv", part.k, part.of).into(),
        None => format!("{stem}.csv").into(),
    }
}

/// What is left of a study for the command to tell.
#[derive(Default)]
struct Told {
    conducted: bool,
    retry: bool,
    text: String,
}

struct Conductor {
    catalogue: Catalogue,
    scenario: PathBuf,
    root: PathBuf,
    out: PathBuf,
    threads: usize,
    resume: bool,
    part: Option<Part>,
    stop: Stop,
    told: RefCell<Told>,
}

impl Conductor {
    /// An input's name within the project folder.
    fn named(&self, path: &Path) -> String {
        let within =
            |path: PathBuf| Some(path.canonicalize().ok()?.strip_prefix(&self.root).ok()?.to_path_buf());
        let found = within(self.root.join(path)).or_else(|| within(path.to_path_buf()));
        found.as_deref().unwrap_or(path).display().to_string()
    }

    /// The table to be made, and all that it follows from.
    fn order(&self, frame: &Frame) -> Order {
        // a study is the same however the way to its files is spelt, and on whatever machine
        let scenario = self.named(&self.scenario);
        let inputs = frame.inputs.iter().map(|(name, hash)| (self.named(Path::new(name)), hash.clone()));
        let inputs = inputs.collect();
        let mut origin = document::made_from(&self.catalogue, Path::new(&scenario), frame.seed, &inputs);
        origin.insert("study".into(), frame.describe());
        let heads: Vec<String> = frame.headings.iter().map(Heading::text).collect();
        let active = frame.active.clone();
        let index = move |row: u64| match &active {
            Some(list) => list.get(row as usize).map_or(String::new(), u32::to_string),
            None => row.to_string(),
        };
        Order {
            origin,
            header: table_row(&heads),
            rows: frame.rows(),
            fields: heads.len(),
            first_field: Box::new(index),
        }
    }
}

impl Conduct for Conductor {
    fn conduct(&self, frame: Frame) -> Result<Option<Map<String, Value>>, Diagnostics> {
        let order = self.order(&frame);
        let (scenario, root, catalogue) = (&*self.scenario, &*self.root, &self.catalogue);
        let worker = |desk: &Desk| -> Result<(), Diagnostics> {
            work(scenario, root, catalogue, &frame, |row| desk.serve(row))
        };
        let (out, threads) = (self.out.as_path(), self.threads);
        let written = match self.part {
            Some(part) => sweep::write_part(&order, part, out, threads, &self.stop, &worker, true),
            None => sweep::write_whole(&order, out, self.resume, threads, &self.stop, &worker, true),
        };
        let written = written.map_err(|error| {
            self.told.borrow_mut().retry = error.retry();
            in_full(error)
        })?;
        let name = out.display();
        let mut told = self.told.borrow_mut();
        told.conducted = true;
        if let Some(part) = self.part {
            let was = if written.already { "was there already" } else { "is whole" };
            told.text = format!("{}: part {part} {was}: {} rows in {name}\n", frame.title, written.rows);
            return Ok(None);
        }
        let summary = Summary::read(&frame, &self.catalogue.report, out)?;
        told.text = summary.text(&name.to_string());
        let mut values = summary.values();
        values.insert("table".into(), json!(name.to_string()));
        values.insert("table_sha256".into(), json!(written.csv_sha256));
        Ok(Some(values))
    }
}

/// A worker's own mistakes, or what kept the table from being made.
fn in_full(error: SweepError<Diagnostics>) -> Diagnostics {
    match error {
        SweepError::Work(sweep::Broken::Worker { error, .. }) => error,
        other => other.into(),
    }
}

pub(super) fn merge(out: &Path, parts: &[PathBuf], output: &mut Output) -> Result<Ending, Diagnostics> {
    writable(out)?;
    match sweep::merge(parts, out) {
        Ok(merged) => {
            let was = if merged.already { "was whole already" } else { "is whole" };
            let name = out.display();
            output.text(&format!("{name} {was}: {} rows from {} parts\n", merged.rows, merged.parts))?;
            output.text("`sweep` with the same scenario and `--out` tells what it says\n")?;
            Ok(Ending::Well)
        }
        Err(error) if error.retry() => {
            complain(&error.into());
            Ok(Ending::Again)
        }
        Err(error) => Err(error.into()),
    }
}
