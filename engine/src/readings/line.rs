//! A line of a table, in cells.

/// A cell and where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Cell {
    /// What it holds, without quotes or blanks around it.
    pub text: String,
    /// Column in characters, from 1.
    pub column: usize,
    /// Characters in the file.
    pub length: usize,
}

impl Cell {
    /// The beginning of a line.
    pub const START: Cell = Cell { text: String::new(), column: 1, length: 0 };
}

/// Cells of a line.
///
/// # Errors
/// What is wrong, and the cell: a quote that is not closed.
pub(super) fn cells(line: &str, separator: char) -> Result<Vec<Cell>, (String, Cell)> {
    let places = places(line, separator);
    if line.matches('"').count() % 2 == 1 {
        let last = places.iter().rev().find(|place| slice(line, place).contains('"')).cloned();
        return Err(("a quote is not closed; a cell ends on its line".into(), last.unwrap_or(Cell::START)));
    }
    // alone it ends a row to the library, and the rest would be lost
    if line.contains('\r') {
        let why = "a carriage return stands within the line; lines end with a line feed".into();
        return Err((why, Cell::START));
    }
    // the library of the setups' tables, for quotes within quotes; it has one line, so that places are sure
    let mut csv = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(u8::try_from(separator).unwrap_or(b','))
        .buffer_capacity(line.len().max(64))
        .from_reader(line.as_bytes());
    let record = match csv.records().next() {
        Some(Ok(record)) => record,
        Some(Err(error)) => return Err((format!("this is no row: {error}"), Cell::START)),
        None => return Ok(Vec::new()),
    };
    let texts = record.iter().map(|text| text.trim().to_owned());
    let place = |i: usize| places.get(i).cloned().unwrap_or(Cell::START);
    Ok(texts.enumerate().map(|(i, text)| Cell { text, ..place(i) }).collect())
}

/// Where cells stand: between separators that are not in quotes.
fn places(line: &str, separator: char) -> Vec<Cell> {
    let (mut all, mut start, mut quoted, mut count) = (Vec::new(), 1, false, 0);
    for (i, c) in line.chars().enumerate() {
        quoted ^= c == '"';
        if c == separator && !quoted {
            all.push(Cell { column: start, length: i + 1 - start, ..Cell::START });
            start = i + 2;
        }
        count = i + 1;
    }
    all.push(Cell { column: start, length: (count + 1).saturating_sub(start), ..Cell::START });
    all
}

fn slice(line: &str, cell: &Cell) -> String {
    line.chars().skip(cell.column - 1).take(cell.length).collect()
}

/// Finest step of a number as it is written: 0.01 of `12.30`, 100 of `1.2e3`.
pub(super) fn step(text: &str) -> f64 {
    let (digits, exponent) = text.split_once(['e', 'E']).unwrap_or((text, "0"));
    let decimals =
        digits.split_once('.').map_or(0, |(_, after)| after.chars().filter(char::is_ascii_digit).count());
    let exponent: i32 = exponent.parse().unwrap_or(0);
    10f64.powi(exponent.saturating_sub(i32::try_from(decimals).unwrap_or(i32::MAX)))
}
