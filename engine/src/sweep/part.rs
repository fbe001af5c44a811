//! A part of a table in a file of its own, to be merged with the others.

use std::fmt;
use std::ops::Range;
use std::path::Path;
use std::str::FromStr;

use sha2::{Digest, Sha256};
use thiserror::Error;

use super::Order;
use super::check::{Cut, sound};
use super::desk::Desk;
use super::error::SweepError;
use super::file_error::FileError;
use super::fill::{Making, fill};
use super::place::{Standing, look, put, settle, temporary, usable};
use super::sheet::Sheet;
use super::sidecar::Sidecar;
use super::stop::Stop;
use super::whole::Written;

/// Part `k` of `of`, counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Part {
    /// Which one: 1 to `of`.
    pub k: u64,
    /// How many there are.
    pub of: u64,
}

/// What is no part.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PartError {
    /// Not two whole numbers.
    #[error("expected a part such as \"3/8\", found {0:?}")]
    Form(String),
    /// Not one of its number.
    #[error("there is no part {k} of {of}: expected 1 to {of}, of at least one part")]
    Range {
        /// Which one.
        k: u64,
        /// Of how many.
        of: u64,
    },
}

impl Part {
    /// Part `k` of `of`.
    ///
    /// # Errors
    /// Not 1 ≤ k ≤ of.
    pub fn new(k: u64, of: u64) -> Result<Part, PartError> {
        if k == 0 || k > of { Err(PartError::Range { k, of }) } else { Ok(Part { k, of }) }
    }

    /// Its rows of so many: (k − 1)·N/of to k·N/of, rounded down. All parts together are all rows, each once;
    /// where there are more parts than rows some are empty.
    pub fn range(self, rows: u64) -> Range<u64> {
        let of = u128::from(self.of.max(1));
        // no more than `rows` for k ≤ of, so it fits
        let bound = |k: u64| (u128::from(k.min(self.of)) * u128::from(rows) / of) as u64;
        bound(self.k.saturating_sub(1))..bound(self.k)
    }
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.k, self.of)
    }
}

impl FromStr for Part {
    type Err = PartError;

    /// `k/of`, such as `3/8`.
    fn from_str(text: &str) -> Result<Part, PartError> {
        let form = || PartError::Form(text.to_string());
        // digits only: `u64` would also take a plus sign
        let number = |digits: &str| match digits.bytes().all(|byte| byte.is_ascii_digit()) {
            true => digits.parse().map_err(|_| form()),
            false => Err(form()),
        };
        let (k, of) = text.trim().split_once('/').ok_or_else(form)?;
        Part::new(number(k)?, number(of)?)
    }
}

/// Writes one part to `out`, and its companion beside it. Rows have the numbers they have in the whole.
///
/// The part is made under a temporary name and gets its own when it is whole, right after its companion. If
/// this very part stands there whole, nothing is done; if it is damaged, or missing beside its companion (a
/// kill between the two renames), it is made again, which needs no resume: a scheduler may simply repeat the
/// command. Anything else that stands there is refused. A kill can leave a hidden `.NAME.….tmp` behind.
///
/// # Errors
/// See [`FileError`], and [`Broken`](super::Broken) for what ends the work. No unfinished part stays behind.
pub fn write_part<E: Send>(
    order: &Order,
    part: Part,
    out: &Path,
    threads: usize,
    stop: &Stop,
    worker: &(dyn Fn(&Desk) -> Result<(), E> + Sync),
    progress: bool,
) -> Result<Written, SweepError<E>> {
    sound(order)?;
    usable(out)?;
    let part = Part::new(part.k, part.of).map_err(|error| FileError::Order { why: error.to_string() })?;
    let rows = part.range(order.rows);
    let count = rows.end - rows.start;
    let mine = Sidecar::of(order, Some(part));
    let written =
        |made, already, csv_sha256| Written { rows: count, made, already, cut: Cut::default(), csv_sha256 };
    let standing = look(out, &mine)?;
    if let Standing::Whole(csv_sha256) = standing {
        return Ok(written(0, true, csv_sha256));
    }
    let file = temporary(out)?;
    let sheet = Sheet::new(file.as_file(), 0, Sha256::new());
    let mut sheet = sheet.map_err(FileError::io("writing", out))?;
    sheet.push(&order.header).map_err(FileError::io("writing", out))?;
    let making = Making { threads, stop, worker, progress };
    let made = fill(order, out, &mut sheet, rows, 0, &making)?;
    if !made.whole() {
        let (path, cut) = (out.into(), Cut::default());
        return Err(SweepError::Interrupted { path, done: made.rows, rows: count, kept: false, cut });
    }
    let csv_sha256 = sheet.checksum();
    let ours = put(&mine.whole(csv_sha256.clone()), out, !matches!(standing, Standing::Nothing))?
        && settle(file, out, matches!(standing, Standing::Changed { .. } | Standing::Begun))?;
    // another process was quicker: fine if it made the same
    if !ours && !matches!(look(out, &mine)?, Standing::Whole(_)) {
        Err(FileError::Busy { path: out.into() })?;
    }
    Ok(written(count, false, csv_sha256))
}
