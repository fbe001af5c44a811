//! The setups that result: small ones on top of those that were read.

use std::path::{Component, Path, PathBuf};

use super::found::Calibrated;
use super::unknowns::{CLOCK, Sought};
use crate::diagnostic::Diagnostics;
use crate::fit::setup::{Line, dimension, written_with};
use crate::setup::Setup;

/// A setup to be written.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// The set whose craft it is; empty for what all sets share.
    pub set: String,
    /// The text.
    pub text: String,
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
            let text = self.on_top_of(&self.problem.base, &shared, "", named)?;
            all.push(Written { set: String::new(), text });
        }
        for set in &self.problem.sets {
            let setup = &set.craft.setup;
            let lines = self.lines(Some(&set.name), setup);
            let differs = setup.hash() != self.problem.base.hash() || lines.len() > shared.len();
            if !lines.is_empty() && differs {
                let text = self.on_top_of(setup, &lines, &set.name, named)?;
                all.push(Written { set: set.name.clone(), text });
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
        addition: &str,
        named: &dyn Fn(&Path) -> String,
    ) -> Result<String, Diagnostics> {
        let based_on = setup.file().map(named).unwrap_or_default();
        written_with(&self.fitted, lines, addition, setup, self.problem.kinds, &based_on)
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
