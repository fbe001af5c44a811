//! The cells of a table before they are numbers.

use super::node::{FileId, Node, Step, Value};
use crate::diagnostic::Diagnostic;

/// A heading with the cells below it.
pub(super) struct Column {
    pub heading: String,
    pub at: Where,
    pub cells: Vec<(Node, Where)>,
}

/// Where something of a table stands; worked out only if it must be told.
#[derive(Clone)]
pub(super) enum Where {
    /// A key in a setup, as steps below the table.
    Key(FileId, Vec<Step>),
    /// A value in a setup.
    Value(FileId, Vec<Step>),
    /// Line and column of a CSV file.
    Csv(u64, usize),
}

pub(super) type Fault = (Diagnostic, Where);

/// `{J: [0, 1], KT: [0.4, 0]}`
pub(super) fn of_columns(entries: &[(String, Node)]) -> Result<Vec<Column>, Vec<Fault>> {
    let mut columns = Vec::new();
    let mut faults = Vec::new();
    for (heading, node) in entries {
        let step = Step::from(heading.as_str());
        let Value::List(items) = &node.value else {
            let error = Diagnostic::error("a column is a list").expected("a list of numbers");
            faults.push((error.found(node.describe()), Where::Value(node.file, vec![step])));
            continue;
        };
        let at = |i| Where::Value(node.file, vec![step.clone(), Step::Index(i)]);
        let cells = items.iter().enumerate().map(|(i, item)| (item.clone(), at(i))).collect();
        columns.push(Column { heading: heading.clone(), at: Where::Key(node.file, vec![step]), cells });
    }
    if faults.is_empty() { Ok(columns) } else { Err(faults) }
}

/// `[{J: 0, KT: 0.4}, {J: 1, KT: 0}]`; each row has the columns of the first.
pub(super) fn of_rows(rows: &[Node]) -> Result<Vec<Column>, Vec<Fault>> {
    let mut columns: Vec<Column> = Vec::new();
    for (i, row) in rows.iter().enumerate() {
        let at = Where::Value(row.file, vec![Step::Index(i)]);
        let Value::Map(entries) = &row.value else {
            let error = Diagnostic::error("a row names its columns").expected("a map");
            return Err(vec![(error.found(row.describe()), at)]);
        };
        for (heading, cell) in entries {
            let steps = vec![Step::Index(i), heading.as_str().into()];
            let below = (cell.clone(), Where::Value(cell.file, steps.clone()));
            match columns.iter_mut().find(|column| column.heading == *heading) {
                Some(column) if column.cells.len() == i => column.cells.push(below),
                None if i == 0 => {
                    let at = Where::Key(cell.file, steps);
                    columns.push(Column { heading: heading.clone(), at, cells: vec![below] });
                }
                _ => {
                    let error = Diagnostic::error("the rows differ: the first has no such column");
                    return Err(vec![(error, Where::Key(cell.file, steps))]);
                }
            }
        }
        if let Some(column) = columns.iter().find(|column| column.cells.len() <= i) {
            return Err(vec![(Diagnostic::error(format!("this row has no `{}`", column.heading)), at)]);
        }
    }
    Ok(columns)
}

/// A CSV file with headings in its first line.
pub(super) fn of_csv(text: &str) -> Result<Vec<Column>, Vec<Fault>> {
    let mut csv = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes());
    let mut columns: Vec<Column> = Vec::new();
    for (row, record) in csv.records().enumerate() {
        let record = record.map_err(|error| {
            let line = error.position().map_or(1, csv::Position::line);
            vec![(Diagnostic::error(format!("this is no CSV file: {error}")), Where::Csv(line, 1))]
        })?;
        let line = record.position().map_or(1, csv::Position::line);
        if row > 0 && record.len() != columns.len() {
            let found = format!("{} cells under {} headings", record.len(), columns.len());
            let error = Diagnostic::error("this row does not fit");
            return Err(vec![(error.found(found), Where::Csv(line, 1))]);
        }
        // Right unless a cell before it is in quotes.
        let mut start = 1;
        for (i, cell) in record.iter().enumerate() {
            let at = Where::Csv(line, start);
            start += cell.chars().count() + 1;
            if row == 0 {
                columns.push(Column { heading: cell.trim().into(), at, cells: Vec::new() });
            } else {
                let node = Node { value: Value::Text(cell.trim().into()), file: 0 };
                columns[i].cells.push((node, at));
            }
        }
    }
    if columns.is_empty() {
        return Err(vec![(Diagnostic::error("the file is empty"), Where::Csv(1, 1))]);
    }
    Ok(columns)
}
