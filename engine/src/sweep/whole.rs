//! The whole table in one file.

use std::fs::{self, OpenOptions};
use std::path::Path;

use super::Order;
use super::check::{Cut, intact, sound};
use super::desk::Desk;
use super::error::SweepError;
use super::file_error::FileError;
use super::fill::{Making, fill};
use super::place::{Standing, lock, look, put, usable};
use super::sheet::Sheet;
use super::sidecar::Sidecar;
use super::stop::Stop;

/// A table, or a part of one, that is whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// Rows in the file.
    pub rows: u64,
    /// Rows made now; the others were there.
    pub made: u64,
    /// Whether the file was whole before, and was not touched.
    pub already: bool,
    /// What was cut off a file that was resumed.
    pub cut: Cut,
    /// SHA-256 of the file, in hexadecimal.
    pub csv_sha256: String,
}

/// Writes the whole table to `out`, and its companion beside it.
///
/// If this very table stands there whole, nothing is done. If it stands there unfinished, `resume` goes on
/// after the last row that is as it must be; whatever follows that row is cut off. Anything else that stands
/// there is refused. Two processes do not write the same file, where the file system knows locks.
///
/// `progress` shows on standard error how far it is, if that is a terminal.
///
/// # Errors
/// See [`FileError`], and [`Broken`](super::Broken) for what ends the work. Rows that were made until then
/// stay in the file; [`SweepError::retry`] tells whether to resume.
pub fn write_whole<E: Send>(
    order: &Order,
    out: &Path,
    resume: bool,
    threads: usize,
    stop: &Stop,
    worker: &(dyn Fn(&Desk) -> Result<(), E> + Sync),
    progress: bool,
) -> Result<Written, SweepError<E>> {
    sound(order)?;
    usable(out)?;
    let mine = Sidecar::of(order, None);
    let standing = standing(out, &mine)?;
    if let Some(whole) = finished(out, order, &standing)? {
        return Ok(whole);
    }
    match standing {
        // of two processes that begin at once, one gets the companion in place
        Standing::Nothing if !put(&mine, out, false)? => Err(FileError::Busy { path: out.into() })?,
        Standing::Nothing => {}
        _ if !resume => Err(FileError::Unfinished { path: out.into() })?,
        _ => {}
    }
    let open = OpenOptions::new().read(true).write(true).create(true).truncate(false).open(out);
    let file = open.map_err(FileError::io("opening", out))?;
    lock(&file, out)?;
    // who had the lock before may have finished the table meanwhile
    let standing = self::standing(out, &mine)?;
    if let Some(whole) = finished(out, order, &standing)? {
        return Ok(whole);
    }
    // only who has the lock changes a companion that stands: without it, one that tells of a table just
    // finished could be put back to one begun
    if matches!(standing, Standing::Missing) {
        put(&mine, out, true)?;
    }
    let there = intact(&file, out, order, 0..order.rows)?;
    let (kept, cut) = (there.rows, there.cut);
    let sheet = Sheet::new(&file, there.bytes, there.hash);
    let mut sheet = sheet.map_err(FileError::io("cutting", out))?;
    if there.bytes == 0 {
        sheet.push(&order.header).map_err(FileError::io("writing", out))?;
    }
    let making = Making { threads, stop, worker, progress };
    let made = fill(order, out, &mut sheet, 0..order.rows, kept, &making)?;
    let done = kept + made.rows;
    if !made.whole() {
        return Err(SweepError::Interrupted { path: out.into(), done, rows: order.rows, kept: true, cut });
    }
    let csv_sha256 = sheet.checksum();
    put(&mine.whole(csv_sha256.clone()), out, true)?;
    Ok(Written { rows: done, made: made.rows, already: false, cut, csv_sha256 })
}

/// What stands there, where an empty table is as good as none: it was made to be locked.
fn standing(out: &Path, mine: &Sidecar) -> Result<Standing, FileError> {
    match look(out, mine)? {
        Standing::Changed { .. } if fs::metadata(out).is_ok_and(|about| about.len() == 0) => {
            Ok(Standing::Missing)
        }
        standing => Ok(standing),
    }
}

/// Whether there is nothing left to do.
fn finished(out: &Path, order: &Order, standing: &Standing) -> Result<Option<Written>, FileError> {
    match standing {
        Standing::Whole(csv_sha256) => Ok(Some(Written {
            rows: order.rows,
            made: 0,
            already: true,
            cut: Cut::default(),
            csv_sha256: csv_sha256.clone(),
        })),
        Standing::Changed { expected, found } => {
            Err(FileError::Changed { path: out.into(), expected: expected.clone(), found: found.clone() })
        }
        Standing::Nothing | Standing::Missing | Standing::Begun => Ok(None),
    }
}
