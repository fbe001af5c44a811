//! What keeps a table from being made.

use std::convert::Infallible;
use std::io;
use std::path::PathBuf;

use thiserror::Error;

use super::check::Cut;
use super::file_error::FileError;

/// What ended the work of the threads.
#[derive(Debug, Error)]
pub enum Broken<E> {
    /// A worker returned an error; the row it held then, if any.
    #[error("{}{error}", before(.row))]
    Worker {
        /// Number of the row.
        row: Option<u64>,
        /// What the worker returned.
        error: E,
    },
    /// A worker panicked.
    #[error("{}a thread panicked: {message}", before(.row))]
    Panic {
        /// Number of the row.
        row: Option<u64>,
        /// What the panic said.
        message: String,
    },
    /// A worker took a number, gave no row for it, and returned without an error.
    #[error("row {row}: nothing was made of it, and no reason was given")]
    Lost {
        /// Number of the row.
        row: u64,
    },
    /// All workers returned without an error, but not all rows were asked for.
    #[error("only {rows} of {of} rows were made: all threads ended early without an error")]
    Unserved {
        /// Rows made.
        rows: u64,
        /// Rows wanted.
        of: u64,
    },
    /// The row could not be taken.
    #[error("row {row} cannot be written: {error}")]
    Taking {
        /// Number of the row.
        row: u64,
        /// Why.
        error: io::Error,
    },
    /// The system gives no thread.
    #[error("{wanted} threads cannot be started: {error}")]
    Threads {
        /// Threads wanted.
        wanted: usize,
        /// Why.
        error: io::Error,
    },
}

fn before(row: &Option<u64>) -> String {
    row.map(|row| format!("row {row}: ")).unwrap_or_default()
}

/// Why there is no whole table.
#[derive(Debug, Error)]
pub enum SweepError<E = Infallible> {
    /// Something about the files.
    #[error(transparent)]
    File(#[from] FileError),
    /// Something about the work.
    #[error(transparent)]
    Work(Broken<E>),
    /// The end was asked for before all rows were made.
    #[error("{}: interrupted with {done} of {rows} rows made", .path.display())]
    Interrupted {
        /// Where the rows are.
        path: PathBuf,
        /// Rows in the file that can be built upon; of a part none are kept.
        done: u64,
        /// Rows wanted.
        rows: u64,
        /// Whether the rows were kept, so that `resume` goes on from them.
        kept: bool,
        /// What was cut off the file before.
        cut: Cut,
    },
}

impl<E> SweepError<E> {
    /// Whether doing the same again, with resume, may succeed as things are.
    pub fn retry(&self) -> bool {
        match self {
            SweepError::File(error) => error.retry(),
            SweepError::Work(Broken::Threads { .. }) => true,
            SweepError::Work(_) => false,
            SweepError::Interrupted { .. } => true,
        }
    }
}

impl<E> From<Broken<E>> for SweepError<E> {
    fn from(broken: Broken<E>) -> Self {
        SweepError::Work(broken)
    }
}
