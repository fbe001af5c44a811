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

use super::files;
use super::node::{Node, Step, Value};
use super::params::{Asked, Params, Sort, Written, quantity};
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

impl<const N: usize> AskedTable<'_, '_, N> {
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

    /// It must be there. Columns of zeros and ones stand in if it is not.
    pub fn required(mut self) -> [Vec<f64>; N] {
        self.asked.param.required = true;
        let rows = self.rows.max(2);
        self.read(None).unwrap_or_else(|| std::array::from_fn(|_| (0..rows).map(|i| i as f64).collect()))
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
        self.asked.param.default = default.as_ref().map(|columns| {
            let rows = columns.first().map_or(0, Vec::len);
            format!("a table of {rows} rows")
        });
        let Some(node) = self.asked.params.find(&self.asked.param) else {
            self.asked.done(default.clone().map(|columns| Written::Table(columns.into())));
            return default;
        };
        let sheet = match self.sheet(node) {
            Ok(sheet) => sheet,
            Err(problems) => {
                for (error, place) in problems {
                    self.asked.params.problem_at(error, place);
                }
                self.asked.done(None);
                return None;
            }
        };
        let columns: [Vec<f64>; N] = sheet;
        self.asked.done(Some(Written::Table(columns.to_vec())));
        Some(columns)
    }

    /// All columns in SI units, or everything that is wrong with them.
    fn sheet(&self, node: &Node) -> Result<[Vec<f64>; N], Vec<(Diagnostic, Place)>> {
        let key = self.asked.param.key;
        let Some(reader) = &self.asked.params.reader else {
            return Err(Vec::new());
        };
        let path = |more: &[Step]| [&reader.path(&[key])[..], more].concat();
        let place = |node: &Node, more: &[Step], target| reader.sources.place(node.file, &path(more), target);
        let whole = || place(node, &[], Target::Value);
        let wrong = |message: &str| Diagnostic::error(message).expected(self.asked.param.expected());

        let raw: Vec<RawColumn> = match &node.value {
            Value::Map(entries) if entries.iter().any(|(key, _)| key == "file") => {
                let file = node.get("file").unwrap_or(node);
                if let Some((other, at)) = entries.iter().find(|(key, _)| key != "file") {
                    let error =
                        Diagnostic::error("a table from a file has no other keys").help("remove this key");
                    return Err(vec![(error, place(at, &[other.as_str().into()], Target::Key))]);
                }
                let fault = |error: Diagnostic| vec![(error, place(file, &["file".into()], Target::Value))];
                let Some(name) = file.text() else {
                    return Err(fault(
                        Diagnostic::error("no file")
                            .expected("the name of a CSV file")
                            .found(file.describe()),
                    ));
                };
                let at = files::resolve(reader.root, &reader.sources.home(file.file), name).map_err(fault)?;
                let Some(source) = reader.sources.file(&at) else {
                    return Err(fault(Diagnostic::error("the file has not been read")));
                };
                csv_columns(&source.text, &source.name, &path_key(reader.instance, key))
                    .map_err(|e| vec![e])?
            }
            Value::Map(entries) => {
                let mut raw = Vec::new();
                let mut problems = Vec::new();
                for (heading, cells) in entries {
                    let step = Step::from(heading.as_str());
                    let Value::List(items) = &cells.value else {
                        let error = Diagnostic::error("a column is a list").expected("a list of numbers");
                        problems.push((error.found(cells.describe()), place(cells, &[step], Target::Value)));
                        continue;
                    };
                    let cell = |(i, item): (usize, &Node)| {
                        (item.clone(), Where::Tree(item.file, vec![step.clone(), Step::Index(i)]))
                    };
                    let cells = items.iter().enumerate().map(cell).collect();
                    raw.push(RawColumn {
                        heading: heading.clone(),
                        at: place(node, &[step.clone()], Target::Key),
                        cells,
                    });
                }
                if !problems.is_empty() {
                    return Err(problems);
                }
                raw
            }
            Value::List(rows) => {
                let mut raw: Vec<RawColumn> = Vec::new();
                for (i, row) in rows.iter().enumerate() {
                    let Value::Map(cells) = &row.value else {
                        let error = wrong("a row names its columns").found(row.describe());
                        return Err(vec![(error, place(row, &[Step::Index(i)], Target::Value))]);
                    };
                    for (heading, cell) in cells {
                        let steps = vec![Step::Index(i), heading.as_str().into()];
                        let at = place_lazy(i, || place(cell, &steps, Target::Key));
                        let cell = (cell.clone(), Where::Tree(cell.file, steps));
                        match raw.iter_mut().find(|column| column.heading == *heading) {
                            Some(column) => column.cells.push(cell),
                            None => raw.push(RawColumn { heading: heading.clone(), at, cells: vec![cell] }),
                        }
                    }
                }
                raw
            }
            _ => return Err(vec![(wrong("no table").found(node.describe()), whole())]),
        };
        self.understand(raw, node, &|at| match at {
            Where::Tree(file, steps) => reader.sources.place(*file, &path(steps), Target::Value),
            Where::Csv(place) => (**place).clone(),
        })
    }

