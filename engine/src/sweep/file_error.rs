//! What is wrong with the files of a table.

use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;

use super::differ::{Difference, listed};
use super::part::Part;

/// A part that must be made again, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rerun {
    /// Which part.
    pub part: Part,
    /// What is wrong with it.
    pub why: String,
}

/// What is wrong with the files of a table.
#[derive(Debug, Error)]
pub enum FileError {
    /// What was ordered contradicts itself.
    #[error("the table cannot be made as ordered: {why}")]
    Order {
        /// In which way.
        why: String,
    },
    /// No file can be written there.
    #[error("{} cannot be written: {why}", .path.display())]
    Place {
        /// Where.
        path: PathBuf,
        /// Why not.
        why: String,
    },
    /// A file without a companion that says where it came from.
    #[error("{} is there, but {} is not: nothing says what it was made from", .path.display(), .sidecar.display())]
    Unmarked {
        /// The file.
        path: PathBuf,
        /// The companion it lacks.
        sidecar: PathBuf,
    },
    /// The companion file cannot be made sense of.
    #[error("{} does not say what the table was made from: {why}", .path.display())]
    Sidecar {
        /// The companion file.
        path: PathBuf,
        /// What is wrong with it.
        why: String,
    },
    /// The file was made from something else.
    #[error("{} holds another study: {}", .path.display(), listed(.differences))]
    Foreign {
        /// The file.
        path: PathBuf,
        /// What differs.
        differences: Vec<Difference>,
    },
    /// The same study, begun and not finished, and resuming was not asked for.
    #[error("{} holds this study, begun but not finished", .path.display())]
    Unfinished {
        /// The file.
        path: PathBuf,
    },
    /// A merge finds the same study, begun by a single run and not finished.
    #[error("{} holds this study, begun by a single run and not finished", .path.display())]
    Begun {
        /// The file.
        path: PathBuf,
    },
    /// The file was finished, and has changed since.
    #[error("{} was finished and has changed since: SHA-256 expected {expected}, found {found}", .path.display())]
    Changed {
        /// The file.
        path: PathBuf,
        /// As the companion says.
        expected: String,
        /// As it is.
        found: String,
    },
    /// Another process is writing it.
    #[error("{} is being written by another process", .path.display())]
    Busy {
        /// The file.
        path: PathBuf,
    },
    /// A row that could not be told from a torn one later.
    #[error("row {row} is no row of this table: {why}")]
    Row {
        /// Its number.
        row: u64,
        /// What is wrong with it.
        why: String,
    },
    /// The system refused.
    #[error("{}: {doing} failed: {error}", .path.display())]
    Io {
        /// What was being done.
        doing: &'static str,
        /// To which file.
        path: PathBuf,
        /// Why not.
        error: io::Error,
    },
    /// Nothing to merge.
    #[error("there are no parts to merge")]
    NoParts,
    /// Two files claim to be the same part and differ.
    #[error("{} and {} are both part {part}, but differ", .first.display(), .second.display())]
    Conflict {
        /// Which part.
        part: Part,
        /// One file.
        first: PathBuf,
        /// The other.
        second: PathBuf,
    },
    /// Parts of different divisions.
    #[error("{} is part {first_part}, {} is part {second_part}: they divide the table differently",
        .first.display(), .second.display())]
    Division {
        /// One file.
        first: PathBuf,
        /// What it is.
        first_part: Part,
        /// The other.
        second: PathBuf,
        /// What that is.
        second_part: Part,
    },
    /// Parts are missing or of no use.
    #[error("not all parts can be used: {}", reruns(.parts, .unreadable, *.more))]
    Parts {
        /// Parts to make again: the first of them, in order.
        parts: Vec<Rerun>,
        /// So many more, beyond those listed.
        more: u64,
        /// Files of which it is not even clear which part they are, and why.
        unreadable: Vec<(PathBuf, String)>,
    },
}

fn reruns(parts: &[Rerun], unreadable: &[(PathBuf, String)], more: u64) -> String {
    let parts = parts.iter().map(|r| format!("{} {}", r.part, r.why));
    let files = unreadable.iter().map(|(path, why)| format!("{}: {why}", path.display()));
    let mut all: Vec<_> = parts.chain(files).collect();
    if more > 0 {
        all.push(format!("{more} more are missing"));
    }
    all.join("; ")
}

impl FileError {
    /// For `map_err`: what was being done to which file.
    pub(super) fn io(doing: &'static str, path: &Path) -> impl FnOnce(io::Error) -> FileError {
        move |error| FileError::Io { doing, path: path.to_path_buf(), error }
    }

    /// Whether doing the same again, with resume, may succeed as things are.
    pub fn retry(&self) -> bool {
        use io::ErrorKind as Kind;
        match self {
            FileError::Unfinished { .. } | FileError::Busy { .. } => true,
            // a full disk, a quota, a limit of the shell (EFBIG), a lost connection: may pass; a folder that is not
            // there or not ours: does not
            FileError::Io { error, .. } => !matches!(
                error.kind(),
                Kind::NotFound
                    | Kind::PermissionDenied
                    | Kind::ReadOnlyFilesystem
                    | Kind::IsADirectory
                    | Kind::NotADirectory
                    | Kind::InvalidInput
                    | Kind::InvalidFilename
                    | Kind::Unsupported
            ),
            _ => false,
        }
    }
}
