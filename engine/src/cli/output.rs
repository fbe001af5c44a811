//! Writing to the terminal and to files, where both may refuse.

use std::io::Write;
use std::path::{Path, PathBuf};

use crate::diagnostic::{Diagnostic, Diagnostics};

/// Standard output, with failures told instead of thrown.
pub(super) struct Output {
    out: std::io::BufWriter<std::io::Stdout>,
}

/// A reader that has left has read what it wanted, as `head` does: that is no failure.
fn written(done: std::io::Result<()>) -> Result<(), Diagnostics> {
    match done {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Diagnostic::error(format!("the output cannot be written: {error}")).into())
        }
        _ => Ok(()),
    }
}

impl Output {
    pub fn new() -> Output {
        Output { out: std::io::BufWriter::new(std::io::stdout()) }
    }

    /// Writes a text, with a line end if it has none.
    pub fn text(&mut self, text: &str) -> Result<(), Diagnostics> {
        let end = if text.ends_with('\n') { "" } else { "\n" };
        written(write!(self.out, "{text}{end}"))
    }

    pub fn finish(mut self) -> Result<(), Diagnostics> {
        written(self.out.flush())
    }
}

/// Writes lines to standard error; nobody may be reading them.
pub(super) fn aside(lines: &[String]) {
    let mut stderr = std::io::stderr().lock();
    let _ = lines.iter().try_for_each(|line| writeln!(stderr, "{line}"));
}

/// Tells what is wrong on standard error.
pub(super) fn complain(told: &Diagnostics) {
    // nowhere left to tell that even this cannot be written
    let _ = writeln!(std::io::stderr(), "{}", told.for_terminal());
}

fn unwritable(path: &Path, why: impl std::fmt::Display) -> Diagnostic {
    Diagnostic::error(format!("{} cannot be written: {why}", path.display()))
}

/// Whether a file could be written there, asked before any work is done.
///
/// # Errors
/// `-` is meant to be standard output, a folder or a device stands there, or there is no folder to hold it.
pub(super) fn writable(path: &Path) -> Result<(), Diagnostics> {
    if path.as_os_str() == "-" {
        let error = Diagnostic::error("`-` is no file: standard output is for what the command tells");
        return Err(error.expected("the name of a file").into());
    }
    if path.file_name().is_none() || path.is_dir() {
        return Err(unwritable(path, "this is a folder").expected("the name of a file").into());
    }
    if path.metadata().is_ok_and(|about| !about.is_file()) {
        return Err(unwritable(path, "this is not a file but a device or pipe").into());
    }
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    match folder.filter(|folder| !folder.is_dir()) {
        Some(folder) => {
            let error = unwritable(path, format!("there is no folder {}", folder.display()));
            Err(error.help("create it first").into())
        }
        None => Ok(()),
    }
}

fn temporary(path: &Path) -> PathBuf {
    path.with_file_name(format!(".{}.part", path.file_name().unwrap_or_default().to_string_lossy()))
}

/// Writes all files or none: under temporary names first, then renamed.
pub(super) fn whole_files(files: &[(PathBuf, Vec<u8>)]) -> Result<(), Diagnostics> {
    files.iter().try_for_each(|(path, _)| writable(path))?;
    let write = || -> Result<(), (&PathBuf, std::io::Error)> {
        for (path, content) in files {
            std::fs::write(temporary(path), content).map_err(|e| (path, e))?;
        }
        for (path, _) in files {
            std::fs::rename(temporary(path), path).map_err(|e| (path, e))?;
        }
        Ok(())
    };
    write().map_err(|(path, error)| {
        // whatever is still there under a temporary name is a part of nothing
        files.iter().for_each(|(path, _)| _ = std::fs::remove_file(temporary(path)));
        unwritable(path, error).into()
    })
}
