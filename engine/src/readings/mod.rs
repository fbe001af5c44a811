//! Tables of measurements, read strictly.
//!
//! ```
//! use engine::readings::{Layout, Readings};
//! let text = "run,voltage [V],current [mA]\nwarm,48.1,20300\nwarm,48.0,\ncold,49.2,19800\n";
//! let layout = Layout { group: Some("run".into()), ..Layout::default() };
//! let readings = Readings::parse("bench.csv", text, &layout).unwrap();
//! assert_eq!(readings.rows[0].values, [Some(48.1), Some(20.3)]);
//! assert_eq!(readings.rows[1].values[1], None);
//! assert_eq!(readings.groups(), ["warm", "cold"]);
//! ```
//!
//! A line is a row; cells in quotes end on their line; `#` begins a line of comment. A blank
//! cell, `NaN` and the words of [`Layout::missing`] are readings that are missing. All else
//! must be a finite number, with a point, in the unit of its column.

mod headings;
mod line;
mod load;
mod outliers;
mod value;

pub use load::{LIMIT, text};

use crate::diagnostic::{Diagnostic, Diagnostics, Place};
use crate::units::{Dimension, Unit};
use line::{Cell, cells};
use std::sync::Arc;
use value::{backward, value};

/// Faults kept; more would not be read.
const FAULTS: usize = 100;

/// What a column of a file is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mapping {
    /// Heading, with or without its unit in brackets.
    pub column: String,
    /// Quantity it holds.
    pub quantity: String,
    /// Its unit, where the heading does not say: `A`, `rpm`, `1` for a pure number.
    pub unit: Option<String>,
}

/// How a file is to be read. The default takes every column, each under its heading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layout {
    /// Columns to be read; if there are none, all are, under their headings.
    pub columns: Vec<Mapping>,
    /// Heading of the column with the time, which never runs backward within a group.
    pub time: Option<String>,
    /// Heading of the column with the names of groups.
    pub group: Option<String>,
    /// Words that stand for a missing reading, beside nothing and `NaN`.
    pub missing: Vec<String>,
    /// What separates cells: `,`, `;` or a tabulator.
    pub separator: char,
    /// Quantities there are, each with its SI unit; any quantity and unit will do if there are none.
    pub known: Vec<(String, String)>,
}

impl Default for Layout {
    fn default() -> Layout {
        let (columns, missing, known) = Default::default();
        Layout { columns, time: None, group: None, missing, separator: ',', known }
    }
}

/// A column that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Heading without its unit.
    pub name: String,
    /// Quantity it holds.
    pub quantity: String,
    /// Unit in the file; values are kept in SI (temperatures in °C).
    pub unit: Unit,
    /// What kind of number it is.
    pub dimension: Dimension,
    /// Finest step written in this column, SI: 0.1 for readings such as 12.3.
    pub step: f64,
}

/// A reading that stands out from its like; it is flagged and never dropped.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flag {
    /// Place of the column in [`Readings::columns`].
    pub column: usize,
    /// Distance from the middle in robust standard deviations.
    pub score: f64,
}

/// A line of readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Line in the file, from 1.
    pub line: usize,
    /// One for each column, SI; `None` where it is missing.
    pub values: Vec<Option<f64>>,
    /// Name of its group, empty where there are no groups.
    pub group: String,
    /// Readings of this row that stand out.
    pub flags: Vec<Flag>,
}

/// A table of measurements.
#[derive(Debug, Clone, PartialEq)]
pub struct Readings {
    /// Columns, in the order of the file.
    pub columns: Vec<Column>,
    /// Rows, in the order of the file.
    pub rows: Vec<Row>,
    /// Place of the time among the columns.
    pub time: Option<usize>,
    /// Headings that nothing was asked of.
    pub unread: Vec<String>,
}

/// Headings of a table without their units, in their order; none if there are none.
pub fn names(text: &str, separator: char) -> Vec<String> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let heading = text.lines().find(|line| is_content(line)).unwrap_or_default();
    let cells = cells(heading, separator).unwrap_or_default();
    cells.iter().map(|cell| headings::split(&cell.text).0.to_owned()).collect()
}

fn is_content(line: &str) -> bool {
    !line.trim().is_empty() && !line.trim_start().starts_with('#')
}

