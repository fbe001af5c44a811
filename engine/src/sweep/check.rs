//! How much of a file can be built upon.

use std::fs::File;
use std::io::{self, BufRead, BufReader, Read, Seek, SeekFrom};
use std::ops::Range;
use std::path::Path;

use sha2::{Digest, Sha256};

use super::differ::Difference;
use super::file_error::FileError;
use super::row::{check_row, read_row, shape};
use super::sidecar::TAKEN;
use super::{Order, hex};

/// Bytes read at a time.
const PIECE: usize = 1 << 18;

/// What is cut off the end of a file: what is no row, or not the next one in order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Cut {
    /// Bytes.
    pub bytes: u64,
    /// Line ends among them, and one more where the last line has none.
    pub lines: u64,
}

/// The beginning of a file that is as it must be.
pub(super) struct Intact {
    /// Rows.
    pub rows: u64,
    /// Bytes, with the header; 0 if not even that is whole.
    pub bytes: u64,
    /// Of these bytes.
    pub hash: Sha256,
    /// What follows them.
    pub cut: Cut,
}

/// Checks header and rows from the start.
///
/// # Errors
/// The file cannot be read, or begins in a way that no torn header does.
pub(super) fn intact(
    mut file: &File,
    path: &Path,
    order: &Order,
    rows: Range<u64>,
) -> Result<Intact, FileError> {
    let reading = || FileError::io("reading", path);
    file.seek(SeekFrom::Start(0)).map_err(reading())?;
    let mut reader = BufReader::with_capacity(PIECE, file);
    let mut intact = Intact { rows: 0, bytes: 0, hash: Sha256::new(), cut: Cut::default() };
    let mut row = Vec::new();
    reader.by_ref().take(order.header.len() as u64).read_to_end(&mut row).map_err(reading())?;
    if row == order.header {
        loop {
            intact.bytes += row.len() as u64;
            intact.hash.update(&row);
            let number = rows.start + intact.rows;
            if number >= rows.end
                || !read_row(&mut reader, &mut row).map_err(reading())?
                || check_row(&row, order.fields, &(order.first_field)(number)).is_err()
            {
                break;
            }
            intact.rows += 1;
        }
    } else if !torn(&row, &order.header) {
        let text = |bytes: &[u8]| Some(format!("{:?}", String::from_utf8_lossy(bytes)));
        let key = "the first line".to_string();
        let difference = Difference { key, found: text(&row), expected: text(&order.header) };
        return Err(FileError::Foreign { path: path.into(), differences: vec![difference] });
    }
    intact.cut = rest(file, intact.bytes).map_err(reading())?;
    Ok(intact)
}

/// Whether this is a beginning of `header`, with or without zeros after it.
fn torn(found: &[u8], header: &[u8]) -> bool {
    let same = found.iter().zip(header).take_while(|(a, b)| a == b).count();
    found.iter().skip(same).all(|&byte| byte == 0)
}

/// What there is from here to the end.
fn rest(mut file: &File, from: u64) -> io::Result<Cut> {
    file.seek(SeekFrom::Start(from))?;
    let mut cut = Cut::default();
    let mut open = false;
    let mut reader = BufReader::with_capacity(PIECE, file);
    loop {
        let piece = reader.fill_buf()?;
        let Some(&last) = piece.last() else { break };
        cut.bytes += piece.len() as u64;
        cut.lines += piece.iter().filter(|&&byte| byte == b'\n').count() as u64;
        open = last != b'\n';
        let all = piece.len();
        reader.consume(all);
    }
    cut.lines += u64::from(open);
    Ok(cut)
}

/// SHA-256 of a file, in hexadecimal.
pub(super) fn checksum(path: &Path) -> Result<String, FileError> {
    let file = File::open(path).map_err(FileError::io("opening", path))?;
    let mut reader = BufReader::with_capacity(PIECE, file);
    let mut hash = Sha256::new();
    loop {
        let piece = reader.fill_buf().map_err(FileError::io("reading", path))?;
        if piece.is_empty() {
            return Ok(hex(hash));
        }
        hash.update(piece);
        let all = piece.len();
        reader.consume(all);
    }
}

/// Whether an order is free of contradictions.
///
/// # Errors
/// What is wrong with it.
pub(super) fn sound(order: &Order) -> Result<(), FileError> {
    let wrong = |why: String| Err(FileError::Order { why });
    if let Some(key) = TAKEN.iter().find(|key| order.origin.contains_key(**key)) {
        return wrong(format!("`{key}` cannot be a key of its origin"));
    }
    match shape(&order.header) {
        Err(why) => wrong(format!("the first line cannot be used: {why}")),
        Ok((found, _)) if found != order.fields => {
            wrong(format!("the first line has {found} fields, the rows have {}", order.fields))
        }
        Ok(_) => Ok(()),
    }
}
