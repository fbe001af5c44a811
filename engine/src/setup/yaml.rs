//! The only place that knows the YAML library.
//!
//! The library keeps no positions in a parsed document and lets a repeated key
//! win silently. So the tree is built here, key by key, and where something
//! stands is found by reading the text a second time up to that place, which
//! costs nothing unless there is something to report.

use super::locate::Descend;
pub use super::locate::Target;
use super::node::{FileId, Node, Step};
use super::tree::{Tree, Watch};
use crate::diagnostic::Position;
use serde::de::DeserializeSeed;

/// A setup nests five levels; more than this many is a mistake or an attack.
pub const DEPTH: usize = 32;

/// Why a text could not be read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Problem {
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub help: Option<String>,
    /// Where, in lines and columns.
    pub position: Option<Position>,
    /// Where, in keys.
    pub path: Vec<Step>,
}

/// Reads a document.
///
/// # Errors
/// The first [`Problem`] of its syntax, a repeated key, a key that is no text, a
/// number that is not finite, a tag, or too much nesting.
pub fn parse(text: &str, file: FileId) -> Result<Node, Problem> {
    clean(text)?;
    shallow(text)?;
    let watch = Watch::default();
    let tree = Tree { file, depth: 0, watch: &watch };
    tree.deserialize(serde_yaml::Deserializer::from_str(text)).map_err(|error| {
        let position = error.location().map(|at| Position { line: at.line(), column: at.column() });
        let path = watch.path.take();
        match watch.problem.take() {
            Some((message, help)) => Problem { message, help, position, path },
            None => {
                let (message, help) = translate(&error.to_string());
                Problem { message, help, position, path: Vec::new() }
            }
        }
    })
}

/// Refuses control characters; the library does not say where they stand.
fn clean(text: &str) -> Result<(), Problem> {
    for (number, line) in text.split('\n').enumerate() {
        let control = |c: char| c.is_control() && !matches!(c, '\t' | '\r' | '\u{85}');
        if let Some((column, c)) = line.chars().enumerate().find(|(_, c)| control(*c)) {
            return Err(Problem {
                message: format!("a control character, U+{:04X}", u32::from(c)),
                help: Some("is this a text file?".into()),
                position: Some(Position { line: number + 1, column: column + 1 }),
                path: Vec::new(),
            });
        }
    }
    Ok(())
}

/// Refuses deep nesting before the library works through it (quadratic in depth).
fn shallow(text: &str) -> Result<(), Problem> {
    let deep = |line: usize, column: usize| Problem {
        message: format!("nested more than {DEPTH} levels deep"),
        position: Some(Position { line: line + 1, column: column + 1 }),
        ..Problem::default()
    };
    // Brackets inside quotes and comments count too: 32 unclosed ones are not prose.
    let mut open = 0_usize;
    for (number, line) in text.lines().enumerate() {
        let dashes = line
            .split([' ', '\t'])
            .take_while(|w| matches!(*w, "-" | "?" | ":" | ""))
            .filter(|w| !w.is_empty());
        if dashes.count() > DEPTH {
            return Err(deep(number, 0));
        }
        for (column, c) in line.chars().enumerate() {
            match c {
                '[' | '{' => open += 1,
                ']' | '}' => open = open.saturating_sub(1),
                _ => {}
            }
            if open > DEPTH {
                return Err(deep(number, column));
            }
        }
    }
    Ok(())
}

/// Without any " at line 3 column 4": the position is told in its own way.
fn without_positions(message: &str) -> String {
    let mut parts = message.split(" at line ");
    let mut plain = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let (line, rest) = part.split_once(" column ").unwrap_or(("", part));
        let rest = rest.trim_start_matches(|c: char| c.is_ascii_digit());
        let known = !line.is_empty() && line.chars().all(|c| c.is_ascii_digit());
        plain.push_str(if known { rest } else { part });
    }
    plain
}

/// The library's message without its position, and what to do about the common ones.
fn translate(message: &str) -> (String, Option<String>) {
    let plain = without_positions(message);
    let has = |part: &str| message.contains(part);
    if has("repetition limit") {
        ("anchors repeat each other too often".into(), Some("write the values out".into()))
    } else if has("recursion limit") {
        (format!("nested more than {DEPTH} levels deep"), None)
    } else if has("more than one document") {
        ("a second document begins after `---`".into(), Some("one setup, one file".into()))
    } else if has("mapping values are not allowed") {
        (plain, Some("text with a colon in it needs quotes; keys of one part line up".into()))
    } else if has("found character that cannot start any token") {
        (plain, Some("indent with spaces, not tabs; text that begins with %, @ or ` needs quotes".into()))
    } else if has("did not find expected key") {
        (plain, Some("check the indentation: keys of one part line up".into()))
    } else {
        (plain, None)
    }
}

/// Where in a text a path leads; `None` if it leads nowhere.
pub fn locate(text: &str, path: &[Step], target: Target) -> Option<Position> {
    let error = Descend { path, target }.deserialize(serde_yaml::Deserializer::from_str(text)).err()?;
    error.location().map(|at| Position { line: at.line(), column: at.column() })
}

/// A text as YAML, in quotes where it needs them, on one line.
pub fn scalar(text: &str) -> String {
    match serde_yaml::to_string(text) {
        Ok(yaml) if yaml.trim_end().lines().count() == 1 => yaml.trim_end().into(),
        // Double quotes with JSON escapes are YAML too, and stay on one line.
        _ => serde_json::Value::from(text).to_string(),
    }
}