impl Readings {
    /// Reads a text; `name` is how messages call it.
    ///
    /// # Errors
    /// Everything wrong with it, with line and column; a hundred faults at most.
    pub fn parse(name: &str, text: &str, layout: &Layout) -> Result<Readings, Diagnostics> {
        let source: Arc<str> = text.strip_prefix('\u{feff}').unwrap_or(text).into();
        let at = |line: usize, cell: &Cell, key: &str| Place {
            key: key.into(),
            length: cell.length,
            ..Place::at(name, line, cell.column, source.clone())
        };
        let mut lines = source.lines().enumerate().filter(|(_, line)| is_content(line));
        let Some((first, heading)) = lines.next() else {
            let place = Place::at(name, 1, 1, source.clone());
            let error =
                Diagnostic::error("there are no headings").expected("a line such as `voltage [V],time [s]`");
            return Err(error.at(place).into());
        };
        if !matches!(layout.separator, ',' | ';' | '\t') {
            let error = Diagnostic::error("this separates no cells").expected("`,`, `;` or a tabulator");
            return Err(error.found(format!("{:?}", layout.separator)).into());
        }
        let headings = cells(heading, layout.separator)
            .map_err(|(message, cell)| Diagnostic::error(message).at(at(first + 1, &cell, "")))?;
        let frame = headings::understand(&headings, layout, &|cell, key| at(first + 1, cell, key))?;
        let mut columns = frame.columns;
        let mut rows: Vec<Row> = Vec::new();
        let mut problems = Diagnostics::new();
        let mut latest: Vec<(String, f64)> = Vec::new();
        for (number, line) in lines {
            if problems.0.len() >= FAULTS {
                break;
            }
            let number = number + 1;
            let row = match cells(line, layout.separator) {
                Ok(row) if row.len() == headings.len() => row,
                Ok(row) => {
                    let error = Diagnostic::error("this row does not fit its headings");
                    let error =
                        error.expected(format!("{} cells", headings.len())).found(row.len().to_string());
                    problems.push(error.at(at(
                        number,
                        &Cell { length: line.chars().count(), ..Cell::START },
                        "",
                    )));
                    continue;
                }
                Err((message, cell)) => {
                    problems.push(Diagnostic::error(message).at(at(number, &cell, "")));
                    continue;
                }
            };
            let group = frame.group.and_then(|place| row.get(place)).map_or("", |cell| cell.text.as_str());
            if let Some(cell) =
                frame.group.and_then(|place| row.get(place)).filter(|cell| cell.text.is_empty())
            {
                let key = layout.group.as_deref().unwrap_or_default();
                problems
                    .push(Diagnostic::error("the name of the group is missing").at(at(number, cell, key)));
            }
            let mut values = Vec::new();
            for (column, &place) in columns.iter_mut().zip(&frame.places) {
                let Some(cell) = row.get(place) else {
                    continue;
                };
                match value(cell, column, layout) {
                    Ok(value) => values.push(value),
                    Err(error) => {
                        problems.push(error.at(at(number, cell, &column.name)));
                        values.push(None);
                    }
                }
            }
            if let Some((i, cell)) = frame.time.and_then(|i| Some((i, row.get(*frame.places.get(i)?)?))) {
                let now = values.get(i).copied().flatten();
                if let Some(error) = backward(&mut latest, group, now, &cell.text) {
                    problems.push(error.at(at(number, cell, &columns[i].name)));
                }
            }
            rows.push(Row { line: number, values, group: group.into(), flags: Vec::new() });
        }
        if rows.is_empty() && problems.is_empty() {
            let place = Place::at(name, first + 1, 1, source.clone());
            problems.push(Diagnostic::error("there are no readings below the headings").at(place));
        }
        problems.or(())?;
        let mut readings = Readings { columns, rows, time: frame.time, unread: frame.unread };
        outliers::flag(&mut readings);
        Ok(readings)
    }

    /// Judges again which readings stand out, where it is known which rows are repeats of each other.
    pub fn judge_repeats(&mut self, groups: &[Vec<usize>]) {
        outliers::flag_repeats(self, groups);
    }

    /// Names of the groups, in the order in which they appear.
    pub fn groups(&self) -> Vec<&str> {
        let mut names: Vec<&str> = Vec::new();
        for row in &self.rows {
            if !names.contains(&row.group.as_str()) {
                names.push(&row.group);
            }
        }
        names
    }

    /// Place of the column with this quantity.
    pub fn column(&self, quantity: &str) -> Option<usize> {
        self.columns.iter().position(|column| column.quantity == quantity)
    }

    /// Place of the row and SI value of each reading of a column, in one group or in all of them; those that stand
    /// out too.
    pub fn values(&self, column: usize, group: Option<&str>) -> impl Iterator<Item = (usize, f64)> {
        let rows =
            self.rows.iter().enumerate().filter(move |(_, row)| group.is_none_or(|name| row.group == name));
        rows.filter_map(move |(i, row)| Some((i, row.values.get(column).copied().flatten()?)))
    }

    /// As [`Readings::values`], without those that stand out.
    pub fn kept(&self, column: usize, group: Option<&str>) -> impl Iterator<Item = (usize, f64)> {
        let flagged = move |i: usize| self.rows[i].flags.iter().any(|flag| flag.column == column);
        self.values(column, group).filter(move |(i, _)| !flagged(*i))
    }
}

#[cfg(test)]
mod tests;
