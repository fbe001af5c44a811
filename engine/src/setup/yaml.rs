//! The only place that knows the YAML library.
//!
//! The library keeps no positions in a parsed document and lets a repeated key
//! win silently. So the tree is built here, key by key, and where something
//! stands is found by reading the text a second time up to that place, which
//! costs nothing unless there is something to report.

use super::node::{FileId, Node, Step, Value};
use crate::diagnostic::Position;
use serde::de::{DeserializeSeed, Deserializer, EnumAccess, IgnoredAny, MapAccess, SeqAccess, Visitor};
use std::cell::RefCell;
use std::fmt;

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

/// The library's message without its position, and what to do about the common ones.
fn translate(message: &str) -> (String, Option<String>) {
    let cut = message.rfind(" at line ").unwrap_or(message.len());
    let plain = &message[..cut];
    let has = |part: &str| message.contains(part);
    if has("EOF while parsing") {
        ("the file is empty".into(), Some("a setup begins with `setup: 1`".into()))
    } else if has("repetition limit") {
        ("anchors repeat each other too often".into(), Some("write the values out".into()))
    } else if has("recursion limit") {
        (format!("nested more than {DEPTH} levels deep"), None)
    } else if has("more than one document") {
        ("a second document begins after `---`".into(), Some("one setup, one file".into()))
    } else if has("mapping values are not allowed") {
        (plain.into(), Some("text with a colon in it needs quotes; keys of one part line up".into()))
    } else if has("found character that cannot start any token") {
        (
            plain.into(),
            Some("indent with spaces, not tabs; text that begins with %, @ or ` needs quotes".into()),
        )
    } else if has("did not find expected key") {
        (plain.into(), Some("check the indentation: keys of one part line up".into()))
    } else {
        (plain.into(), None)
    }
}

/// What has been read so far, for the report when it stops.
#[derive(Default)]
struct Watch {
    path: RefCell<Vec<Step>>,
    problem: RefCell<Option<(String, Option<String>)>>,
}

impl Watch {
    fn stop<T, E: serde::de::Error>(&self, message: impl Into<String>, help: &str) -> Result<T, E> {
        let help = (!help.is_empty()).then(|| help.to_owned());
        *self.problem.borrow_mut() = Some((message.into(), help));
        Err(E::custom("stopped"))
    }

    fn within<T, E>(&self, step: Step, read: impl FnOnce() -> Result<T, E>) -> Result<T, E> {
        self.path.borrow_mut().push(step);
        let value = read()?;
        self.path.borrow_mut().pop();
        Ok(value)
    }
}

/// Builds the tree.
#[derive(Clone, Copy)]
struct Tree<'a> {
    file: FileId,
    depth: usize,
    watch: &'a Watch,
}

impl Tree<'_> {
    fn node<E>(self, value: Value) -> Result<Node, E> {
        Ok(Node { value, file: self.file })
    }

    fn deeper<E: serde::de::Error>(self) -> Result<Self, E> {
        if self.depth >= DEPTH {
            return self.watch.stop(format!("nested more than {DEPTH} levels deep"), "");
        }
        Ok(Tree { depth: self.depth + 1, ..self })
    }
}

