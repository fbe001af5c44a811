//! One row of a table as bytes: read whole or not at all, and told from a torn one.
//!
//! Not read with the `csv` crate: that one makes the best of what is broken, and here a row that broke must be
//! found. What it writes passes.

use std::borrow::Cow;
use std::io::{self, BufRead, Read};

/// Bytes a row may have at most, line end included: so much memory a file of rubbish can take.
pub const LONGEST: usize = 1 << 20;

/// Reads up to and with the line end that is not inside quotes; whether there was one within [`LONGEST`] bytes.
pub(super) fn read_row(from: &mut impl BufRead, row: &mut Vec<u8>) -> io::Result<bool> {
    row.clear();
    let mut quotes = 0;
    loop {
        let (before, left) = (row.len(), LONGEST - row.len());
        from.by_ref().take(left as u64).read_until(b'\n', row)?;
        let new = row.get(before..).unwrap_or_default();
        if !new.ends_with(b"\n") {
            return Ok(false);
        }
        quotes += new.iter().filter(|&&byte| byte == b'"').count();
        if quotes % 2 == 0 {
            return Ok(true);
        }
    }
}

/// Whether these bytes are one row of so many fields, the first of which is this.
///
/// # Errors
/// What is wrong with them.
pub(super) fn check_row(row: &[u8], fields: usize, first: &str) -> Result<(), String> {
    let (found, found_first) = shape(row)?;
    if found != fields {
        return Err(format!("{fields} fields expected, {found} found"));
    }
    if found_first != first.as_bytes() {
        let found = String::from_utf8_lossy(&found_first);
        return Err(format!("first field {first:?} expected, {found:?} found"));
    }
    Ok(())
}

/// Number of fields, and the first one without its quotes.
pub(super) fn shape(row: &[u8]) -> Result<(usize, Cow<'_, [u8]>), String> {
    if row.len() > LONGEST {
        return Err(format!("it has {} bytes, {LONGEST} are allowed", row.len()));
    }
    // what a file system leaves where data never reached the disk
    if row.contains(&0) {
        return Err("it holds a zero byte".into());
    }
    let Some(mut rest) = row.strip_suffix(b"\n") else {
        return Err("it has no line end".into());
    };
    let mut first = None;
    let mut fields = 0;
    loop {
        let (field, after) = match rest.strip_prefix(b"\"") {
            Some(inside) => quoted(inside)?,
            None => plain(rest)?,
        };
        fields += 1;
        first.get_or_insert(field);
        match after.split_first() {
            None => return Ok((fields, first.unwrap_or_default())),
            Some((b',', next)) => rest = next,
            Some(_) => return Err(format!("field {fields} goes on after its closing quote")),
        }
    }
}

type Field<'a> = (Cow<'a, [u8]>, &'a [u8]);

fn plain(rest: &[u8]) -> Result<Field<'_>, String> {
    let end = rest.iter().position(|&byte| byte == b',').unwrap_or(rest.len());
    let (field, after) = rest.split_at(end);
    match field.iter().find(|byte| matches!(byte, b'"' | b'\n' | b'\r')) {
        Some(byte) => Err(format!("{:?} stands outside quotes", *byte as char)),
        None => Ok((field.into(), after)),
    }
}

fn quoted(inside: &[u8]) -> Result<Field<'_>, String> {
    let mut field = Vec::new();
    let mut rest = inside;
    while let Some(quote) = rest.iter().position(|&byte| byte == b'"') {
        let (before, from_quote) = rest.split_at(quote);
        field.extend_from_slice(before);
        match from_quote.strip_prefix(b"\"\"") {
            Some(after) => {
                field.push(b'"');
                rest = after;
            }
            None => return Ok((field.into(), from_quote.get(1..).unwrap_or_default())),
        }
    }
    Err("a quote is not closed".into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_csv_crate_writes_is_a_row() {
        let mut writer = csv::Writer::from_writer(Vec::new());
        let fields = ["7", "", "a,b", "say \"so\"", "two\nlines", "cr\r", " blank ", "größer"];
        writer.write_record(fields).unwrap();
        let row = writer.into_inner().unwrap();
        assert_eq!(check_row(&row, fields.len(), "7"), Ok(()));
        let mut read = Vec::new();
        let twice = [&row[..], &row[..]].concat();
        assert!(read_row(&mut &twice[..], &mut read).unwrap());
        assert_eq!(read, row);
    }

    #[test]
    fn no_beginning_of_a_row_is_a_row() {
        let row = b"\"1\"\"2\",\"x\ny\",3\n";
        assert_eq!(check_row(row, 3, "1\"2"), Ok(()));
        for end in 0..row.len() {
            assert!(check_row(&row[..end], 3, "1\"2").is_err(), "{end}");
            let mut zeros = row[..end].to_vec();
            zeros.resize(40, 0);
            zeros.push(b'\n');
            assert!(check_row(&zeros, 3, "1\"2").is_err(), "{end}");
        }
    }

    #[test]
    fn what_is_wrong_is_said() {
        let wrong = |row: &[u8]| check_row(row, 2, "1").unwrap_err();
        assert_eq!(wrong(b"1,2,3\n"), "2 fields expected, 3 found");
        assert_eq!(wrong(b"1,\"2\"3\n"), "field 2 goes on after its closing quote");
        assert_eq!(wrong(b"2,1\n"), "first field \"1\" expected, \"2\" found");
        assert_eq!(wrong(b"1,2\r\n"), "'\\r' stands outside quotes");
        assert_eq!(wrong(b"1,2\n1,2\n"), "'\\n' stands outside quotes");
        assert!(wrong(&vec![b'x'; LONGEST + 1]).contains("1048577 bytes"));
        assert!(wrong(b"").contains("line end"));
    }

    #[test]
    fn rubbish_takes_no_more_memory_than_a_row() {
        let mut row = Vec::new();
        let mut endless = io::BufReader::new(io::repeat(b'x'));
        assert!(!read_row(&mut endless, &mut row).unwrap());
        assert_eq!(row.len(), LONGEST);
        // a quote that never closes
        let mut open = &b"\"\nx\nx\n"[..];
        assert!(!read_row(&mut open, &mut row).unwrap());
    }
}
