//! A setup as a tree, before any of it is understood.

use std::fmt::Write;

/// Which of the texts of a setup something came from; see [`super::files::Sources`].
pub type FileId = usize;

/// A value and the text it came from.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// The value.
    pub value: Value,
    /// Its text.
    pub file: FileId,
}

/// What can stand in a setup.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// `~`, or nothing after a colon.
    Null,
    /// `true` or `false`.
    Bool(bool),
    /// A whole number.
    Int(i64),
    /// A finite number.
    Float(f64),
    /// Text, with or without quotes.
    Text(String),
    /// `[a, b]`
    List(Vec<Node>),
    /// `{a: 1, b: 2}`, in the order written, each key once.
    Map(Vec<(String, Node)>),
    /// A number already in SI units: set by a script or a sweep, not from a file.
    Si(f64),
}

/// One step from the root of a tree towards a value.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Step {
    /// Into a map.
    Key(String),
    /// Into a list, from 0.
    Index(usize),
}

impl From<&str> for Step {
    fn from(key: &str) -> Self {
        Step::Key(key.into())
    }
}

/// `parts.wing.polar[2]` as `wing.polar[2]`: `parts` goes without saying.
pub fn path_text(path: &[Step]) -> String {
    let path = match path {
        [Step::Key(parts), rest @ ..] if parts == "parts" && !rest.is_empty() => rest,
        path => path,
    };
    let mut out = String::new();
    for step in path {
        match step {
            Step::Key(key) if out.is_empty() => out.push_str(key),
            Step::Key(key) => _ = write!(out, ".{key}"),
            Step::Index(i) => _ = write!(out, "[{i}]"),
        }
    }
    out
}

impl Node {
    /// The value of a key, if this is a map that has it.
    pub fn get(&self, key: &str) -> Option<&Node> {
        self.entries().iter().find(|(k, _)| k == key).map(|(_, node)| node)
    }

    /// Keys and values, none if this is no map.
    pub fn entries(&self) -> &[(String, Node)] {
        match &self.value {
            Value::Map(entries) => entries,
            _ => &[],
        }
    }

    /// The text, if it is one.
    pub fn text(&self) -> Option<&str> {
        match &self.value {
            Value::Text(text) => Some(text),
            _ => None,
        }
    }

    /// What it is, for "expected …, found …".
    pub fn describe(&self) -> String {
        match &self.value {
            Value::Null => "nothing".into(),
            Value::Bool(b) => format!("`{b}`"),
            Value::Int(i) => format!("the number {i}"),
            Value::Float(x) | Value::Si(x) => format!("the number {x}"),
            Value::Text(text) => quoted(text),
            Value::List(items) => format!("a list of {}", items.len()),
            Value::Map(_) => "a map".into(),
        }
    }
}

/// In quotes, and no longer than half a line.
pub fn quoted(text: &str) -> String {
    match text.char_indices().nth(40) {
        Some((cut, _)) => format!("\"{}…\"", &text[..cut]),
        None => format!("\"{text}\""),
    }
}