    /// Columns by name, cells as numbers.
    fn understand(
        &self,
        raw: Vec<RawColumn>,
        node: &Node,
        place_of: &dyn Fn(&Where) -> Place,
    ) -> Result<[Vec<f64>; N], Vec<(Diagnostic, Place)>> {
        let mut problems = Vec::new();
        let whole = place_of(&Where::Tree(node.file, Vec::new()));
        let from_file = node.get("file").is_some();
        let names = self.columns.map(|(name, _)| name);
        for column in raw.iter().filter(|column| !from_file && !names.contains(&heading(&column.heading).0)) {
            let near = suggest(heading(&column.heading).0, names);
            let error =
                Diagnostic::error("unknown column").help(format!("the columns are {}", names.join(", ")));
            problems.push((error.near(near), column.at.clone()));
        }
        let columns = self.columns.map(|(name, dimension)| {
            let mut found = raw.iter().filter(|column| heading(&column.heading).0 == name);
            let Some(column) = found.next() else {
                let error = Diagnostic::error(format!("the column `{name}` is missing"));
                problems.push((error.expected(self.asked.param.expected()), whole.clone()));
                return Vec::new();
            };
            if let Some(twice) = found.next() {
                problems.push((
                    Diagnostic::error(format!("the column `{name}` stands here twice")),
                    twice.at.clone(),
                ));
            }
            let unit = heading(&column.heading).1;
            let mut values = Vec::with_capacity(column.cells.len());
            for (cell, at) in &column.cells {
                match number(cell, unit, dimension) {
                    Ok(value) => values.push(value),
                    // One wrong cell is enough to see what is wrong with a column.
                    Err(error) => {
                        problems.push((error, place_of(at)));
                        return Vec::new();
                    }
                }
            }
            values
        });
        if !problems.is_empty() {
            return Err(problems);
        }
        let lengths = columns.each_ref().map(Vec::len);
        let rows = lengths.first().copied().unwrap_or(0);
        if let Some(i) = lengths.iter().position(|n| *n != rows) {
            let error = Diagnostic::error("the columns differ in length");
            let (a, b) = (names[0], names[i]);
            return Err(vec![(
                error.found(format!("{rows} values of {a} and {} of {b}", lengths[i])),
                whole,
            )]);
        }
        if rows < self.rows {
            let error = Diagnostic::error("too few rows").expected(format!("at least {}", self.rows));
            return Err(vec![(error.found(rows.to_string()), whole)]);
        }
        if self.ascending {
            let first = &columns[0];
            if let Some(i) = (1..rows).find(|&i| first[i] <= first[i - 1]) {
                let column = raw.iter().find(|column| heading(&column.heading).0 == names[0]);
                let at = column.map_or(whole, |column| place_of(&column.cells[i].1));
                let error = Diagnostic::error(format!("{} must rise from row to row", names[0]));
                let text = |x| units::show(x, self.columns[0].1);
                return Err(vec![(
                    error.found(format!("{} after {}", text(first[i]), text(first[i - 1]))),
                    at,
                )]);
            }
        }
        Ok(columns)
    }
}

