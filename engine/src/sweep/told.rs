//! Errors of a table as diagnostics: what is wrong, and what to do.

use std::convert::Infallible;
use std::fmt::Display;

use super::error::{Broken, SweepError};
use super::file_error::FileError;
use crate::diagnostic::{Diagnostic, Diagnostics};

impl FileError {
    /// What helps, where anything does.
    fn help(&self) -> Option<String> {
        Some(match self {
            FileError::Unmarked { path, .. } => {
                format!("choose another name, or move {} away", path.display())
            }
            FileError::Sidecar { path, .. } => {
                format!("choose another name, or move {} and its table away", path.display())
            }
            FileError::Foreign { .. } => {
                "choose another name, or go back to what the file was made from".into()
            }
            FileError::Unfinished { .. } => "`--resume` goes on where it ended".into(),
            FileError::Begun { .. } => "finish it with `--resume`, or merge into another file".into(),
            FileError::Changed { .. } => "move it away and make it again".into(),
            FileError::Busy { .. } => {
                "wait until that process ends; `--resume` goes on if it was killed".into()
            }
            FileError::Io { .. } if self.retry() => {
                "make room or mend what failed, and repeat the command; where rows are in the file already, `--resume` \
                 goes on from them"
                    .into()
            }
            FileError::Conflict { .. } => "leave out the one that belongs to something else".into(),
            FileError::Division { .. } => "merge the parts of one division only".into(),
            FileError::Parts { parts, more, .. } => {
                let names: Vec<_> = parts.iter().map(|r| format!("`--part {}`", r.part)).collect();
                let more = if *more > 0 { format!(" and {more} more") } else { String::new() };
                if names.is_empty() {
                    return None;
                }
                format!("make again, or name to the merge: {}{more}", names.join(", "))
            }
            FileError::Io { .. }
            | FileError::Order { .. }
            | FileError::Place { .. }
            | FileError::Row { .. }
            | FileError::NoParts => {
                return None;
            }
        })
    }
}

impl<E: Display> SweepError<E> {
    /// In one sentence, with what to do.
    pub fn diagnostic(&self) -> Diagnostic {
        let error = Diagnostic::error(self.to_string());
        let help = match self {
            SweepError::File(file) => file.help(),
            SweepError::Work(Broken::Threads { .. }) => Some("ask for fewer threads".into()),
            SweepError::Work(_) => None,
            SweepError::Interrupted { kept: true, .. } => Some("`--resume` goes on where it ended".into()),
            SweepError::Interrupted { kept: false, .. } => {
                Some("nothing of an unfinished part is kept: make it again".into())
            }
        };
        match help {
            Some(help) => error.help(help),
            None => error,
        }
    }
}

impl<E: Display + Into<Diagnostics>> From<SweepError<E>> for Diagnostics {
    /// What a worker said stays as it is, with its places in a text.
    fn from(error: SweepError<E>) -> Diagnostics {
        match error {
            SweepError::Work(Broken::Worker { error, .. }) => error.into(),
            other => other.diagnostic().into(),
        }
    }
}

impl From<Infallible> for Diagnostics {
    fn from(never: Infallible) -> Diagnostics {
        match never {}
    }
}
