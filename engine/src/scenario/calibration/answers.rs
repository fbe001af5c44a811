//! Words for what was found, and questions asked of it.

use std::cell::RefCell;
use std::rc::Rc;

use rhai::{Dynamic, Engine, Map};

use super::super::craft::{Craft as Edited, Handle};
use super::super::host::TRIAL;
use super::super::told::raise;
use super::super::values::{from_script, to_script};
use super::super::{Fitting, Shared};
use super::{Fallible, Found};
use crate::analysis::Answer;
use crate::calibration::Calibrated;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::inquiry::{Inquiry, Said};

pub(super) fn register(engine: &mut Engine, session: &Shared) {
    engine.register_fn("value", |found: &mut Found, name: &str| {
        found.with(|c| c.fitted.value(name).map_err(|e| Diagnostic::error(e.to_string()).into()))
    });
    engine.register_fn("error", |found: &mut Found, name: &str| {
        found.with(|c| c.fitted.error(name).map_err(|e| Diagnostic::error(e.to_string()).into()))
    });
    engine.register_fn("chance", |found: &mut Found| {
        found.with(|c| Ok(c.fitted.chance().map_or(Dynamic::UNIT, Dynamic::from)))
    });
    engine.register_fn("apply", |found: &mut Found, craft: Handle| found.apply(&craft, None));
    engine.register_fn("apply", |found: &mut Found, craft: Handle, set: &str| found.apply(&craft, Some(set)));
    let inquiries = session.borrow().catalogue.practice.inquiries;
    for inquiry in inquiries {
        engine.register_fn(inquiry.name, move |found: &mut Found| found.ask(inquiry, Map::new()));
        engine.register_fn(inquiry.name, move |found: &mut Found, said: Map| found.ask(inquiry, said));
    }
}

impl Found {
    fn with<T>(&self, ask: impl FnOnce(&Calibrated) -> Result<T, Diagnostics>) -> Fallible<T> {
        let session = self.session.borrow();
        let fitting = session.outcome.fits.get(self.place).ok_or("this fit is not there any more")?;
        ask(&fitting.found).map_err(raise)
    }

    /// Another setup with what was found in it.
    fn apply(&self, craft: &Handle, set: Option<&str>) -> Fallible<Handle> {
        let parts = self.session.borrow().catalogue.parts;
        let setup = craft.borrow().setup.clone();
        let changed = self.with(|c| {
            let setup = c.as_taken(&setup, set)?;
            let found = c.onto(&setup, set, &c.fitted.values)?;
            let found: Vec<(&str, f64)> = found.iter().map(|(name, x)| (name.as_str(), *x)).collect();
            crate::fit::setup::changed(&setup, parts, &found)
        })?;
        Ok(Rc::new(RefCell::new(Edited::new(changed))))
    }

    pub(super) fn ask(&self, inquiry: &'static Inquiry, said: Map) -> Fallible<Dynamic> {
        self.session.borrow_mut().charge(TRIAL).map_err(raise)?;
        let seed = self.session.borrow().outcome.seed;
        let unasked = said.is_empty();
        let mut setups = std::collections::BTreeMap::new();
        let mut rest = Map::new();
        for (key, value) in said {
            match value.clone().try_cast::<Handle>() {
                Some(craft) => _ = setups.insert(key.to_string(), craft.borrow().setup.clone()),
                None => _ = rest.insert(key, value),
            }
        }
        let values = from_script(rest)?;
        let said = Said::new(inquiry, Said { values, setups, seed }).map_err(raise)?;
        let answer = match self.with(|c| Ok((inquiry.answer)(c, &said)))? {
            // nobody asked: the fit stands without it
            Err(told) if unasked && inquiry.always => {
                let text =
                    crate::text_table::paragraph(&format!("No {}: {}.", inquiry.name, told.in_short()));
                Answer { text, ..Answer::default() }
            }
            told => told.map_err(raise)?,
        };
        let values = to_script(&serde_json::Value::Object(answer.values.clone()));
        if let Some(fitting) = self.session.borrow_mut().outcome.fits.get_mut(self.place) {
            let known = |fitting: &Fitting| fitting.asked.iter().any(|(name, _)| *name == inquiry.name);
            // what is told of every fit anyway makes way where somebody asks for it in his own words
            if let Some(place) = fitting.unasked.iter().position(|name| *name == inquiry.name && !unasked) {
                fitting.unasked.remove(place);
                fitting.asked.retain(|(name, _)| *name != inquiry.name);
            }
            // and is not told twice
            if !(unasked && known(fitting)) {
                fitting.asked.push((inquiry.name, answer));
                fitting.unasked.extend(Some(inquiry.name).filter(|_| unasked));
            }
        }
        Ok(values)
    }
}
