//! Where a table goes, and what stands there already.
//!
//! The rule that makes a kill at any moment harmless: a companion is in place before its table is. A table
//! without one was therefore never written by this code, and is left alone.

use std::fs::{self, File};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

use fs4::{FileExt, TryLockError};
use tempfile::{Builder, NamedTempFile};

use super::check::checksum;
use super::file_error::FileError;
use super::sidecar::{Sidecar, sidecar_of};

/// What stands there.
pub(super) enum Standing {
    /// Neither table nor companion.
    Nothing,
    /// The companion of this table alone.
    Missing,
    /// This table, not finished.
    Begun,
    /// This table, whole, with this checksum.
    Whole(String),
    /// This table, once whole, and no longer what it was.
    Changed { expected: String, found: String },
}

/// Looks whether what stands at `table` is what `mine` describes.
///
/// # Errors
/// It is another study, or nothing says what it is, or it cannot be read.
pub(super) fn look(table: &Path, mine: &Sidecar) -> Result<Standing, FileError> {
    // the table first: who makes one puts the companion there before, so it is then seen as well
    let there = match fs::metadata(table) {
        Ok(_) => true,
        Err(error) if error.kind() == ErrorKind::NotFound => false,
        Err(error) => return Err(FileError::io("looking for it", table)(error)),
    };
    let Some(found) = Sidecar::read(table)? else {
        if there {
            return Err(FileError::Unmarked { path: table.into(), sidecar: sidecar_of(table) });
        }
        return Ok(Standing::Nothing);
    };
    let differences = mine.differences(&found);
    if !differences.is_empty() {
        return Err(FileError::Foreign { path: table.into(), differences });
    }
    Ok(match found.csv {
        _ if !there => Standing::Missing,
        None => Standing::Begun,
        Some(expected) => {
            let found = checksum(table)?;
            if found == expected { Standing::Whole(found) } else { Standing::Changed { expected, found } }
        }
    })
}

/// Refuses what cannot be a table before any work is done.
pub(super) fn usable(table: &Path) -> Result<(), FileError> {
    let why = if table.file_name().is_none() || table.is_dir() {
        "this is a folder".to_string()
    } else if table.metadata().is_ok_and(|about| !about.is_file()) {
        "this is not a file but a device or pipe".into()
    } else if !folder_of(table).is_dir() {
        format!("there is no folder {}", folder_of(table).display())
    } else {
        return Ok(());
    };
    Err(FileError::Place { path: table.into(), why })
}

fn folder_of(path: &Path) -> PathBuf {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.into(),
        _ => ".".into(),
    }
}

/// An empty file of a name that nobody has, in the same folder; gone when dropped.
pub(super) fn temporary(path: &Path) -> Result<NamedTempFile, FileError> {
    let prefix = format!(".{}.", path.file_name().unwrap_or_default().to_string_lossy());
    let mut builder = Builder::new();
    builder.prefix(&prefix).suffix(".tmp");
    // as any other file, not for the owner alone: others may have to merge it
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.tempfile_in(folder_of(path)).map_err(FileError::io("making a temporary file beside it", path))
}

/// Gives a temporary file its name; `false` if `replace` is not set and another file has it.
pub(super) fn settle(file: NamedTempFile, path: &Path, replace: bool) -> Result<bool, FileError> {
    let renamed = if replace { file.persist(path) } else { file.persist_noclobber(path) };
    match renamed {
        Ok(_) => {}
        Err(failed) if !replace && failed.error.kind() == ErrorKind::AlreadyExists => return Ok(false),
        Err(failed) => return Err(FileError::io("renaming to it", path)(failed.error)),
    }
    // makes the name last through a loss of power, where folders can be opened; nothing breaks where not
    if let Ok(folder) = File::open(folder_of(path)) {
        let _ = folder.sync_all();
    }
    Ok(true)
}

/// Puts the companion beside `table`, whole or not at all; `false` if `replace` is not set and there is one.
pub(super) fn put(sidecar: &Sidecar, table: &Path, replace: bool) -> Result<bool, FileError> {
    let path = sidecar_of(table);
    let mut file = temporary(&path)?;
    let written = file.write_all(sidecar.text().as_bytes()).and_then(|()| file.as_file().sync_all());
    written.map_err(FileError::io("writing", &path))?;
    settle(file, &path, replace)
}

/// Takes the file for this process, until it is closed: by whatever end of the process.
///
/// Where a file system knows no locks (some of clusters do not) the work goes on without.
pub(super) fn lock(file: &File, path: &Path) -> Result<(), FileError> {
    match FileExt::try_lock(file) {
        Ok(()) => Ok(()),
        Err(TryLockError::WouldBlock) => Err(FileError::Busy { path: path.into() }),
        Err(TryLockError::Error(error)) if error.kind() == ErrorKind::Unsupported => Ok(()),
        Err(TryLockError::Error(error)) => Err(FileError::io("locking", path)(error)),
    }
}
