//! Changing a setup after it was read: by a scenario, a sweep or the command line.

use super::files::{LIMIT, Source};
use super::node::{Node, Step, Value};
use super::params::Params;
use super::yaml::Target;
use super::{Setup, head, kind_name};
use crate::diagnostic::{Diagnostic, Diagnostics, suggest};
use crate::part::PartKind;

/// A new value of a parameter.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// As it would stand in the file: `80 kg`, `{J: [0, 1], KT: [0.4, 0]}`, `~`.
    Text(String),
    /// A number in SI units (a temperature in °C).
    Si(f64),
}

impl Change {
    /// For the hash of a setup.
    pub(super) fn record(&self) -> String {
        match self {
            Change::Text(text) => text.clone(),
            Change::Si(x) => format!("{x:e} SI"),
        }
    }
}

impl From<&str> for Change {
    fn from(text: &str) -> Self {
        Change::Text(text.into())
    }
}

impl From<String> for Change {
    fn from(text: String) -> Self {
        Change::Text(text)
    }
}

impl From<f64> for Change {
    fn from(si: f64) -> Self {
        Change::Si(si)
    }
}

impl Setup {
    /// Changes a parameter (`rider.mass`), a member of one (`wing.from.downwash`) or a
    /// whole part (`rider`). A text is read as it would be in the file, and `~` removes.
    /// A part that changes its kind (`wing.part`) loses its other parameters.
    /// `origin` says in messages who asked for it.
    ///
    /// # Errors
    /// There is no such part, or the text is not one value; the setup is then as
    /// before. Whether the part has this parameter and takes the value shows
    /// when it is read.
    pub fn change(&mut self, path: &str, value: impl Into<Change>, origin: &str) -> Result<(), Diagnostics> {
        let change = value.into();
        let text = match &change {
            Change::Text(text) => text.as_str(),
            Change::Si(_) => "",
        };
        if text.len() as u64 > LIMIT || path.len() > 1000 {
            return Err(Diagnostic::error("this change is too long").into());
        }
        let mut changed = self.clone();
        let source = Source { name: origin.into(), path: None, text: text.into(), document: false };
        let file = changed.sources.add(source);
        let value = match &change {
            Change::Text(_) => changed.sources.parse(file)?.value,
            Change::Si(x) => Value::Si(*x),
        };
        changed.apply(path, Node { value, file })?;
        changed.changes.push((path.into(), change));
        changed.read_tables()?;
        *self = changed;
        Ok(())
    }

    /// Whether the part that a path leads to has this parameter and takes its value.
    /// What else is wrong with the part, or how its parameters go together, is left
    /// to its reading: further changes may follow.
    ///
    /// # Errors
    /// Everything wrong with the value.
    pub fn check_value(&self, path: &str, kinds: &[PartKind]) -> Result<(), Diagnostics> {
        let name = path.split('.').next().unwrap_or_default();
        let Some((name, node)) = self.parts().iter().find(|(known, _)| known == name) else {
            return Ok(());
        };
        let told = match kinds.iter().find(|kind| kind.name == kind_name(name, node)) {
            // an unknown kind, or a wiring to no part
            None => self.read(name, node, kinds).err().unwrap_or_default(),
            Some(_) if path.contains(".from") => self.read(name, node, kinds).err().unwrap_or_default(),
            Some(kind) => {
                let mut params = Params::checking(kind.name, self.reader(name, node));
                _ = (kind.read)(&mut params);
                Diagnostics(params.finish(true).1)
            }
        };
        let within = |key: &str| {
            key.strip_prefix(path)
                .is_some_and(|rest| !rest.starts_with(char::is_alphanumeric) && !rest.starts_with('_'))
        };
        let mine = told.into_iter().filter(|d| d.place.as_ref().is_some_and(|place| within(&place.key)));
        Diagnostics(mine.collect()).or(())
    }

    fn apply(&mut self, path: &str, node: Node) -> Result<(), Diagnostics> {
        let keys: Vec<&str> = path.split('.').collect();
        let steps: Vec<Step> = std::iter::once("parts").chain(keys.iter().copied()).map(Step::from).collect();
        let place = self.sources.place(node.file, &steps, Target::Value);
        if keys.len() > 3 || keys.iter().any(|key| key.is_empty()) {
            let error = Diagnostic::error("this is no parameter").expected("a name such as `part.parameter`");
            return Err(error.at(place).into());
        }
        let part = self.parts().iter().find(|(name, _)| name == keys[0]);
        if part.is_none() && (keys.len() > 1 || node.value == Value::Null) {
            let names = self.parts().iter().map(|(name, _)| name.as_str());
            let error = Diagnostic::error(format!("there is no part `{}`", keys[0]));
            return Err(error.near(suggest(keys[0], names)).at(place).into());
        }
        let other_kind = keys.get(1) == Some(&"part")
            && part.is_some_and(|(name, old)| node.text().is_none_or(|kind| kind != kind_name(name, old)));
        if other_kind {
            let empty = Node { value: Value::Map(Vec::new()), file: node.file };
            set(&mut self.tree, &steps[..2], empty);
        }
        set(&mut self.tree, &steps, node);
        match self.parts().iter().find(|(name, _)| name == keys[0]) {
            Some((name, part)) => head::check_part(name, part, &self.sources).or(()),
            None => Ok(()),
        }
    }
}

/// Puts a value where a path leads, with the maps that lead there; `~` takes away what is there.
fn set(tree: &mut Node, path: &[Step], value: Node) {
    let [Step::Key(key), rest @ ..] = path else {
        return;
    };
    if !matches!(tree.value, Value::Map(_)) {
        *tree = Node { value: Value::Map(Vec::new()), file: value.file };
    }
    let Value::Map(entries) = &mut tree.value else {
        return;
    };
    let old = entries.iter().position(|(k, _)| k == key);
    match (old, rest.is_empty(), &value.value) {
        (Some(i), true, Value::Null) => _ = entries.remove(i),
        (Some(i), true, _) => entries[i].1 = value,
        (None, true, _) | (None, false, Value::Null) if value.value == Value::Null => {}
        (None, true, _) => entries.push((key.clone(), value)),
        (Some(i), false, _) => set(&mut entries[i].1, rest, value),
        (None, false, _) => {
            let mut inner = Node { value: Value::Map(Vec::new()), file: value.file };
            set(&mut inner, rest, value);
            entries.push((key.clone(), inner));
        }
    }
}