impl<'de> DeserializeSeed<'de> for Tree<'_> {
    type Value = Node;
    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<Node, D::Error> {
        from.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Tree<'_> {
    type Value = Node;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value")
    }
    fn visit_unit<E>(self) -> Result<Node, E> {
        self.node(Value::Null)
    }
    fn visit_none<E>(self) -> Result<Node, E> {
        self.node(Value::Null)
    }
    fn visit_bool<E>(self, b: bool) -> Result<Node, E> {
        self.node(Value::Bool(b))
    }
    fn visit_i64<E>(self, i: i64) -> Result<Node, E> {
        self.node(Value::Int(i))
    }
    fn visit_u64<E>(self, u: u64) -> Result<Node, E> {
        self.node(i64::try_from(u).map_or(Value::Float(u as f64), Value::Int))
    }
    fn visit_i128<E>(self, i: i128) -> Result<Node, E> {
        self.node(Value::Float(i as f64))
    }
    fn visit_u128<E>(self, u: u128) -> Result<Node, E> {
        self.node(Value::Float(u as f64))
    }
    fn visit_f64<E: serde::de::Error>(self, x: f64) -> Result<Node, E> {
        if !x.is_finite() {
            return self.watch.stop("not a finite number", "");
        }
        self.node(Value::Float(x))
    }
    fn visit_str<E>(self, text: &str) -> Result<Node, E> {
        self.node(Value::Text(text.into()))
    }
    fn visit_enum<A: EnumAccess<'de>>(self, _: A) -> Result<Node, A::Error> {
        self.watch
            .stop("tags such as `!this` have no meaning in a setup", "text that begins with ! needs quotes")
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut from: A) -> Result<Node, A::Error> {
        let inner = self.deeper()?;
        let mut items = Vec::new();
        while let Some(item) =
            self.watch.within(Step::Index(items.len()), || from.next_element_seed(inner))?
        {
            items.push(item);
        }
        self.node(Value::List(items))
    }
    fn visit_map<A: MapAccess<'de>>(self, mut from: A) -> Result<Node, A::Error> {
        let inner = self.deeper()?;
        let mut entries: Vec<(String, Node)> = Vec::new();
        let mut seen = std::collections::HashSet::new();
        while let Some(key) = from.next_key_seed(NewKey { seen: &seen, watch: self.watch })? {
            let node = self.watch.within(Step::Key(key.clone()), || from.next_value_seed(inner))?;
            seen.insert(key.clone());
            entries.push((key, node));
        }
        self.node(Value::Map(entries))
    }
}

/// A key: text that has not been there before.
struct NewKey<'a> {
    seen: &'a std::collections::HashSet<String>,
    watch: &'a Watch,
}

impl NewKey<'_> {
    fn no_text<E: serde::de::Error>(self, what: impl fmt::Display) -> Result<String, E> {
        self.watch.stop(format!("a key must be text, found {what}"), "put it in quotes if it is meant so")
    }
}

impl<'de> DeserializeSeed<'de> for NewKey<'_> {
    type Value = String;
    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<String, D::Error> {
        from.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for NewKey<'_> {
    type Value = String;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a key")
    }
    fn visit_str<E: serde::de::Error>(self, key: &str) -> Result<String, E> {
        if key == "<<" {
            return self.watch.stop("merge keys are not applied", "use `based_on: other.yaml`");
        }
        if self.seen.contains(key) {
            self.watch.path.borrow_mut().push(key.into());
            return self.watch.stop("this key stands here twice", "remove one of the two");
        }
        Ok(key.into())
    }
    fn visit_unit<E: serde::de::Error>(self) -> Result<String, E> {
        self.no_text("nothing")
    }
    fn visit_bool<E: serde::de::Error>(self, b: bool) -> Result<String, E> {
        self.no_text(b)
    }
    fn visit_i64<E: serde::de::Error>(self, i: i64) -> Result<String, E> {
        self.no_text(i)
    }
    fn visit_u64<E: serde::de::Error>(self, u: u64) -> Result<String, E> {
        self.no_text(u)
    }
    fn visit_f64<E: serde::de::Error>(self, x: f64) -> Result<String, E> {
        self.no_text(x)
    }
    fn visit_seq<A: SeqAccess<'de>>(self, _: A) -> Result<String, A::Error> {
        self.no_text("a list")
    }
    fn visit_map<A: MapAccess<'de>>(self, _: A) -> Result<String, A::Error> {
        self.no_text("a map")
    }
    fn visit_enum<A: EnumAccess<'de>>(self, _: A) -> Result<String, A::Error> {
        self.no_text("a tag")
    }
}

