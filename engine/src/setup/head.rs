//! The frame of a setup file: everything but the parameters of the parts.

use super::files::Sources;
use super::node::{Node, Step, Value};
use super::yaml::Target;
use crate::diagnostic::{Diagnostic, Diagnostics, suggest};

/// Version of the format this programme reads and writes.
pub const FORMAT: i64 = 1;

const KEYS: [&str; 5] = ["setup", "title", "notes", "based_on", "parts"];

/// Checks the frame of one file.
pub fn check(tree: &Node, sources: &Sources) -> Diagnostics {
    let mut problems = Diagnostics::new();
    if !matches!(tree.value, Value::Map(_)) {
        let place = sources.place(tree.file, &[], Target::Value);
        let error = Diagnostic::error("this is no setup").expected("a map that begins with `setup: 1`");
        return error.found(tree.describe()).at(place).into();
    }
    match tree.get("setup").map(|node| (node, &node.value)) {
        None => problems.push(
            Diagnostic::error("the format is missing")
                .help(format!("begin with `setup: {FORMAT}`"))
                .at(sources.place(tree.file, &[], Target::Value)),
        ),
        Some((_, Value::Int(FORMAT))) => {}
        Some((node, _)) => problems.push(
            Diagnostic::error("unknown format")
                .expected(format!("`setup: {FORMAT}`"))
                .found(node.describe())
                .at(sources.place(node.file, &["setup".into()], Target::Value)),
        ),
    }
    for (key, node) in tree.entries() {
        let path = [Step::from(key.as_str())];
        match key.as_str() {
            "setup" => {}
            "parts" if matches!(node.value, Value::Map(_)) => {
                for (name, part) in node.entries() {
                    problems.extend(check_part(name, part, sources));
                }
            }
            "parts" => problems.push(
                Diagnostic::error("these are no parts")
                    .expected("a map of parts, each with its parameters")
                    .found(node.describe())
                    .at(sources.place(node.file, &path, Target::Value)),
            ),
            "title" | "notes" | "based_on" => problems.extend(text(node, &path, sources)),
            other => problems.push(
                Diagnostic::error("unknown key")
                    .help(format!("the keys of a setup are {}", KEYS.join(", ")))
                    .near(suggest(other, KEYS))
                    .at(sources.place(node.file, &path, Target::Key)),
            ),
        }
    }
    problems
}

fn text(node: &Node, path: &[Step], sources: &Sources) -> Option<Diagnostic> {
    let wrong = node.text().is_none_or(str::is_empty) && node.value != Value::Null;
    let error = || Diagnostic::error("this is no text").expected("text").found(node.describe());
    wrong.then(|| error().at(sources.place(node.file, path, Target::Value)))
}

/// Checks the name of a part, its kind and its wiring.
pub fn check_part(name: &str, part: &Node, sources: &Sources) -> Diagnostics {
    let mut problems = Diagnostics::new();
    let path = [Step::from("parts"), Step::from(name)];
    if !good_name(name) {
        let place = sources.place(part.file, &path, Target::Key);
        let expected = "small letters, digits and _, beginning with a letter";
        problems.push(Diagnostic::error("this cannot be the name of a part").expected(expected).at(place));
    }
    if !matches!(part.value, Value::Map(_) | Value::Null) {
        let place = sources.place(part.file, &path, Target::Value);
        let error = Diagnostic::error("a part has parameters").expected("a map, `{}` for all defaults");
        problems.push(error.found(part.describe()).at(place));
    }
    let below =
        |keys: &[&str]| [&path[..], &keys.iter().map(|k| Step::from(*k)).collect::<Vec<_>>()].concat();
    if let Some(kind) = part.get("part") {
        problems.extend(text(kind, &below(&["part"]), sources));
    }
    match part.get("from") {
        Some(from) if !matches!(from.value, Value::Map(_) | Value::Null) => {
            let place = sources.place(from.file, &below(&["from"]), Target::Value);
            let error = Diagnostic::error("a wiring names a part for each quantity");
            problems
                .push(error.expected("a map such as `{quantity: part}`").found(from.describe()).at(place));
        }
        Some(from) => {
            for (kind, target) in from.entries() {
                problems.extend(text(target, &below(&["from", kind]), sources));
            }
        }
        None => {}
    }
    problems
}

fn good_name(name: &str) -> bool {
    name.starts_with(|c: char| c.is_ascii_lowercase())
        && name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
}
