//! Parameters that were found, with what they were found from.

use std::rc::Rc;

use super::problem::Problem;
use super::set::Set;
use crate::analysis::Craft;
use crate::diagnostic::{Diagnostic, Diagnostics, suggest};
use crate::fit::Fitted;
use crate::fit::setup::{UNLIKELY, range};
use crate::setup::Setup;

/// A problem and its answer.
#[derive(Clone)]
pub struct Calibrated {
    /// What was to be found, and from what.
    pub problem: Rc<Problem>,
    /// What was found.
    pub fitted: Fitted,
    /// Weighted squares at worse places where searches from elsewhere ended.
    pub elsewhere: Vec<f64>,
}

impl Calibrated {
    /// Whether the model does not fit: so much would hardly be left over if it and the uncertainties were right.
    pub fn misfits(&self) -> bool {
        self.fitted.chance().is_some_and(|chance| chance < UNLIKELY)
    }

    /// The set of this name; the only one needs none.
    ///
    /// # Errors
    /// There is none, or there are several.
    pub fn set(&self, name: &str) -> Result<&Set, Diagnostics> {
        let sets = &self.problem.sets;
        if let ([only], "") = (&sets[..], name) {
            return Ok(only);
        }
        sets.iter().find(|set| set.name == name).ok_or_else(|| {
            let names: Vec<&str> = sets.iter().map(|set| set.name.as_str()).collect();
            let error = Diagnostic::error(format!("there is no set of readings called \"{name}\""));
            error
                .expected(format!("one of {}", names.join(", ")))
                .near(suggest(name, names.iter().copied()))
                .into()
        })
    }

    /// The craft of a set as it was found.
    ///
    /// # Errors
    /// A part does not take its value.
    pub fn craft(&self, set: &Set) -> Result<Craft, Diagnostics> {
        self.problem.craft(set, &self.fitted.values)
    }

    /// Parameters found, and their values, that another setup takes: those shared by all sets, and those of one set if it
    /// is named.
    ///
    /// # Errors
    /// There is no set of this name, or nothing of what was found is a parameter of that setup.
    pub fn onto(
        &self,
        setup: &Setup,
        set: Option<&str>,
        x: &[f64],
    ) -> Result<Vec<(String, f64)>, Diagnostics> {
        if let Some(name) = set {
            self.set(name)?;
        }
        let kinds = self.problem.kinds;
        let takes = |s: &super::Sought| crate::fit::setup::dimension(setup, kinds, &s.parameter).is_ok();
        let each = self.problem.sought.iter().zip(x).filter(|(s, _)| s.concerns(set) && takes(s));
        // a draw may lie beyond what the part takes
        let within = |s: &super::Sought, x: f64| match range(setup, kinds, &s.parameter) {
            Some((low, high)) => x.clamp(low, high),
            None => x,
        };
        let found: Vec<(String, f64)> = each.map(|(s, &x)| (s.parameter.clone(), within(s, x))).collect();
        if found.is_empty() {
            let names: Vec<&str> = self.problem.sought.iter().map(|s| s.unknown.name.as_str()).collect();
            let error = Diagnostic::error("nothing that was found is a parameter of this setup");
            return Err(error.found(names.join(", ")).into());
        }
        Ok(found)
    }

    /// Another setup as the craft of a set differs from what all sets share, in the parts that something was found of: a
    /// factor found with one propeller must not be put on another.
    ///
    /// # Errors
    /// There is no set of this name, or the setup cannot be changed so.
    pub fn as_taken(&self, setup: &Setup, set: Option<&str>) -> Result<Setup, Diagnostics> {
        let Some(name) = set else { return Ok(setup.clone()) };
        let own = self.set(name)?.craft.setup.changes();
        let base = self.problem.base.changes();
        let part = |path: &str| path.split('.').next().unwrap_or_default().to_owned();
        let found: Vec<String> = self.problem.sought.iter().map(|s| part(&s.parameter)).collect();
        let mut changed = setup.clone();
        for (path, value) in own.iter().filter(|change| !base.contains(change)) {
            if found.contains(&part(path)) && setup.instances().any(|(known, ..)| known == part(path)) {
                changed.change(path, value.clone(), "what the readings were taken with")?;
            }
        }
        Ok(changed)
    }
}
