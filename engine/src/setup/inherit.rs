//! `based_on`: one setup on top of another.
//!
//! Maps down to the parameters of a part are merged key by key; a value, a list
//! or a table replaces what was inherited, and `~` takes it away. A part whose
//! kind changes starts empty, because its parameters are others.

use super::files::{self, Source, Sources};
use super::head;
use super::node::{Node, Step, Value};
use super::yaml::Target;
use crate::diagnostic::{Diagnostic, Diagnostics};
use std::collections::HashMap;
use std::path::{Path, PathBuf};

/// Longest line of ancestors.
const GENERATIONS: usize = 16;

/// Reads a setup and all it is based on, and merges them.
///
/// # Errors
/// Everything wrong with any of the files.
pub fn family(first: Source, root: &Path, sources: &mut Sources) -> Result<Node, Diagnostics> {
    let mut problems = Diagnostics::new();
    let mut trees = Vec::new();
    let mut ring: Vec<(PathBuf, String)> = Vec::new();
    let mut next = Some(first);
    while let Some(source) = next.take() {
        ring.push((identity(&source), source.name.clone()));
        let from = source.path.clone().unwrap_or_else(|| PathBuf::from(&source.name));
        let file = sources.add(source);
        let tree = sources.parse(file)?;
        problems.extend(head::check(&tree, sources));
        if let Some(base) = tree.get("based_on") {
            next = base.text().and_then(|name| {
                let base = ancestor(name, &from, root, &ring);
                base.map_err(|error| {
                    let place = sources.place(base_file(&tree), &["based_on".into()], Target::Value);
                    problems.push(error.at(place));
                })
                .ok()
            });
        }
        trees.push(tree);
    }
    // What is missing in a base is no news once the base itself is at fault.
    if !problems.is_empty() {
        return Err(problems);
    }
    let mut merged: Option<Node> = None;
    while let Some(tree) = trees.pop() {
        merged = overlay(merged, tree, &mut Vec::new(), sources, &mut problems);
    }
    let merged = merged.unwrap_or(Node { value: Value::Map(Vec::new()), file: 0 });
    problems.or(merged)
}

fn base_file(tree: &Node) -> usize {
    tree.get("based_on").map_or(tree.file, |node| node.file)
}

/// What makes a file the same file under another name.
fn identity(source: &Source) -> PathBuf {
    let path = source.path.clone().unwrap_or_default();
    path.canonicalize().unwrap_or(path)
}

/// The text of a base, unless it is one of those that lead to it.
fn ancestor(name: &str, from: &Path, root: &Path, ring: &[(PathBuf, String)]) -> Result<Source, Diagnostic> {
    let path = files::resolve(root, from, name)?;
    let known = path.canonicalize().ok();
    if let Some(start) = known.and_then(|known| ring.iter().position(|(p, _)| *p == known)) {
        let mut names: Vec<_> = ring[start..].iter().map(|(_, name)| name.as_str()).collect();
        names.push(names[0]);
        return Err(Diagnostic::error(format!("the setups are based on each other: {}", names.join(" → ")))
            .help("one of them must stand on its own"));
    }
    if ring.len() >= GENERATIONS {
        return Err(Diagnostic::error(format!("more than {GENERATIONS} setups based on one another")));
    }
    let text = files::read(&path).map_err(|error| about_file(error, name))?;
    Ok(Source { name: path.display().to_string(), path: Some(path), text, document: true })
}

/// A fault of a file, told where the file is named.
pub fn about_file(error: Diagnostic, name: &str) -> Diagnostic {
    let line = error.position().map(|(line, _)| format!(" (line {line})")).unwrap_or_default();
    let message = format!("{}: {}{line}", super::node::quoted(name), error.message);
    Diagnostic { place: None, message, ..error }
}

/// As [`about_file`], but a fault at a line of the file is told there.
pub(crate) fn named_here(error: Diagnostic, name: &str) -> Diagnostic {
    if error.position().is_some() { error } else { about_file(error, name) }
}

/// Lays `over` on `base`. `None` where nothing is left.
fn overlay(
    base: Option<Node>,
    over: Node,
    path: &mut Vec<Step>,
    sources: &Sources,
    problems: &mut Diagnostics,
) -> Option<Node> {
    let file = over.file;
    match over.value {
        Value::Null => {
            if base.is_none() {
                let nothing =
                    Diagnostic::error("nothing stands here, and nothing is inherited that `~` could remove");
                let help = if path.len() == 2 {
                    "`{}` stands for a part with all its defaults"
                } else {
                    "leave the key out for its default"
                };
                problems.push(nothing.help(help).at(sources.place(file, path, Target::Key)));
            }
            None
        }
        Value::Map(entries) => {
            let inherited = base.filter(|base| merges(base, &entries, path));
            let old = match inherited.map(|node| node.value) {
                Some(Value::Map(old)) => old,
                _ => Vec::new(),
            };
            let at: HashMap<String, usize> =
                old.iter().enumerate().map(|(i, (key, _))| (key.clone(), i)).collect();
            // Inherited keys keep their order, new ones follow.
            let mut merged: Vec<(String, Option<Node>)> =
                old.into_iter().map(|(key, node)| (key, Some(node))).collect();
            for (key, node) in entries {
                let slot = at.get(&key).copied();
                let below = slot.and_then(|i| merged[i].1.take());
                path.push(Step::Key(key.clone()));
                let node = overlay(below, node, path, sources, problems);
                path.pop();
                match slot {
                    Some(i) => merged[i].1 = node,
                    None => merged.push((key, node)),
                }
            }
            let merged = merged.into_iter().filter_map(|(key, node)| Some((key, node?))).collect();
            Some(Node { value: Value::Map(merged), file })
        }
        value => Some(Node { value, file }),
    }
}

/// Whether two maps at this path are merged: the whole, the parts, a part of the
/// same kind and its wiring. A table is one thing and is replaced.
fn merges(base: &Node, over: &[(String, Node)], path: &[Step]) -> bool {
    match path {
        [] | [_] => true,
        [_, Step::Key(name)] => match over.iter().find(|(key, _)| key == "part") {
            Some((_, kind)) => kind.text() == Some(base.get("part").and_then(Node::text).unwrap_or(name)),
            None => true,
        },
        [_, _, Step::Key(key)] => key == "from",
        _ => false,
    }
}
