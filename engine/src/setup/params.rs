//! How a part reads its parameters.
//!
//! A part asks for each parameter once, with the text that documents it. The
//! same code serves three ends: reading a setup, listing what a kind of part
//! takes, and writing a setup out with its defaults filled in.

use super::files::Sources;
use super::node::{Node, Step};
use super::param::{Param, Sort, Written};
use super::yaml::Target;
use crate::diagnostic::{Diagnostic, Place, suggest};
use crate::part::Part;
use crate::units::Dimension;
use std::path::Path;

/// A part as it stands in a setup.
pub(super) struct Reader<'a> {
    pub instance: &'a str,
    pub node: &'a Node,
    pub parts: &'a [(String, Node)],
    pub sources: &'a Sources,
    pub root: &'a Path,
}

/// What stands in the way of a part though each of its parameters can be read.
#[derive(Debug, Clone)]
pub struct Invalid {
    key: Option<String>,
    message: String,
    help: Option<String>,
}

impl Invalid {
    /// A parameter that does not go with the others.
    pub fn at(key: impl Into<String>, message: impl Into<String>) -> Self {
        Invalid { key: Some(key.into()), message: message.into(), help: None }
    }

    /// The part as a whole.
    pub fn part(message: impl Into<String>) -> Self {
        Invalid { key: None, message: message.into(), help: None }
    }

    /// What to do.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

/// The parameters of one part.
pub struct Params<'a> {
    kind: &'static str,
    /// `None` when only the list of parameters is wanted.
    pub(super) reader: Option<Reader<'a>>,
    /// Words to take for choices while listing.
    pub(super) choose: Option<(&'static str, &'static str)>,
    pub(super) read: Vec<Param>,
    problems: Vec<Diagnostic>,
    missing: Vec<(&'static str, Diagnostic)>,
    pub(super) warnings: Vec<Diagnostic>,
    strict: bool,
    /// Whether the part is made once its parameters have been read.
    making: bool,
}

impl<'a> Params<'a> {
    pub(super) fn reading(kind: &'static str, reader: Reader<'a>) -> Self {
        Params { reader: Some(reader), ..Self::listing(kind, None) }
    }

    /// Reads each parameter for itself, without making the part.
    pub(super) fn checking(kind: &'static str, reader: Reader<'a>) -> Self {
        Params { making: false, ..Self::reading(kind, reader) }
    }

    pub(super) fn listing(kind: &'static str, choose: Option<(&'static str, &'static str)>) -> Self {
        let (read, problems, missing, warnings) = Default::default();
        Params { kind, reader: None, choose, read, problems, missing, warnings, strict: false, making: true }
    }

    /// A number with a unit.
    pub fn value(
        &mut self,
        key: &'static str,
        dimension: Dimension,
        about: &'static str,
    ) -> Asked<'_, 'a, f64> {
        self.ask(key, Sort::Value(dimension), about)
    }

    /// A whole number, 0 or more.
    pub fn count(&mut self, key: &'static str, about: &'static str) -> Asked<'_, 'a, u32> {
        self.ask(key, Sort::Count, about)
    }

    /// One of the given words.
    pub fn choice(
        &mut self,
        key: &'static str,
        words: &[&'static str],
        about: &'static str,
    ) -> Asked<'_, 'a, &'static str> {
        self.ask(key, Sort::Choice(words.to_vec()), about)
    }

    /// The name of another part of the setup.
    pub fn name(&mut self, key: &'static str, about: &'static str) -> Asked<'_, 'a, String> {
        self.ask(key, Sort::Name, about)
    }

    pub(super) fn ask<T>(&mut self, key: &'static str, sort: Sort, about: &'static str) -> Asked<'_, 'a, T> {
        let (default, within, usual, source, when, written) = Default::default();
        let param =
            Param { key, about, sort, default, required: false, within, usual, source, when, written };
        Asked { params: self, param, sort: std::marker::PhantomData }
    }

    /// Name of this part in the setup; its kind while parameters are only listed.
    pub fn instance(&self) -> &str {
        self.reader.as_ref().map_or(self.kind, |reader| reader.instance)
    }

    /// The part, made by `make` if all parameters could be read and nothing else is in the way.
    pub fn part<P: Part + 'static>(
        &mut self,
        make: impl FnOnce() -> Result<P, Invalid>,
    ) -> Option<Box<dyn Part>> {
        self.refuse_unknown();
        if !self.making || self.reader.is_none() || !self.problems.is_empty() || !self.missing.is_empty() {
            return None;
        }
        match make() {
            Ok(part) => Some(Box::new(part)),
            Err(Invalid { key, message, help }) => {
                let place = self.place(key.as_deref(), Target::Value);
                self.problems.push(Diagnostic { help, ..Diagnostic::error(message) }.at(place));
                None
            }
        }
    }

