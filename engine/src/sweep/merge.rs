//! One table from its parts.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::BufReader;
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use super::error::SweepError;
use super::file_error::{FileError, Rerun};
use super::part::Part;
use super::place::{Standing, look, put, settle, temporary, usable};
use super::row::read_row;
use super::sheet::Sheet;
use super::sidecar::{Sidecar, sidecar_of};
use super::{hex, study_hash};

/// A table put together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Merged {
    /// Rows in the file.
    pub rows: u64,
    /// Parts it is made of.
    pub parts: u64,
    /// Whether the file was whole before, and was not touched.
    pub already: bool,
    /// SHA-256 of the file, in hexadecimal.
    pub csv_sha256: String,
}

/// So many parts to be made again are named; all are counted.
const NAMED: usize = 20;

/// A part as its companion describes it.
struct Given {
    path: PathBuf,
    part: Part,
    sidecar: Sidecar,
    csv: String,
}

/// Puts the parts of a table together: table and companion have the bytes that
/// [`write_whole`](super::write_whole) gives. The order of `parts` does not matter, nor that some are named twice.
///
/// Every part is checked against its checksum. The result is made under a temporary name and gets its own when
/// it is whole, right after its companion.
///
/// # Errors
/// Parts are missing, damaged, of different divisions, of different studies, or differ where they should be the
/// same; `out` is something else, or this table begun by a single run; a file cannot be read or written.
pub fn merge(parts: &[PathBuf], out: &Path) -> Result<Merged, SweepError> {
    Ok(merge_files(parts, out)?)
}

fn merge_files(parts: &[PathBuf], out: &Path) -> Result<Merged, FileError> {
    if parts.is_empty() {
        return Err(FileError::NoParts);
    }
    usable(out)?;
    let (given, unreadable) = read(parts)?;
    let Some(first) = given.first() else {
        return Err(FileError::Parts { parts: Vec::new(), more: 0, unreadable });
    };
    let by_part = agreed(&given, first)?;
    let mine = Sidecar { part: None, csv: None, ..first.sidecar.clone() };
    let (rows, of) = (mine.rows, first.part.of);
    let standing = look(out, &mine)?;
    match &standing {
        Standing::Whole(csv) => {
            return Ok(Merged { rows, parts: of, already: true, csv_sha256: csv.clone() });
        }
        Standing::Changed { expected, found } => {
            let (expected, found) = (expected.clone(), found.clone());
            return Err(FileError::Changed { path: out.into(), expected, found });
        }
        Standing::Begun => return Err(FileError::Begun { path: out.into() }),
        Standing::Nothing | Standing::Missing => {}
    }
    let file = temporary(out)?;
    let writing = || FileError::io("writing", out);
    let mut sheet = Sheet::new(file.as_file(), 0, Sha256::new()).map_err(writing())?;
    let mut bad = Vec::new();
    for (&k, copies) in &by_part {
        // of several copies one that is sound will do
        let mut why = String::new();
        let sound = copies.iter().try_fold(false, |done, copy| {
            Ok(done || copy.append(&mut sheet, k == 1, out)?.map_err(|wrong| why = wrong).is_ok())
        })?;
        if !sound {
            bad.push(Rerun { part: Part { k, of }, why });
        }
    }
    complete(by_part.keys().copied(), of, bad, unreadable)?;
    sheet.sync().map_err(writing())?;
    let csv_sha256 = sheet.checksum();
    let ours = put(&mine.whole(csv_sha256.clone()), out, matches!(standing, Standing::Missing))?
        && settle(file, out, false)?;
    if !ours && !matches!(look(out, &mine)?, Standing::Whole(_)) {
        return Err(FileError::Busy { path: out.into() });
    }
    Ok(Merged { rows, parts: of, already: false, csv_sha256 })
}

type Unreadable = Vec<(PathBuf, String)>;

/// Reads all companions; files that are no parts, and why.
fn read(parts: &[PathBuf]) -> Result<(Vec<Given>, Unreadable), FileError> {
    let (mut given, mut unreadable) = (Vec::new(), Vec::new());
    for path in parts {
        let why = match Sidecar::read(path) {
            Ok(Some(sidecar)) => match (sidecar.part, sidecar.csv.clone()) {
                (Some(part), Some(csv)) => {
                    given.push(Given { path: path.clone(), part, sidecar, csv });
                    continue;
                }
                (None, _) => "this is a whole table, not a part".into(),
                (_, None) => "it was begun but not finished".into(),
            },
            Ok(None) => format!("there is no {}", sidecar_of(path).display()),
            Err(error) => error.to_string(),
        };
        unreadable.push((path.clone(), why));
    }
    Ok((given, unreadable))
}

