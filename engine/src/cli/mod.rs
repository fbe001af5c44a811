//! The command line.

mod analyse;
mod check;
mod document;
mod fit;
mod output;
mod parts;
mod run;
mod sweep;
mod trace;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};

use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::model::explain;
use crate::scenario::Catalogue;
use crate::setup::Setup;
use output::Output;

#[derive(Parser)]
#[command(version, after_help = EXIT_CODES)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

const EXIT_CODES: &str = "Exit codes: 0 ran and all expectations hold; 1 an expectation does not hold; \
2 something is wrong with the input or the output cannot be written; 3 a run broke off, or a fit came to no end; \
75 a sweep was stopped, or its file could not be written: the same command with --resume may succeed; \
130 left at once at a second Ctrl-C.";

#[derive(Subcommand)]
enum Command {
    /// Run a scenario and tell what came out
    Run {
        /// Scenario script (.rhai)
        scenario: PathBuf,
        /// Print one JSON document instead of the verdict
        #[arg(long)]
        json: bool,
        /// Write the time history to this CSV file, and what it came from to FILE.json
        #[arg(long, value_name = "FILE")]
        trace: Option<PathBuf>,
    },
    /// Run every scenario under a folder and list the expectations that do not hold; studies are only rehearsed
    Check {
        /// Folder with scenario scripts
        folder: PathBuf,
    },
    /// Look at all points of a scenario's study, on all cores, and write a table
    Sweep {
        /// Scenario script (.rhai) that holds a study
        scenario: PathBuf,
        /// Table to write (default: the scenario's name with .csv, in this folder)
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
        /// Threads that work on it (default: all cores)
        #[arg(long, value_name = "N")]
        threads: Option<usize>,
        /// Go on with a table that was begun
        #[arg(long, conflicts_with = "part")]
        resume: bool,
        /// Only this part of the points, such as 3/8
        #[arg(long, value_name = "K/N")]
        part: Option<String>,
        /// Print one JSON document instead of the summary
        #[arg(long)]
        json: bool,
    },
    /// Put a table together from all its parts
    Merge {
        /// Table to write
        out: PathBuf,
        /// Tables made with --part
        #[arg(required = true)]
        parts: Vec<PathBuf>,
    },
    /// Fit parameters of a setup to readings, as a scenario says, and write the setup that results
    Fit {
        /// Scenario script (.rhai) that holds a fit
        scenario: PathBuf,
        /// Setup to write (default: the scenario's name with _fitted.yaml, in this folder)
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
        /// Also write every reading beside its prediction to this CSV file, and what it came from to FILE.json
        #[arg(long, value_name = "FILE")]
        csv: Option<PathBuf>,
        /// Print one JSON document instead of the report
        #[arg(long)]
        json: bool,
    },
    /// List the parts a setup can hold, with their parameters
    Parts {
        /// Only this part
        name: Option<String>,
    },
    /// Print the equations of a setup in the order they run, with what each reads and writes
    Explain {
        /// Setup (.yaml)
        setup: PathBuf,
    },
    /// Print a setup in full: what it is based on included and defaults filled in
    Expand {
        /// Setup (.yaml)
        setup: PathBuf,
    },
}

/// How a command ended when nothing was wrong with its input.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Ending {
    Well,
    ExpectationFailed,
    BrokeOff,
    /// It did not come to its end, and may if it is done again.
    Again,
}

/// Runs the command line of a tool that offers `catalogue`.
pub fn main(catalogue: &Catalogue) -> ExitCode {
    let command = Arguments::command().name(catalogue.name).about(catalogue.about);
    let command = command.subcommands(catalogue.analyses.iter().map(analyse::command));
    let mut output = Output::new();
    let parsed = command.try_get_matches().and_then(|m| {
        let analysis = m.subcommand().and_then(|(name, said)| {
            Some((catalogue.analyses.iter().find(|a| a.name == name)?, said.clone()))
        });
        match analysis {
            Some((analysis, said)) => Ok(Err((analysis, said))),
            None => Arguments::from_arg_matches(&m).map(Ok),
        }
    });
    let arguments = match parsed {
        Ok(Ok(arguments)) => arguments,
        Ok(Err((analysis, said))) => {
            let done = analyse::answer(catalogue, analysis, &said, &mut output);
            return ended(done, output);
        }
        Err(error) => {
            let code = if error.use_stderr() { 2 } else { 0 };
            // help that nobody reads any more is no failure
            let _ = error.print();
            return ExitCode::from(code);
        }
    };
    let done = match &arguments.command {
        Command::Run { scenario, json, trace } => {
            run::run(catalogue, scenario, *json, trace.as_deref(), &mut output)
        }
        Command::Check { folder } => check::check(catalogue, folder, &mut output),
        Command::Sweep { scenario, out, threads, resume, part, json } => {
            let (out, part) = (out.clone(), part.clone());
            let wanted = sweep::Wanted { out, threads: *threads, resume: *resume, part, json: *json };
            sweep::sweep(catalogue, scenario, &wanted, &mut output)
        }
        Command::Merge { out, parts } => sweep::merge(out, parts, &mut output),
        Command::Fit { scenario, out, csv, json } => {
            fit::fit(catalogue, scenario, (out.as_deref(), csv.as_deref()), *json, &mut output)
        }
        Command::Parts { name } => parts::parts(catalogue, name.as_deref(), &mut output),
        Command::Explain { setup } => explained(catalogue, setup, &mut output),
        Command::Expand { setup } => expanded(catalogue, setup, &mut output),
    };
    ended(done, output)
}

fn ended(done: Result<Ending, Diagnostics>, output: Output) -> ExitCode {
    match done.and_then(|ending| output.finish().map(|()| ending)) {
        Ok(Ending::Well) => ExitCode::SUCCESS,
        Ok(Ending::ExpectationFailed) => ExitCode::from(1),
        Ok(Ending::BrokeOff) => ExitCode::from(3),
        // EX_TEMPFAIL of sysexits.h
        Ok(Ending::Again) => ExitCode::from(75),
        Err(told) => {
            output::complain(&told);
            ExitCode::from(2)
        }
    }
}

/// Project folder of a file: the present one if the file lies in it, else the file's own.
fn root_of(file: &Path) -> Result<PathBuf, Diagnostics> {
    let full = file.canonicalize();
    let here = std::env::current_dir().and_then(|d| d.canonicalize());
    match (full, here) {
        (Ok(full), Ok(here)) if full.starts_with(&here) => Ok(here),
        (Ok(full), _) => Ok(full.parent().unwrap_or(Path::new("/")).to_path_buf()),
        // a file that is not there is told of by whoever reads it, relative to here
        (Err(_), Ok(here)) => Ok(here),
        (Err(error), Err(_)) => Err(Diagnostic::error(format!("{}: {error}", file.display())).into()),
    }
}

fn load(setup: &Path) -> Result<Setup, Diagnostics> {
    Setup::load(setup, &root_of(setup)?)
}

fn explained(catalogue: &Catalogue, path: &Path, output: &mut Output) -> Result<Ending, Diagnostics> {
    let model = load(path)?.model(catalogue.parts)?;
    output.text(&explain(&model))?;
    Ok(Ending::Well)
}

fn expanded(catalogue: &Catalogue, path: &Path, output: &mut Output) -> Result<Ending, Diagnostics> {
    let text = load(path)?.write(catalogue.parts)?;
    output.text(&text)?;
    Ok(Ending::Well)
}
