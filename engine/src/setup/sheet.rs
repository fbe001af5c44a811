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
            let line = error.position().map_or(1, |begun| line_of(text, begun));
            vec![(Diagnostic::error(format!("this is no CSV file: {error}")), Where::Csv(line, 1))]
        })?;
        let line = record.position().map_or(1, |begun| line_of(text, begun));
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

/// Line of a record: the reader tells where it began to look for one, which is before the blank lines and the comments that it
/// passes over.
fn line_of(text: &str, begun: &csv::Position) -> u64 {
    let begun = usize::try_from(begun.byte()).unwrap_or(usize::MAX).min(text.len());
    let mut rest = text.as_bytes().get(begun..).unwrap_or_default();
    loop {
        rest = match rest {
            [b'\n' | b'\r', after @ ..] => after,
            [b'#', ..] => rest.iter().position(|&b| b == b'\n').map_or(&[][..], |end| &rest[end..]),
            _ => break,
        };
    }
    let before = &text.as_bytes()[..text.len() - rest.len()];
    1 + before.iter().filter(|&&b| b == b'\n').count() as u64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_know_their_lines_whatever_stands_between() {
        for end in ["\n", "\r\n"] {
            let lines = ["# of a blade", "", "r,pitch", "1,2", "", "# more", "3,4", "5,6"];
            let columns = of_csv(&lines.join(end)).map_err(|_| ()).unwrap();
            let line = |at: &Where| match at {
                Where::Csv(line, _) => *line,
                _ => 0,
            };
            let found: Vec<u64> = columns[1].cells.iter().map(|(_, at)| line(at)).collect();
            assert_eq!((line(&columns[0].at), found), (3, vec![4, 7, 8]));
            let Err(faults) = of_csv(&["a,b", "", "# c", "1"].join(end)) else { panic!("a row too short") };
            assert_eq!(line(&faults[0].1), 4);
        }
    }
}
