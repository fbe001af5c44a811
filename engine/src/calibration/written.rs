//! The setups that result: small ones on top of those that were read.

use std::path::{Component, Path, PathBuf};

use super::found::Calibrated;
use super::unknowns::{CLOCK, Sought};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::fit::setup::{Line, changed, dimension, written};
use crate::part::PartKind;
use crate::setup::Setup;

/// A setup to be written.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// The set whose craft it is; empty for what all sets share.
    pub set: String,
    /// The text.
    pub text: String,
    /// What it must mean where it stands: the setup with what was found in it, in full.
    pub meant: String,
}

impl Calibrated {
    /// A setup with what all sets share, and one for each set that differs, each on top of the file that its setup was read
    /// from; `named` says how that file is named from where these will lie.
    ///
    /// # Errors
    /// A parameter that is none of its setup.
    pub fn written(&self, named: &dyn Fn(&Path) -> String) -> Result<Vec<Written>, Diagnostics> {
        let shared = self.lines(None, &self.problem.base);
        let mut all = Vec::new();
        if !shared.is_empty() {
            all.push(self.on_top_of(&self.problem.base, &shared, "", named)?);
        }
        for set in &self.problem.sets {
            let setup = &set.craft.setup;
            let lines = self.lines(Some(&set.name), setup);
            let differs = setup.hash() != self.problem.base.hash() || lines.len() > shared.len();
            if !lines.is_empty() && differs {
                all.push(self.on_top_of(setup, &lines, &set.name, named)?);
            }
        }
        Ok(all)
    }

    /// What was found that a setup takes: what all sets share, and what is this set's own.
    fn lines(&self, set: Option<&str>, setup: &Setup) -> Vec<Line<'_>> {
        let has = |s: &Sought| dimension(setup, self.problem.kinds, &s.parameter).is_ok();
        let each = self.problem.sought.iter().enumerate();
        let each = each.filter(|(_, s)| s.parameter != CLOCK && s.concerns(set) && has(s));
        each.map(|(place, s)| Line { place, parameter: &s.parameter, unit: Some(s.unit) }).collect()
    }

    fn on_top_of(
        &self,
        setup: &Setup,
        lines: &[Line],
        set: &str,
        named: &dyn Fn(&Path) -> String,
    ) -> Result<Written, Diagnostics> {
        let kinds = self.problem.kinds;
        let values: Vec<(&str, f64)> =
            lines.iter().map(|line| (line.parameter, self.fitted.values[line.place])).collect();
        let text = written(&self.fitted, lines, set, setup, kinds, named)?;
        let meant = changed(setup, kinds, &values)?.write(kinds)?;
        Ok(Written { set: set.into(), text, meant })
    }
}

impl Written {
    /// Whether the text means what it must where it will stand.
    ///
    /// # Errors
    /// It cannot be read there, or means something else: a fault of this program, not of its input.
    pub fn check(&self, path: &Path, kinds: &[PartKind]) -> Result<(), Diagnostics> {
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let folder = folder.canonicalize().unwrap_or_else(|_| folder.to_path_buf());
        let path = folder.join(path.file_name().unwrap_or_default());
        let root = folder.ancestors().last().unwrap_or(&folder);
        // titles differ, and are meant to
        let parts = |text: &str| text.split_once("\nparts:\n").map(|(_, parts)| parts.to_owned());
        let again = Setup::to_stand_at(&path, &self.text, root)?.write(kinds)?;
        if parts(&again) == parts(&self.meant) {
            return Ok(());
        }
        let error = Diagnostic::error(format!("{} would not mean what was fitted", path.display()));
        Err(error
            .help("this is a fault of the program: write what was changed into a setup of its own")
            .into())
    }
}

/// A file as it is named from a folder, with `/` between names; both as they are on disk.
pub fn relative(file: &Path, folder: &Path) -> PathBuf {
    let whole = |path: &Path| path.canonicalize().unwrap_or_else(|_| path.to_path_buf());
    let (file, folder) = (whole(file), whole(folder));
    let (to, from): (Vec<Component>, Vec<Component>) =
        (file.components().collect(), folder.components().collect());
    let shared = to.iter().zip(&from).take_while(|(a, b)| a == b).count();
    let up = from[shared..].iter().map(|_| Component::ParentDir);
    up.chain(to[shared..].iter().copied()).collect()
}
