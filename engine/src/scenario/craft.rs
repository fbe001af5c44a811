//! A setup in a script's hands, and the model built from it.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::Arc;

use super::Catalogue;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::model::{Instance, Model, Problem, Problems};
use crate::setup::{self, Setup};

/// A setup, with a model that is rebuilt only where something has changed.
#[derive(Clone)]
pub(super) struct Craft {
    pub setup: Setup,
    model: Option<Arc<Model>>,
    stale: Vec<String>,
    pub warnings: Vec<String>,
}

/// Scripts copy handles, not setups.
pub(super) type Handle = Rc<RefCell<Craft>>;

impl Craft {
    pub fn new(setup: Setup) -> Craft {
        Craft { setup, model: None, stale: Vec::new(), warnings: Vec::new() }
    }

    /// Changes one value; the part it belongs to is rebuilt at the next run.
    pub fn change(&mut self, path: &str, value: setup::Change, origin: &str) -> Result<(), Diagnostics> {
        self.setup.change(path, value, origin)?;
        let (part, rest) = path.split_once('.').unwrap_or((path, ""));
        // another kind of part, or other wiring, is another craft
        if rest.is_empty() || rest == "part" || rest.starts_with("from") {
            self.model = None;
        } else if !self.stale.iter().any(|name| name == part) {
            self.stale.push(part.to_string());
        }
        Ok(())
    }

    /// The model of the setup as it stands.
    pub fn model(&mut self, catalogue: &Catalogue) -> Result<Arc<Model>, Diagnostics> {
        let mut model = match self.model.take() {
            Some(model) => model,
            None => {
                self.stale.clear();
                let parts = self.setup.read_parts(catalogue.parts)?;
                self.warnings =
                    parts.iter().flat_map(|p| p.warnings.iter().map(ToString::to_string)).collect();
                let instances = parts
                    .into_iter()
                    .map(|p| Instance { name: p.name, part: Arc::from(p.part), from: p.from })
                    .collect();
                Arc::new(Model::build(instances).map_err(|p| about(&self.setup, &p))?)
            }
        };
        for name in std::mem::take(&mut self.stale) {
            let part = self.setup.read_part(&name, catalogue.parts)?;
            self.warnings.extend(part.warnings.iter().map(ToString::to_string));
            let changed = model.with_part(&name, Arc::from(part.part));
            model = Arc::new(changed.map_err(|p| about(&self.setup, &p))?);
        }
        self.model = Some(model.clone());
        Ok(model)
    }
}

/// Mistakes in how parts fit together, told where the part in question stands in the setup.
pub(crate) fn about(setup: &Setup, problems: &Problems) -> Diagnostics {
    let mut told = Diagnostics::new();
    for problem in &problems.0 {
        let error = Diagnostic::error(problem.to_string()).at(setup.place_of(part_of(problem)));
        told.push(match problem {
            Problem::NobodyWrites { .. } => error.help("add the part that provides it"),
            _ => error,
        });
    }
    told
}

/// The part a mistake is about; readers are called `part: equation`.
fn part_of(problem: &Problem) -> &str {
    let name = match problem {
        Problem::NobodyWrites { reader, .. } | Problem::WrongSource { reader, .. } => reader,
        Problem::Ambiguous { instance, .. }
        | Problem::TwoWriters { instance, .. }
        | Problem::TwoEquations { instance, .. }
        | Problem::UnusedSource { instance, .. }
        | Problem::NoInstance { instance, .. }
        | Problem::OutOfRange { instance, .. }
        | Problem::NotOwned { instance, .. }
        | Problem::NoRate { instance, .. }
        | Problem::NotFinite { instance, .. } => instance,
        Problem::Ring { ring } => ring.first().map_or("", String::as_str),
        Problem::Clash { .. } => "",
    };
    name.split(':').next().unwrap_or_default()
}
