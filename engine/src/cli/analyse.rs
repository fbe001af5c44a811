//! The commands that answer a question about a setup.

use std::path::{Path, PathBuf};

use clap::{Arg, ArgAction, ArgMatches, Command, value_parser};
use serde_json::{Map, Value, json};

use super::output::{Output, whole_files, writable};
use super::{Ending, document, load};
use crate::analysis::{Analysis, Answer, Choice, Craft, Given, Takes};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::scenario::{self, Catalogue};
use crate::sweep::sidecar_of;

/// The command of an analysis.
pub(super) fn command(analysis: &'static Analysis) -> Command {
    let setup = Arg::new("setup").required(true).value_parser(value_parser!(PathBuf)).help("Setup (.yaml)");
    let csv = Arg::new("csv").long("csv").value_name("FILE").value_parser(value_parser!(PathBuf));
    let json = Arg::new("json").long("json").action(ArgAction::SetTrue);
    let command = Command::new(analysis.name)
        .about(analysis.about)
        .arg(setup)
        .arg(csv.help("Also write the table to this CSV file, and what it came from to FILE.json"))
        .arg(json.help("Print one JSON document instead"));
    analysis.options.iter().fold(command, |command, option| command.arg(argument(option)))
}

fn argument(option: &'static Choice) -> Arg {
    let arg = Arg::new(option.name).long(option.name);
    match option.takes {
        Takes::Number(_, default, _) => {
            arg.value_name("VALUE").help(format!("{} (default: {default})", option.about))
        }
        Takes::Numbers(_, default, _) => arg
            .value_name("VALUES")
            .help(format!("{}, separated by commas (default: {default})", option.about)),
        Takes::Setup => arg.value_name("SETUP").value_parser(value_parser!(PathBuf)).help(option.about),
    }
}

pub(super) fn answer(
    catalogue: &Catalogue,
    analysis: &'static Analysis,
    said: &ArgMatches,
    output: &mut Output,
) -> Result<Ending, Diagnostics> {
    let path = |name: &str| said.get_one::<PathBuf>(name);
    let Some(setup) = path("setup") else { return Ok(Ending::Well) };
    if let Some(file) = path("csv") {
        writable(file)?;
        writable(&sidecar_of(file))?;
    }
    let craft = Craft::new(load(setup)?, catalogue.parts)?;
    let mut given = Given::new(craft, catalogue.parts, analysis.options)?;
    let mut asked = Map::new();
    for option in analysis.options {
        match option.takes {
            Takes::Setup => {
                if let Some(other) = path(option.name) {
                    asked.insert(option.name.into(), json!(other.display().to_string()));
                    given.beside(option, Craft::new(load(other)?, catalogue.parts)?);
                }
            }
            Takes::Number(_, default, _) | Takes::Numbers(_, default, _) => {
                let text = said.get_one::<String>(option.name);
                if let Some(text) = text {
                    given.say(option, text)?;
                }
                asked.insert(option.name.into(), json!(text.map_or(default, String::as_str)));
            }
        }
    }
    let found = (analysis.answer)(&given)?;
    let mut origin = document::of_setup(catalogue, setup, &given.craft.setup);
    origin.insert("analysis".into(), json!(analysis.name));
    origin.insert("options".into(), Value::Object(asked));
    if let Some(file) = path("csv") {
        table(file, &given, &found, &origin)?;
    }
    if said.get_flag("json") {
        origin.extend(found.values);
        output.text(&document::pretty(&origin))?;
    } else {
        for warning in &given.craft.warnings {
            output.text(&format!("Warning: {warning}"))?;
        }
        output.text(&found.text)?;
        output.text(&found.closing)?;
    }
    Ok(Ending::Well)
}

fn table(file: &Path, given: &Given, found: &Answer, origin: &Map<String, Value>) -> Result<(), Diagnostics> {
    let same =
        |other: &Path| other.canonicalize().ok().is_some_and(|o| file.canonicalize().is_ok_and(|f| f == o));
    if given.craft.setup.files().any(same) {
        let error = Diagnostic::error(format!("{} is read by this command", file.display()));
        return Err(error.help("write the table to another file").into());
    }
    let bytes = scenario::table(&found.headings, &found.rows);
    whole_files(&[(sidecar_of(file), document::pretty(origin).into_bytes()), (file.to_path_buf(), bytes)])
}
