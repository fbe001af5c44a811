//! The columns of a study's table that a summary looks at.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::rc::Rc;

use super::super::frame::{Frame, Role};
use crate::diagnostic::Diagnostic;

/// Numbers by column and row; what is no number is NaN, true is 1 and false 0.
pub struct Table {
    names: Vec<String>,
    columns: Vec<Rc<Vec<f64>>>,
    /// Number of the point in each row.
    pub index: Vec<u64>,
    /// How points ended, in the engine's words.
    pub statuses: BTreeMap<String, u64>,
    /// How points ended, in the trade's words.
    pub tally: BTreeMap<String, u64>,
}

impl Table {
    pub fn read(file: &Path, frame: &Frame, wanted: &[String], tally: &str) -> Result<Table, Diagnostic> {
        let places: Vec<usize> = wanted.iter().filter_map(|name| frame.column(name)).collect();
        let status = frame.headings.iter().position(|h| h.role == Role::Status);
        let tallied = frame.column(tally);
        let rows = usize::try_from(frame.rows()).unwrap_or_default();
        let mut columns: Vec<Vec<f64>> = places.iter().map(|_| Vec::with_capacity(rows)).collect();
        let mut table = Table {
            names: wanted.to_vec(),
            columns: Vec::new(),
            index: Vec::with_capacity(rows),
            statuses: BTreeMap::new(),
            tally: BTreeMap::new(),
        };
        each_record(file, |record| {
            let cell = |place: usize| record.get(place).unwrap_or_default();
            table.index.push(cell(0).parse().unwrap_or(u64::MAX));
            for (column, &place) in columns.iter_mut().zip(&places) {
                column.push(match cell(place) {
                    "true" => 1.0,
                    "false" => 0.0,
                    text => text.parse().unwrap_or(f64::NAN),
                });
            }
            let count = |counts: &mut BTreeMap<String, u64>, place: Option<usize>| {
                if let Some(word) = place.map(cell).filter(|word| !word.is_empty()) {
                    match counts.get_mut(word) {
                        Some(n) => *n += 1,
                        None => _ = counts.insert(word.into(), 1),
                    }
                }
            };
            count(&mut table.statuses, status);
            count(&mut table.tally, tallied);
        })?;
        table.columns = columns.into_iter().map(Rc::new).collect();
        Ok(table)
    }

    /// Place of a column among those read.
    pub fn place(&self, name: &str) -> Option<usize> {
        self.names.iter().position(|n| n == name)
    }

    /// The numbers of a column.
    pub fn column(&self, place: usize) -> &[f64] {
        self.columns.get(place).map_or(&[], |column| column.as_slice())
    }

    /// A column to keep.
    pub fn shared(&self, place: usize) -> Rc<Vec<f64>> {
        self.columns.get(place).cloned().unwrap_or_default()
    }

    /// Number of columns read.
    pub fn width(&self) -> usize {
        self.columns.len()
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.index.len()
    }
}

/// The cells of some columns in some rows.
pub fn words(
    file: &Path,
    frame: &Frame,
    columns: &[&str],
    rows: &BTreeSet<u64>,
) -> Result<BTreeMap<u64, Vec<String>>, Diagnostic> {
    let places: Vec<usize> = columns.iter().filter_map(|name| frame.column(name)).collect();
    let mut found = BTreeMap::new();
    let mut row = 0;
    each_record(file, |record| {
        if rows.contains(&row) {
            let cells = places.iter().map(|&p| record.get(p).unwrap_or_default().to_string());
            found.insert(row, cells.collect());
        }
        row += 1;
    })?;
    Ok(found)
}

fn each_record(file: &Path, mut take: impl FnMut(&csv::StringRecord)) -> Result<(), Diagnostic> {
    let refused =
        |error: csv::Error| Diagnostic::error(format!("{} cannot be read: {error}", file.display()));
    let mut reader = csv::Reader::from_path(file).map_err(refused)?;
    let mut record = csv::StringRecord::new();
    while reader.read_record(&mut record).map_err(refused)? {
        take(&record);
    }
    Ok(())
}