/// What of an entry to point at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Target {
    /// Its key.
    Key,
    /// Its value.
    Value,
}

/// Where in a text a path leads; `None` if it leads nowhere.
pub fn locate(text: &str, path: &[Step], target: Target) -> Option<Position> {
    let error = Descend { path, target }.deserialize(serde_yaml::Deserializer::from_str(text)).err()?;
    error.location().map(|at| Position { line: at.line(), column: at.column() })
}

/// Follows a path and raises an error at its end; the library adds the position.
#[derive(Clone, Copy)]
struct Descend<'a> {
    path: &'a [Step],
    target: Target,
}

impl Descend<'_> {
    fn scalar<E: serde::de::Error>(self) -> Result<(), E> {
        if self.path.is_empty() { Err(E::custom("here")) } else { Ok(()) }
    }
}

impl<'de> DeserializeSeed<'de> for Descend<'_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<(), D::Error> {
        from.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Descend<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value")
    }
    fn visit_unit<E: serde::de::Error>(self) -> Result<(), E> {
        self.scalar()
    }
    fn visit_none<E: serde::de::Error>(self) -> Result<(), E> {
        self.scalar()
    }
    fn visit_bool<E: serde::de::Error>(self, _: bool) -> Result<(), E> {
        self.scalar()
    }
    fn visit_i64<E: serde::de::Error>(self, _: i64) -> Result<(), E> {
        self.scalar()
    }
    fn visit_u64<E: serde::de::Error>(self, _: u64) -> Result<(), E> {
        self.scalar()
    }
    fn visit_f64<E: serde::de::Error>(self, _: f64) -> Result<(), E> {
        self.scalar()
    }
    fn visit_str<E: serde::de::Error>(self, _: &str) -> Result<(), E> {
        self.scalar()
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut from: A) -> Result<(), A::Error> {
        self.scalar()?;
        let (Step::Index(index), rest) = (&self.path[0], &self.path[1..]) else {
            return ignore_seq(from);
        };
        for _ in 0..*index {
            from.next_element::<IgnoredAny>()?;
        }
        from.next_element_seed(Descend { path: rest, ..self })?;
        ignore_seq(from)
    }
    fn visit_map<A: MapAccess<'de>>(self, mut from: A) -> Result<(), A::Error> {
        self.scalar()?;
        let (step, rest) = (&self.path[0], &self.path[1..]);
        while let Some(key) =
            from.next_key_seed(KeyOf(step, rest.is_empty() && self.target == Target::Key))?
        {
            if key {
                from.next_value_seed(Descend { path: rest, ..self })?;
            } else {
                from.next_value::<IgnoredAny>()?;
            }
        }
        Ok(())
    }
}

fn ignore_seq<'de, A: SeqAccess<'de>>(mut from: A) -> Result<(), A::Error> {
    while from.next_element::<IgnoredAny>()?.is_some() {}
    Ok(())
}

/// Whether a key is the one of this step; raises an error there if it is the target itself.
struct KeyOf<'a>(&'a Step, bool);

impl<'de> DeserializeSeed<'de> for KeyOf<'_> {
    type Value = bool;
    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<bool, D::Error> {
        from.deserialize_str(self)
    }
}

impl Visitor<'_> for KeyOf<'_> {
    type Value = bool;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a key")
    }
    fn visit_str<E: serde::de::Error>(self, key: &str) -> Result<bool, E> {
        let this = matches!(self.0, Step::Key(k) if k == key);
        if this && self.1 { Err(E::custom("here")) } else { Ok(this) }
    }
}

/// A text as YAML, in quotes where it needs them, on one line.
pub fn scalar(text: &str) -> String {
    match serde_yaml::to_string(text) {
        Ok(yaml) if yaml.trim_end().lines().count() == 1 => yaml.trim_end().into(),
        // Double quotes with JSON escapes are YAML too, and stay on one line.
        _ => serde_json::Value::from(text).to_string(),
    }
}
