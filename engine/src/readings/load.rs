//! Tables of measurements from files.

use super::{Layout, Readings};
use crate::diagnostic::{Diagnostic, Diagnostics, Place, Position};
use crate::setup::files::inside;
use std::io::Read;
use std::path::Path;

/// Largest file that is read, in bytes: some hours of a dozen channels at 50 Hz.
pub const LIMIT: u64 = 64 * 1024 * 1024;

impl Readings {
    /// Reads a file. `root` is the project folder: no file outside it is read.
    ///
    /// # Errors
    /// As [`Readings::parse`], and everything wrong with the file.
    pub fn load(
        path: impl AsRef<Path>,
        root: impl AsRef<Path>,
        layout: &Layout,
    ) -> Result<Readings, Diagnostics> {
        let (path, root) = (path.as_ref(), root.as_ref());
        Readings::parse(&path.display().to_string(), &text(path, root)?, layout)
    }
}

/// Text of a file of readings. `root` is the project folder: no file outside it is read.
///
/// # Errors
/// Everything wrong with the file.
pub fn text(path: &Path, root: &Path) -> Result<String, Diagnostics> {
    let name = path.display().to_string();
    if inside(root, path).is_err() {
        let error = format!("\"{name}\" is outside the project folder {}", root.display());
        return Err(Diagnostic::error(error).into());
    }
    let place = Place { key: name.clone(), ..Place::default() };
    let failed = |error: std::io::Error| {
        Diagnostic::error(format!("the file cannot be read: {error}")).at(place.clone())
    };
    // asked before the file is opened: opening a pipe would wait for ever
    let about = match std::fs::metadata(path) {
        // whoever reads setups knows the near miss
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
            return Err(crate::setup::files::read(path).err().unwrap_or_else(|| failed(error)).into());
        }
        about => about.map_err(failed)?,
    };
    if !about.is_file() {
        return Err(Diagnostic::error("this is no file").at(place).into());
    }
    let mut bytes = Vec::new();
    let file = std::fs::File::open(path).map_err(failed)?;
    file.take(LIMIT + 1).read_to_end(&mut bytes).map_err(failed)?;
    if bytes.len() as u64 > LIMIT {
        let error = format!("the file is larger than {} MiB", LIMIT / (1024 * 1024));
        return Err(Diagnostic::error(error).at(place).into());
    }
    String::from_utf8(bytes).map_err(|error| {
        let good = &error.as_bytes()[..error.utf8_error().valid_up_to()];
        let good = String::from_utf8_lossy(good);
        let line = good.matches('\n').count() + 1;
        let column = good.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
        let place =
            Place { file: name.clone(), position: Some(Position { line, column }), ..Place::default() };
        Diagnostics::from(Diagnostic::error("not UTF-8 text").help("save the file in UTF-8").at(place))
    })
}
