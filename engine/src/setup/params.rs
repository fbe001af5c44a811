//! How a part reads its parameters.
//!
//! A part asks for each parameter once, with the text that documents it. The
//! same code serves three ends: reading a setup, listing what a kind of part
//! takes, and writing a setup out with its defaults filled in.

use super::files::Sources;
use super::node::{Node, Step, Value};
use super::yaml::Target;
use crate::diagnostic::{Diagnostic, Place, suggest};
use crate::part::Part;
use crate::units::{self, Dimension, UnitError, show};
use std::path::Path;

/// What a parameter is.
#[derive(Debug, Clone, PartialEq)]
pub enum Sort {
    /// A number with a unit.
    Value(Dimension),
    /// A whole number.
    Count,
    /// One of some words.
    Choice(Vec<&'static str>),
    /// The name of another part.
    Name,
    /// Columns of numbers, with what they are.
    Table(Vec<(&'static str, Dimension)>),
}

/// A parameter: what it is, and what it turned out to be.
#[derive(Debug, Clone, PartialEq)]
pub struct Param {
    /// Key in the setup.
    pub key: &'static str,
    /// What it means.
    pub about: &'static str,
    /// What kind of value it takes.
    pub sort: Sort,
    /// Value if the key is left out.
    pub default: Option<String>,
    /// Whether the key must be there.
    pub required: bool,
    /// Range outside which it is refused, SI.
    pub within: Option<(f64, f64)>,
    /// Range outside which there is a warning, SI.
    pub usual: Option<(f64, f64)>,
    /// Where default or range come from.
    pub source: Option<&'static str>,
    /// Only taken if another parameter has this value, such as "outline: square".
    pub when: Option<String>,
    /// Value as it is written into a setup; `None` if it was left out and has no default.
    pub(super) written: Option<Written>,
}

/// A value on its way into a file.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Written {
    Text(String),
    /// Columns in SI units.
    Table(Vec<Vec<f64>>),
}

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
    warnings: Vec<Diagnostic>,
    strict: bool,
}

impl<'a> Params<'a> {
    pub(super) fn reading(kind: &'static str, reader: Reader<'a>) -> Self {
        Params { reader: Some(reader), ..Self::listing(kind, None) }
    }

