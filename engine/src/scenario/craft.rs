//! A setup in a script's hands, and the model built from it.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::Arc;

use super::Catalogue;
use crate::diagnostic::Diagnostics;
use crate::model::Model;
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

    /// Changes one value, after a look whether its part takes it; the part is rebuilt at the next run.
    pub fn change(
        &mut self,
        path: &str,
        value: setup::Change,
        origin: &str,
        catalogue: &Catalogue,
    ) -> Result<(), Diagnostics> {
        let mut changed = self.setup.clone();
        changed.change(path, value, origin)?;
        changed.check_value(path, catalogue.parts)?;
        self.setup = changed;
        self.outdated(path);
        Ok(())
    }

    /// Takes changes that were looked at before; whether their parts take these values
    /// shows when the model is asked for.
    pub fn take<'a>(
        &mut self,
        changes: impl IntoIterator<Item = &'a (String, setup::Change)>,
    ) -> Result<(), Diagnostics> {
        for (path, value) in changes {
            self.setup.change(path, value.clone(), path)?;
            self.outdated(path);
        }
        Ok(())
    }

    /// Notes what of the model a change has outdated.
    fn outdated(&mut self, path: &str) {
        let (part, rest) = path.split_once('.').unwrap_or((path, ""));
        // another kind of part, or other wiring, is another craft
        if rest.is_empty() || rest == "part" || rest.starts_with("from") {
            self.model = None;
        } else if !self.stale.iter().any(|name| name == part) {
            self.stale.push(part.to_string());
        }
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
                Arc::new(self.setup.fit(parts)?)
            }
        };
        for name in std::mem::take(&mut self.stale) {
            let (changed, warnings) = self.setup.refit(&model, &name, catalogue.parts)?;
            self.warnings.extend(warnings.iter().map(ToString::to_string));
            model = changed;
        }
        self.model = Some(model.clone());
        Ok(model)
    }
}