    /// What was read, what is wrong and what is unusual.
    pub(super) fn finish(mut self, made: bool) -> (Vec<Param>, Vec<Diagnostic>, Vec<Diagnostic>) {
        self.refuse_unknown();
        let mut problems: Vec<_> = self.missing.into_iter().map(|(_, problem)| problem).collect();
        problems.append(&mut self.problems);
        if let Some(reader) = self.reader.as_ref().filter(|_| !made && problems.is_empty()) {
            let place = reader.sources.place(reader.node.file, &reader.path(&[]), Target::Key);
            problems.push(Diagnostic::error("the part could not be made and does not say why").at(place));
        }
        (self.read, problems, self.warnings)
    }

    /// Keys nobody asked for. A required key that is missing and stands there
    /// with a slip is one mistake, not two.
    fn refuse_unknown(&mut self) {
        let Some(reader) = self.reader.as_ref().filter(|_| !self.strict) else {
            return;
        };
        self.strict = true;
        let known: Vec<&str> = self.read.iter().map(|param| param.key).collect();
        for (key, node) in reader.node.entries() {
            if known.contains(&key.as_str()) || key == "part" || key == "from" {
                continue;
            }
            let near = suggest(key, known.iter().copied());
            self.missing.retain(|(missing, _)| Some(*missing) != near);
            let error = Diagnostic::error(format!("a {} has no such parameter", self.kind));
            let all =
                if known.is_empty() { "it has none".into() } else { format!("it has {}", known.join(", ")) };
            let place = reader.sources.place(node.file, &reader.path(&[key]), Target::Key);
            self.problems.push(error.help(all).near(near).at(place));
        }
    }

    /// Where a parameter stands, or the part if it does not.
    pub(super) fn place(&self, key: Option<&str>, target: Target) -> Place {
        let Some(reader) = &self.reader else {
            let key = key.map_or(self.kind.to_owned(), |key| format!("{}.{key}", self.kind));
            return Place { key, ..Place::default() };
        };
        match key.and_then(|key| Some((key, reader.node.get(key)?))) {
            Some((key, node)) => reader.sources.place(node.file, &reader.path(&[key]), target),
            None => {
                let place = reader.sources.place(reader.node.file, &reader.path(&[]), Target::Key);
                Place { key: key.map_or(place.key.clone(), |key| format!("{}.{key}", place.key)), ..place }
            }
        }
    }

    pub(super) fn problem(&mut self, key: &str, error: Diagnostic) {
        let place = self.place(Some(key), Target::Value);
        self.problems.push(error.at(place));
    }

    pub(super) fn problems_at(&mut self, problems: Vec<(Diagnostic, Place)>) {
        self.problems.extend(problems.into_iter().map(|(error, place)| error.at(place)));
    }

    /// The value of a key. What is missing, asked for twice or reserved is noted.
    pub(super) fn find(&mut self, param: &Param) -> Option<&'a Node> {
        let key = param.key;
        if self.read.iter().any(|known| known.key == key) || key == "part" || key == "from" {
            self.problem(
                key,
                Diagnostic::error("fault in this kind of part: it asks for this key twice or in vain"),
            );
        }
        let reader = self.reader.as_ref()?;
        let found = reader.node.get(key);
        if found.is_none() && param.required {
            let error = Diagnostic::error("this parameter is missing").expected(param.expected());
            let help = format!("add `{key}: {}`", param.example());
            let place = self.place(Some(key), Target::Key);
            self.missing.push((key, error.help(help).at(place)));
        }
        found
    }
}

impl Reader<'_> {
    pub(super) fn path(&self, keys: &[&str]) -> Vec<Step> {
        ["parts", self.instance].iter().chain(keys).map(|key| Step::from(*key)).collect()
    }
}

/// A parameter that has been asked for, until it is said what happens if it is left out.
#[must_use = "say whether it is `required()`, `optional()`, or has a default with `or(…)`"]
pub struct Asked<'p, 'a, T> {
    pub(super) params: &'p mut Params<'a>,
    pub(super) param: Param,
    sort: std::marker::PhantomData<T>,
}

impl<'p, 'a, T> Asked<'p, 'a, T> {
    /// Source of its default or range: author, year, table.
    pub fn source(mut self, source: &'static str) -> Self {
        self.param.source = Some(source);
        self
    }

    /// Notes the parameter as done.
    pub(super) fn done(self, written: Option<Written>) {
        let when = self.params.choose.map(|(key, word)| format!("{key}: {word}"));
        self.params.read.push(Param { written, when, ..self.param });
    }
}
