//! Writing to the terminal and to files, where both may refuse.

use std::io::Write;
use std::path::Path;

use crate::diagnostic::{Diagnostic, Diagnostics};

/// Standard output, with failures told instead of thrown.
pub(super) struct Output {
    out: std::io::BufWriter<std::io::Stdout>,
}

fn refused(error: &std::io::Error) -> Diagnostics {
    let message = if error.kind() == std::io::ErrorKind::BrokenPipe {
        "nobody reads the output any more: the pipe was closed".to_string()
    } else {
        format!("the output cannot be written: {error}")
    };
    Diagnostic::error(message).into()
}

impl Output {
    pub fn new() -> Output {
        Output { out: std::io::BufWriter::new(std::io::stdout()) }
    }

    /// Writes a text, with a line end if it has none.
    pub fn text(&mut self, text: &str) -> Result<(), Diagnostics> {
        let end = if text.ends_with('\n') { "" } else { "\n" };
        write!(self.out, "{text}{end}").map_err(|e| refused(&e))
    }

    pub fn finish(mut self) -> Result<(), Diagnostics> {
        self.out.flush().map_err(|e| refused(&e))
    }
}

/// Tells what is wrong on standard error.
pub(super) fn complain(told: &Diagnostics) {
    // nowhere left to tell that even this cannot be written
    let _ = writeln!(std::io::stderr(), "{}", told.for_terminal());
}

/// Writes a whole file or nothing: under a temporary name first, then renamed.
pub(super) fn whole_file(path: &Path, content: &[u8]) -> Result<(), Diagnostics> {
    let refuse = |error: std::io::Error| -> Diagnostics {
        Diagnostic::error(format!("{} cannot be written: {error}", path.display())).into()
    };
    let name = path.file_name().ok_or_else(|| refuse(std::io::ErrorKind::InvalidInput.into()))?;
    let temporary = path.with_file_name(format!(".{}.part", name.to_string_lossy()));
    let written = std::fs::write(&temporary, content).and_then(|()| std::fs::rename(&temporary, path));
    written.map_err(|error| {
        let _ = std::fs::remove_file(&temporary);
        refuse(error)
    })
}