/// Where a cell stands: found out only if it must be told.
enum Where {
    Tree(usize, Vec<Step>),
    Csv(Box<Place>),
}

struct RawColumn {
    heading: String,
    at: Place,
    cells: Vec<(Node, Where)>,
}

/// Only the first row introduces headings; the places of the others are not looked up.
fn place_lazy(row: usize, place: impl FnOnce() -> Place) -> Place {
    if row == 0 { place() } else { Place::default() }
}

fn path_key(instance: &str, key: &str) -> String {
    format!("{instance}.{key}")
}

/// `time [s]` as `time` and `s`; no unit where there are no brackets.
fn heading(text: &str) -> (&str, Option<&str>) {
    match text.trim().strip_suffix(']').and_then(|text| text.rsplit_once('[')) {
        Some((name, unit)) => (name.trim(), Some(unit.trim())),
        None => (text.trim(), None),
    }
}

/// A cell in SI units; a unit in the heading goes with a bare number.
fn number(cell: &Node, unit: Option<&str>, dimension: Dimension) -> Result<f64, Diagnostic> {
    let Some(unit) = unit else {
        return quantity(cell, dimension);
    };
    let unit = if matches!(unit, "1" | "-" | "–") { "" } else { unit };
    let text = match &cell.value {
        Value::Int(i) => i.to_string(),
        Value::Float(x) => units::number(*x),
        Value::Text(text) => text.trim().to_owned(),
        _ => {
            return Err(Diagnostic::error("not a number").expected("a number").found(cell.describe()));
        }
    };
    if text.parse::<f64>().is_err() {
        let help = format!("the heading gives the unit, [{unit}]");
        return Err(Diagnostic::error("not a number").expected("a number").found(cell.describe()).help(help));
    }
    let value = Value::Text(format!("{text} {unit}"));
    quantity(&Node { value, file: cell.file }, dimension)
}

/// The columns of a CSV file, each cell with its line and column.
fn csv_columns(text: &str, file: &str, key: &str) -> Result<Vec<RawColumn>, (Diagnostic, Place)> {
    let source: std::sync::Arc<str> = text.into();
    let at = |line: u64, column: usize| {
        let place = Place::at(file, line as usize, column, source.clone());
        Place { key: key.into(), ..place }
    };
    let mut csv = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes());
    let mut columns: Vec<RawColumn> = Vec::new();
    for (row, record) in csv.records().enumerate() {
        let record = record.map_err(|error| {
            let line = error.position().map_or(1, csv::Position::line);
            (Diagnostic::error(format!("not a CSV file: {error}")), at(line, 1))
        })?;
        let line = record.position().map_or(1, csv::Position::line);
        // Columns of the text, if no cell before is in quotes.
        let starts = (0..record.len()).map(|i| {
            let before: usize = record.iter().take(i).map(|cell| cell.chars().count() + 1).sum();
            before + 1
        });
        if row > 0 && record.len() != columns.len() {
            let found = format!("{} cells under {} headings", record.len(), columns.len());
            return Err((Diagnostic::error("this row does not fit").found(found), at(line, 1)));
        }
        for (i, (cell, start)) in record.iter().zip(starts).enumerate() {
            if row == 0 {
                columns.push(RawColumn {
                    heading: cell.trim().into(),
                    at: at(line, start),
                    cells: Vec::new(),
                });
            } else {
                let node = Node { value: Value::Text(cell.trim().into()), file: 0 };
                let node = (node, Where::Csv(Box::new(at(line, start))));
                columns[i].cells.push(node);
            }
        }
    }
    if columns.is_empty() {
        return Err((Diagnostic::error("the file is empty"), at(1, 1)));
    }
    Ok(columns)
}
