//! Tables as parameters.
//!
//! ```yaml
//! open_water: {J: [0, 0.5, 1], KT: [0.4, 0.2, 0]}           # columns
//! open_water: [{J: 0, KT: 0.4}, {J: 0.5, KT: 0.2}]          # rows
//! throttle: {"time [s]": [0, 3], "level [%]": [0, 80]}      # units once, at the top
//! open_water: {file: open_water.csv}                        # headings `J [1]`, `KT [1]`
//! ```
//!
//! In a CSV file further columns are ignored and lines beginning with `#` are
//! comments; in a setup a column nobody asked for is an error.

use super::files::{self, Source};
use super::node::{Node, Step, Value};
use super::param::{Sort, Written};
use super::param_number::quantity;
use super::params::{Asked, Params};
use super::sheet::{self, Column, Fault, Where};
use super::yaml::Target;
use crate::diagnostic::{Diagnostic, Place, suggest};
use crate::units::{self, Dimension};

/// A table that has been asked for, `N` columns wide.
#[must_use = "say whether it is `required()`, `optional()`, or has a default with `or(…)`"]
pub struct AskedTable<'p, 'a, const N: usize> {
    asked: Asked<'p, 'a, [(); N]>,
    columns: [(&'static str, Dimension); N],
    rows: usize,
    ascending: bool,
}

impl<'a> Params<'a> {
    /// Columns of numbers of equal length, each with its heading and dimension.
    pub fn table<const N: usize>(
        &mut self,
        key: &'static str,
        columns: &[(&'static str, Dimension); N],
        about: &'static str,
    ) -> AskedTable<'_, 'a, N> {
        let asked = self.ask(key, Sort::Table(columns.to_vec()), about);
        AskedTable { asked, columns: *columns, rows: 1, ascending: false }
    }
}

impl<'a, const N: usize> AskedTable<'_, 'a, N> {
    /// Source of its default: author, year, table.
    pub fn source(mut self, source: &'static str) -> Self {
        self.asked = self.asked.source(source);
        self
    }

    /// Refused with fewer rows.
    pub fn rows(mut self, at_least: usize) -> Self {
        self.rows = at_least;
        self
    }

    /// Refused unless each value in the first column is larger than the one before.
    pub fn ascending(mut self) -> Self {
        self.ascending = true;
        self
    }

    /// It must be there. Columns 0, 1, 2, … stand in if it is not.
    pub fn required(mut self) -> [Vec<f64>; N] {
        self.asked.param.required = true;
        let rows = self.rows.max(2);
        let stand_in = || (0..rows).map(|i| i as f64).collect();
        self.read(None).unwrap_or_else(|| std::array::from_fn(|_| stand_in()))
    }

    /// It may be left out.
    pub fn optional(self) -> Option<[Vec<f64>; N]> {
        self.read(None)
    }

    /// Its columns if it is left out, SI.
    pub fn or(self, default: [&[f64]; N]) -> [Vec<f64>; N] {
        let default = default.map(<[f64]>::to_vec);
        self.read(Some(default.clone())).unwrap_or(default)
    }

    fn read(mut self, default: Option<[Vec<f64>; N]>) -> Option<[Vec<f64>; N]> {
        let rows = |columns: &[Vec<f64>; N]| columns.first().map_or(0, Vec::len);
        self.asked.param.default = default.as_ref().map(|c| format!("a table of {} rows", rows(c)));
        let columns = match self.asked.params.find(&self.asked.param) {
            None => default,
            Some(node) => match self.columns_of(node) {
                Ok(columns) => Some(columns),
                Err(problems) => {
                    self.asked.params.problems_at(problems);
                    None
                }
            },
        };
        self.asked.done(columns.clone().map(|columns| Written::Table(columns.into())));
        columns
    }

    /// All columns in SI units, or everything that is wrong with them.
    fn columns_of(&self, node: &'a Node) -> Result<[Vec<f64>; N], Vec<(Diagnostic, Place)>> {
        let Some(reader) = &self.asked.params.reader else { return Err(Vec::new()) };
        let mut csv: Option<&Source> = None;
        let raw = match &node.value {
            Value::Map(entries) if node.get("file").is_some() => self.csv(entries).and_then(|source| {
                csv = Some(source);
                sheet::of_csv(&source.text)
            }),
            Value::Map(entries) => sheet::of_columns(entries),
            Value::List(rows) => sheet::of_rows(rows),
            _ => Err(vec![(
                self.wrong("no table").found(node.describe()),
                Where::Value(node.file, Vec::new()),
            )]),
        };
        raw.and_then(|raw| self.understand(raw, node)).map_err(|faults| {
            let key = self.asked.param.key;
            let path = |steps: &[Step]| [&reader.path(&[key])[..], steps].concat();
            let place = |at| match (at, csv) {
                (Where::Key(file, steps), _) => reader.sources.place(file, &path(&steps), Target::Key),
                (Where::Value(file, steps), _) => reader.sources.place(file, &path(&steps), Target::Value),
                (Where::Csv(line, column), Some(source)) => Place {
                    key: format!("{}.{key}", reader.instance),
                    ..Place::at(&source.name, line as usize, column, source.text.clone())
                },
                (Where::Csv(..), None) => Place::default(),
            };
            faults.into_iter().map(|(error, at)| (error, place(at))).collect()
        })
    }

    fn wrong(&self, message: &str) -> Diagnostic {
        Diagnostic::error(message).expected(self.asked.param.expected())
    }

    /// The text of `{file: name.csv}`, which was read with the setup.
    fn csv(&self, entries: &'a [(String, Node)]) -> Result<&'a Source, Vec<Fault>> {
        let mut found = None;
        for (key, node) in entries {
            if key != "file" {
                let error =
                    Diagnostic::error("a table from a file has no other keys").help("remove this key");
                return Err(vec![(error, Where::Key(node.file, vec![key.as_str().into()]))]);
            }
            let fault = |error| vec![(error, Where::Value(node.file, vec!["file".into()]))];
            let (Some(reader), Some(name)) = (&self.asked.params.reader, node.text()) else {
                let error = Diagnostic::error("no file").expected("the name of a CSV file");
                return Err(fault(error.found(node.describe())));
            };
            let path = files::resolve(reader.root, &reader.sources.home(node.file), name).map_err(fault)?;
            found = reader.sources.file(&path);
        }
        let unread = || (Diagnostic::error("the file has not been read"), Where::Csv(1, 1));
        found.ok_or_else(|| vec![unread()])
    }

    /// Columns by name, cells as numbers.
    fn understand(&self, raw: Vec<Column>, node: &Node) -> Result<[Vec<f64>; N], Vec<Fault>> {
        let mut faults = Vec::new();
        let whole = || Where::Value(node.file, Vec::new());
        let names = self.columns.map(|(name, _)| name);
        let from_csv = node.get("file").is_some();
        for column in raw.iter().filter(|column| !from_csv && !names.contains(&split(&column.heading).0)) {
            let near = suggest(split(&column.heading).0, names);
            let error =
                Diagnostic::error("unknown column").help(format!("the columns are {}", names.join(", ")));
            faults.push((error.near(near), column.at.clone()));
        }
        let columns = self.columns.map(|(name, dimension)| {
            let mut found = raw.iter().filter(|column| split(&column.heading).0 == name);
            let Some(column) = found.next() else {
                let at = if from_csv { Where::Csv(1, 1) } else { whole() };
                faults.push((self.wrong(&format!("the column `{name}` is missing")), at));
                return Vec::new();
            };
            if let Some(twice) = found.next() {
                faults.push((Diagnostic::error(format!("a second column `{name}`")), twice.at.clone()));
            }
            let unit = split(&column.heading).1;
            let mut numbers = Vec::with_capacity(column.cells.len());
            for (cell, at) in &column.cells {
                match number(cell, unit, dimension) {
                    Ok(number) => numbers.push(number),
                    // One wrong cell shows what is wrong with a column.
                    Err(error) => {
                        faults.push((error, at.clone()));
                        break;
                    }
                }
            }
            numbers
        });
        if !faults.is_empty() {
            return Err(faults);
        }
        let lengths = columns.each_ref().map(Vec::len);
        let rows = lengths.first().copied().unwrap_or(0);
        if let Some(i) = lengths.iter().position(|n| *n != rows) {
            let found = format!("{rows} values of {} and {} of {}", names[0], lengths[i], names[i]);
            return Err(vec![(Diagnostic::error("the columns differ in length").found(found), whole())]);
        }
        if rows < self.rows {
            let error = Diagnostic::error("too few rows").expected(format!("at least {}", self.rows));
            return Err(vec![(error.found(rows.to_string()), whole())]);
        }
        if self.ascending {
            let first = &columns[0];
            if let Some(i) = (1..rows).find(|&i| first[i] <= first[i - 1]) {
                let show = |x| units::show(x, self.columns[0].1);
                let found = format!("{} after {}", show(first[i]), show(first[i - 1]));
                let column = raw.iter().find(|column| split(&column.heading).0 == names[0]);
                let at = column.map_or_else(whole, |column| column.cells[i].1.clone());
                let error = Diagnostic::error(format!("`{}` must rise from row to row", names[0]));
                return Err(vec![(error.found(found), at)]);
            }
        }
        Ok(columns)
    }
}

/// `time [s]` as `time` and `s`; no unit where there are no brackets.
fn split(heading: &str) -> (&str, Option<&str>) {
    let brackets = heading.trim().strip_suffix(']').and_then(|text| text.rsplit_once('['));
    match brackets {
        Some((name, unit)) => (name.trim(), Some(unit.trim())),
        None => (heading.trim(), None),
    }
}

/// A cell in SI units; a unit in the heading goes with a bare number.
fn number(cell: &Node, unit: Option<&str>, dimension: Dimension) -> Result<f64, Diagnostic> {
    let Some(unit) = unit else { return quantity(cell, dimension) };
    let unit = if matches!(unit, "1" | "-" | "–") { "" } else { unit };
    let text = match &cell.value {
        Value::Int(i) => i.to_string(),
        Value::Float(x) => units::number(*x),
        Value::Text(text) => text.trim().to_owned(),
        _ => String::new(),
    };
    if text.parse::<f64>().is_err() {
        let error = Diagnostic::error("not a number").expected("a number").found(cell.describe());
        return Err(error.help("below a heading with brackets stand bare numbers"));
    }
    quantity(&Node { value: Value::Text(format!("{text} {unit}")), file: cell.file }, dimension)
}
