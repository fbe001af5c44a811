//! What was changed in a setup since it was read, as it has to stand in a file on top of the one it was read from: see
//! `inherit` for what such a file takes over by itself.

use std::path::Path;

use super::node::{Node, Value};
use super::{Setup, Sort, describe, kind_name, yaml};
use crate::part::PartKind;
use crate::units::{self, Dimension};

/// A part that is not what the file has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// Its name.
    pub part: String,
    /// Keys with their values as YAML on one line; `None` where the part was taken away.
    pub lines: Option<Vec<(String, String)>>,
}

impl Setup {
    /// All parts that differ, in the order of the setup, those taken away last; `named` says how another file is called from
    /// where the differences will stand.
    pub fn differences(&self, kinds: &[PartKind], named: &dyn Fn(&Path) -> String) -> Vec<Difference> {
        let before = self.origin.get("parts").map_or(&[][..], Node::entries);
        let old = |name: &str| before.iter().find(|(known, _)| known == name).map(|(_, node)| node);
        let differing = self.parts().iter().filter_map(|(name, node)| {
            let lines = match old(name) {
                Some(old) if kind_name(name, old) == kind_name(name, node) => {
                    self.keys(old, name, node, kinds, named)
                }
                // another kind inherits nothing, but must say what it is
                old => {
                    let kind = old.map(|_| ("part".into(), yaml::scalar(kind_name(name, node))));
                    let entries = node.entries().iter().filter(|(key, _)| key != "part" || old.is_none());
                    let line =
                        |(key, value): &(String, Node)| self.line(name, node, key, value, kinds, named);
                    kind.into_iter().chain(entries.map(line)).collect()
                }
            };
            let part = name.clone();
            (old(name).is_none() || !lines.is_empty()).then_some(Difference { part, lines: Some(lines) })
        });
        let gone = before.iter().filter(|(name, _)| self.parts().iter().all(|(known, _)| known != name));
        differing.chain(gone.map(|(name, _)| Difference { part: name.clone(), lines: None })).collect()
    }

    /// Keys of a part that differ; `~` takes away what is there no more.
    fn keys(
        &self,
        old: &Node,
        name: &str,
        node: &Node,
        kinds: &[PartKind],
        named: &dyn Fn(&Path) -> String,
    ) -> Vec<(String, String)> {
        let mut lines = Vec::new();
        for (key, value) in node.entries().iter().filter(|(key, _)| key != "part") {
            match old.get(key) {
                Some(old) if same(old, value) => {}
                // the only map that is taken over key by key
                Some(old) if key == "from" => {
                    let gone = old.entries().iter().filter(|(k, _)| value.get(k).is_none());
                    let all = value.entries().iter().map(|(k, v)| (k, nested(v)));
                    let all: Vec<String> = all
                        .chain(gone.map(|(k, _)| (k, "~".into())))
                        .map(|(k, v)| format!("{}: {v}", word(k)))
                        .collect();
                    lines.push((key.clone(), format!("{{{}}}", all.join(", "))));
                }
                _ => lines.push(self.line(name, node, key, value, kinds, named)),
            }
        }
        let gone = old.entries().iter().filter(|(key, _)| key != "part" && node.get(key).is_none());
        lines.extend(gone.map(|(key, _)| (key.clone(), "~".into())));
        lines
    }

    fn line(
        &self,
        name: &str,
        node: &Node,
        key: &str,
        value: &Node,
        kinds: &[PartKind],
        named: &dyn Fn(&Path) -> String,
    ) -> (String, String) {
        let text = match (&value.value, value.get("file")) {
            (Value::Si(x), _) => {
                let unit = dimension(name, node, key, kinds).map_or("", |dimension| dimension.si);
                format!("{} {unit}", units::number(*x)).trim_end().into()
            }
            (Value::Text(text), _) => yaml::scalar(text),
            // named from where the value stood
            (_, Some(file)) => match self.path_of(file) {
                Ok(path) => format!("{{file: {}}}", word(&named(&path))),
                Err(_) => nested(value),
            },
            _ => nested(value),
        };
        (key.into(), text)
    }
}

fn dimension(name: &str, node: &Node, key: &str, kinds: &[PartKind]) -> Option<Dimension> {
    let kind = kinds.iter().find(|kind| kind.name == kind_name(name, node))?;
    match describe(kind).params.iter().find(|param| param.key == key)?.sort {
        Sort::Value(dimension) => Some(dimension),
        _ => None,
    }
}

/// Whether two values are the same, whichever texts they came from.
fn same(a: &Node, b: &Node) -> bool {
    match (&a.value, &b.value) {
        (Value::List(a), Value::List(b)) => a.len() == b.len() && a.iter().zip(b).all(|(a, b)| same(a, b)),
        (Value::Map(a), Value::Map(b)) => {
            a.len() == b.len() && a.iter().zip(b).all(|((ka, a), (kb, b))| ka == kb && same(a, b))
        }
        (a, b) => a == b,
    }
}

/// A value inside brackets.
fn nested(node: &Node) -> String {
    match &node.value {
        Value::Null => "~".into(),
        Value::Bool(b) => b.to_string(),
        Value::Int(i) => i.to_string(),
        Value::Float(x) | Value::Si(x) => units::number(*x),
        Value::Text(text) => word(text),
        Value::List(items) => format!("[{}]", items.iter().map(nested).collect::<Vec<_>>().join(", ")),
        Value::Map(entries) => {
            let all = entries.iter().map(|(key, value)| format!("{}: {}", word(key), nested(value)));
            format!("{{{}}}", all.collect::<Vec<_>>().join(", "))
        }
    }
}

/// A word as it is, or in double quotes, which JSON shares with YAML. A word that could be
/// read as something else than a text begins with one of few letters.
pub(crate) fn word(text: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '_';
    let first = text.chars().next().is_some_and(|c| c.is_ascii_lowercase());
    let odd = ["null", "true", "false", "yes", "no", "on", "off", "y", "n"].contains(&text);
    if first && text.chars().all(plain) && !odd {
        text.into()
    } else {
        serde_json::Value::from(text).to_string()
    }
}