/// The parts by number, if all are of one study and one division, and copies agree.
fn agreed<'a>(given: &'a [Given], first: &Given) -> Result<BTreeMap<u64, Vec<&'a Given>>, FileError> {
    let mut by_part: BTreeMap<u64, Vec<&Given>> = BTreeMap::new();
    for one in given {
        let like_first = Sidecar { part: one.part.into(), ..first.sidecar.clone() };
        let differences = like_first.differences(&one.sidecar);
        if !differences.is_empty() {
            return Err(FileError::Foreign { path: one.path.clone(), differences });
        }
        if one.part.of != first.part.of {
            return Err(FileError::Division {
                first: first.path.clone(),
                first_part: first.part,
                second: one.path.clone(),
                second_part: one.part,
            });
        }
        let copies = by_part.entry(one.part.k).or_default();
        if let Some(other) = copies.iter().find(|other| other.csv != one.csv) {
            let (first, second) = (other.path.clone(), one.path.clone());
            return Err(FileError::Conflict { part: one.part, first, second });
        }
        copies.push(one);
    }
    Ok(by_part)
}

/// Whether there are all parts from 1 to `of`, and none is bad.
fn complete(
    there: impl Iterator<Item = u64>,
    of: u64,
    bad: Vec<Rerun>,
    unreadable: Unreadable,
) -> Result<(), FileError> {
    let mut parts = bad;
    let mut count = parts.len() as u64;
    let mut next = 1;
    // gaps, not numbers, are walked through: a companion may claim any number of parts
    for k in there.chain(std::iter::once(of.saturating_add(1))) {
        count = count.saturating_add(k.saturating_sub(next));
        let missing = (next..k).take(NAMED).map(|k| Rerun { part: Part { k, of }, why: "is missing".into() });
        parts.extend(missing);
        next = k.saturating_add(1);
    }
    if parts.is_empty() && unreadable.is_empty() {
        return Ok(());
    }
    parts.sort_by_key(|rerun| rerun.part);
    parts.truncate(NAMED);
    Err(FileError::Parts { more: count - parts.len() as u64, parts, unreadable })
}

impl Given {
    /// Appends the rows of this part, and before them the header if `with_header`; nothing if the part is not
    /// what it should be.
    ///
    /// # Errors
    /// Outside: the sheet cannot be written. Inside: what is wrong with the part.
    fn append(
        &self,
        sheet: &mut Sheet<&File>,
        with_header: bool,
        out: &Path,
    ) -> Result<Result<(), String>, FileError> {
        let writing = || FileError::io("writing", out);
        let mark = sheet.mark().map_err(writing())?;
        let mut failed = None;
        let checked = self.rows(&mut |header, row| {
            let wanted = with_header || !header;
            match if wanted && failed.is_none() { sheet.push(row) } else { Ok(()) } {
                Ok(()) => true,
                Err(error) => {
                    failed = Some(error);
                    false
                }
            }
        });
        if let Some(error) = failed {
            return Err(writing()(error));
        }
        if checked.is_err() {
            sheet.back(mark).map_err(writing())?;
        }
        Ok(checked)
    }

    /// Hands header and rows to `each` until it says no, and checks them.
    fn rows(&self, each: &mut dyn FnMut(bool, &[u8]) -> bool) -> Result<(), String> {
        let unreadable = |error: std::io::Error| format!("cannot be read ({}): {error}", self.path.display());
        let file = File::open(&self.path).map_err(unreadable)?;
        let mut reader = BufReader::with_capacity(1 << 18, file);
        let (mut hash, mut row, mut count) = (Sha256::new(), Vec::new(), 0_u64);
        while read_row(&mut reader, &mut row).map_err(unreadable)? {
            hash.update(&row);
            let header = count == 0;
            count += 1;
            if header && study_hash(&self.sidecar.origin, &row, self.sidecar.rows) != self.sidecar.study {
                return Err(format!("does not begin as its study does ({})", self.path.display()));
            }
            if !each(header, &row) {
                return Ok(());
            }
        }
        let range = self.part.range(self.sidecar.rows);
        let expected = range.end - range.start;
        if !row.is_empty() || count != expected.saturating_add(1) {
            let found = count.saturating_sub(1);
            return Err(format!("has {found} whole rows instead of {expected} ({})", self.path.display()));
        }
        if hex(hash) != self.csv {
            return Err(format!("has changed since it was made ({})", self.path.display()));
        }
        Ok(())
    }
}