    pub(super) fn listing(kind: &'static str, choose: Option<(&'static str, &'static str)>) -> Self {
        let (read, problems, missing, warnings) = Default::default();
        Params { kind, reader: None, choose, read, problems, missing, warnings, strict: false }
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
        if self.reader.is_none() || !self.problems.is_empty() || !self.missing.is_empty() {
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
    fn place(&self, key: Option<&str>, target: Target) -> Place {
        let Some(reader) = &self.reader else {
            return Place { key: self.kind.into(), ..Place::default() };
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

    pub(super) fn problem_at(&mut self, error: Diagnostic, place: Place) {
        self.problems.push(error.at(place));
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

impl Asked<'_, '_, f64> {
    /// Refused outside `low` to `high`, SI, both included. Infinity for no limit.
    pub fn within(mut self, low: f64, high: f64) -> Self {
        self.param.within = Some((low, high));
        self
    }

    /// A warning outside `low` to `high`, SI.
    pub fn usual(mut self, low: f64, high: f64) -> Self {
        self.param.usual = Some((low, high));
        self
    }

    /// It must be there. Another number stands in if it is not, so that the rest can be read.
    pub fn required(mut self) -> f64 {
        self.param.required = true;
        let (low, high) = self.param.within.unwrap_or((1.0, 1.0));
        let middle = 0.5 * (low + high);
        let stand_in = if middle.is_finite() { middle } else { low.max(-high.abs()).max(1.0) };
        self.read(None).unwrap_or(stand_in)
    }

    /// It may be left out.
    pub fn optional(self) -> Option<f64> {
        self.read(None)
    }

    /// Its value if it is left out, as it would be written.
    pub fn or(self, default: &'static str) -> f64 {
        let Sort::Value(dimension) = self.param.sort else {
            return f64::NAN;
        };
        let stand_in = units::parse(default, dimension).unwrap_or(1.0);
        self.read(Some(default)).unwrap_or(stand_in)
    }

    fn read(mut self, default: Option<&'static str>) -> Option<f64> {
        let Sort::Value(dimension) = self.param.sort else {
            return None;
        };
        self.param.default = default.map(str::to_owned);
        let found = self.params.find(&self.param);
        let (value, text) = match (found, default) {
            (Some(node), _) => {
                let value =
                    quantity(node, dimension).map_err(|error| self.params.problem(self.param.key, error));
                (value.ok(), written(node, dimension))
            }
            (None, Some(default)) => {
                let value = units::parse(default, dimension).map_err(|error| {
                    let fault = format!("fault in this kind of part: its default is wrong: {error}");
                    self.params.problem(self.param.key, Diagnostic::error(fault));
                });
                (value.ok(), default.to_owned())
            }
            (None, None) => (None, String::new()),
        };
        let found = found.map_or_else(|| format!("\"{text}\""), Node::describe);
        let outside = |(low, high): (f64, f64)| value.is_some_and(|x| !(low..=high).contains(&x));
        if let Some(range) = self.param.within.filter(|range| outside(*range)) {
            let error = Diagnostic::error("out of range").expected(range_text(range, dimension)).found(found);
            self.params.problem(self.param.key, error);
            self.done(None);
            return None;
        }
        if let Some(range) = self.param.usual.filter(|range| outside(*range)) {
            let warning = Diagnostic::warning("unusual").expected(range_text(range, dimension)).found(found);
            let place = self.params.place(Some(self.param.key), Target::Value);
            self.params.warnings.push(warning.at(place));
        }
        self.done(value.map(|_| Written::Text(text)));
        value
    }
}

impl Asked<'_, '_, u32> {
    /// Refused outside `low` to `high`, both included.
    pub fn within(mut self, low: u32, high: u32) -> Self {
        self.param.within = Some((low.into(), high.into()));
        self
    }

    /// It must be there.
    pub fn required(mut self) -> u32 {
        self.param.required = true;
        let stand_in = self.param.within.map_or(1, |(low, _)| low as u32);
        self.read(None).unwrap_or(stand_in)
    }

    /// It may be left out.
    pub fn optional(self) -> Option<u32> {
        self.read(None)
    }

    /// Its value if it is left out.
    pub fn or(self, default: u32) -> u32 {
        self.read(Some(default)).unwrap_or(default)
    }

    fn read(mut self, default: Option<u32>) -> Option<u32> {
        self.param.default = default.map(|n| n.to_string());
        let (low, high) = self.param.within.unwrap_or((0.0, f64::from(u32::MAX)));
        let Some(node) = self.params.find(&self.param) else {
            self.done(default.map(|n| Written::Text(n.to_string())));
            return default;
        };
        let number = match &node.value {
            Value::Int(i) => *i as f64,
            Value::Float(x) | Value::Si(x) => *x,
            Value::Text(text) => text.trim().parse().unwrap_or(f64::NAN),
            _ => f64::NAN,
        };
        if number.fract() == 0.0 && (low..=high).contains(&number) {
            self.done(Some(Written::Text(format!("{number}"))));
            return Some(number as u32);
        }
        let (message, expected) = match number.fract() == 0.0 {
            true => ("out of range", format!("{low} to {high}")),
            false => ("not a whole number", self.param.expected()),
        };
        self.params
            .problem(self.param.key, Diagnostic::error(message).expected(expected).found(node.describe()));
        self.done(None);
        None
    }
}

impl Asked<'_, '_, &'static str> {
    /// It must be there.
    pub fn required(mut self) -> &'static str {
        self.param.required = true;
        self.read(None).unwrap_or("")
    }

    /// It may be left out.
    pub fn optional(self) -> Option<&'static str> {
        self.read(None)
    }

    /// The word if it is left out.
    pub fn or(self, default: &'static str) -> &'static str {
        self.read(Some(default)).unwrap_or(default)
    }

    fn read(mut self, default: Option<&'static str>) -> Option<&'static str> {
        self.param.default = default.map(str::to_owned);
        let Sort::Choice(words) = self.param.sort.clone() else {
            return None;
        };
        let key = self.param.key;
        if words.is_empty() || default.is_some_and(|word| !words.contains(&word)) {
            self.params
                .problem(key, Diagnostic::error("fault in this kind of part: its default is no choice"));
        }
        let found = self.params.find(&self.param);
        let listed = self.params.choose.filter(|(chosen, _)| *chosen == key).map(|(_, word)| word);
        let first = words.first().copied().filter(|_| self.params.reader.is_none() && self.param.required);
        let word = match found {
            Some(node) => match node.text().and_then(|text| words.iter().find(|word| **word == text)) {
                Some(word) => Some(*word),
                None => {
                    let near = node.text().and_then(|text| suggest(text, words.iter().copied()));
                    let error = Diagnostic::error("no such choice").expected(self.param.expected());
                    self.params.problem(key, error.found(node.describe()).near(near));
                    None
                }
            },
            None => listed.or(default).or(first),
        };
        self.done(word.map(|word| Written::Text(word.to_owned())));
        word
    }
}

impl Asked<'_, '_, String> {
    /// It must be there.
    pub fn required(mut self) -> String {
        self.param.required = true;
        self.read(None).unwrap_or_default()
    }

    /// It may be left out.
    pub fn optional(self) -> Option<String> {
        self.read(None)
    }

    /// The name if it is left out; that part must be there then.
    pub fn or(self, default: &'static str) -> String {
        self.read(Some(default)).unwrap_or_else(|| default.into())
    }

    fn read(mut self, default: Option<&'static str>) -> Option<String> {
        self.param.default = default.map(str::to_owned);
        let node = self.params.find(&self.param);
        let name = node.map_or(default, Node::text);
        let parts = self.params.reader.as_ref().map(|reader| reader.parts);
        let there = |name: &str| parts.is_none_or(|parts| parts.iter().any(|(part, _)| part == name));
        let good = name.filter(|name| there(name));
        if good.is_none() && (node.is_some() || default.is_some()) {
            let names = parts.unwrap_or_default().iter().map(|(name, _)| name.as_str());
            let near = name.and_then(|name| suggest(name, names));
            let found = node.map_or_else(|| format!("\"{}\"", default.unwrap_or_default()), Node::describe);
            let error =
                Diagnostic::error("there is no such part").expected("the name of a part").found(found);
            self.params.problem(self.param.key, error.near(near));
        }
        let good = good.map(str::to_owned);
        self.done(good.clone().map(Written::Text));
        good
    }
}

/// A node as a quantity in SI units.
pub(super) fn quantity(node: &Node, dimension: Dimension) -> Result<f64, Diagnostic> {
    let pure = dimension.si.is_empty();
    let wrong = |error: UnitError, found: String| {
        let (message, found) = match &error {
            UnitError::NoNumber(_) => ("not a number", found),
            UnitError::NotFinite(_) => ("not a finite number", found),
            UnitError::NoUnit(_) => ("the unit is missing", found),
            UnitError::OtherDimension { other, .. } => {
                ("another kind of quantity", format!("{found}, {other}"))
            }
            UnitError::UnknownUnit { .. } => ("unknown unit", found),
        };
        Diagnostic::error(message).expected(dimension.expected()).found(found).help(error.help(dimension))
    };
    match &node.value {
        Value::Text(text) => units::parse(text, dimension).map_err(|error| wrong(error, node.describe())),
        Value::Si(x) if x.is_finite() => Ok(*x),
        Value::Int(i) if pure => Ok(*i as f64),
        Value::Float(x) if pure => Ok(*x),
        Value::Int(_) | Value::Float(_) => Err(wrong(UnitError::NoUnit(String::new()), node.describe())),
        _ => Err(Diagnostic::error("not a number").expected(dimension.expected()).found(node.describe())),
    }
}

/// A quantity as it goes into a file: as it was written, or SI if it came as a bare number.
fn written(node: &Node, dimension: Dimension) -> String {
    match &node.value {
        Value::Text(text) => text.clone(),
        Value::Si(x) => format!("{} {}", units::number(*x), dimension.si).trim_end().into(),
        Value::Float(x) => units::number(*x),
        Value::Int(i) => i.to_string(),
        _ => String::new(),
    }
}

/// "20 mm to 300 mm", "at least 1 kg".
pub fn range_text((low, high): (f64, f64), dimension: Dimension) -> String {
    match (low.is_finite(), high.is_finite()) {
        (true, true) => format!("{} to {}", show(low, dimension), show(high, dimension)),
        (true, false) => format!("at least {}", show(low, dimension)),
        (false, true) => format!("at most {}", show(high, dimension)),
        (false, false) => "any value".into(),
    }
}

impl Param {
    /// "a length such as "150 mm"".
    pub fn expected(&self) -> String {
        match &self.sort {
            Sort::Value(dimension) => dimension.expected(),
            Sort::Count => "a whole number".into(),
            Sort::Choice(words) => words.join(" or "),
            Sort::Name => "the name of a part".into(),
            Sort::Table(columns) => {
                let names: Vec<_> = columns.iter().map(|(name, _)| *name).collect();
                format!("a table with columns {}", names.join(", "))
            }
        }
    }

    fn example(&self) -> String {
        match &self.sort {
            Sort::Value(dimension) => dimension.example.into(),
            Sort::Count => "1".into(),
            Sort::Choice(words) => words.first().copied().unwrap_or_default().into(),
            Sort::Name => "…".into(),
            Sort::Table(columns) => {
                let lists: Vec<_> = columns.iter().map(|(name, _)| format!("{name}: […]")).collect();
                format!("{{{}}}", lists.join(", "))
            }
        }
    }
}
