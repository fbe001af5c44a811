//! Analyses: questions about a setup that are answered without a scenario. What they
//! are is the trade's business; here is what the command line needs to know of one.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde_json::{Map, Value};

use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::model::Model;
use crate::part::PartKind;
use crate::setup::Setup;
use crate::units::{self, Dimension};

/// A question that can be asked of a setup; a command of its own.
pub struct Analysis {
    /// Name of the command.
    pub name: &'static str,
    /// What it answers, in a line.
    pub about: &'static str,
    /// What may be said beside the setup.
    pub options: &'static [Choice],
    /// Answers it.
    pub answer: fn(&Given) -> Result<Answer, Diagnostics>,
}

/// Something that may be said beside the setup, as `--name VALUE`.
pub struct Choice {
    /// Name without the dashes.
    pub name: &'static str,
    /// What it means.
    pub about: &'static str,
    /// What it takes.
    pub takes: Takes,
}

/// What an option takes.
#[derive(Clone, Copy)]
pub enum Takes {
    /// One number with a unit, with its default and the range allowed, SI.
    Number(Dimension, &'static str, (f64, f64)),
    /// Numbers with units, separated by commas; likewise.
    Numbers(Dimension, &'static str, (f64, f64)),
    /// Another setup; none if it is left out.
    Setup,
}

/// A setup with its model.
#[derive(Clone)]
pub struct Craft {
    /// As it was read.
    pub setup: Setup,
    /// Its parts, wired.
    pub model: Arc<Model>,
    /// Values outside their usual range.
    pub warnings: Vec<String>,
}

impl Craft {
    /// Puts a setup's parts together.
    ///
    /// # Errors
    /// Everything wrong with them.
    pub fn new(setup: Setup, kinds: &[PartKind]) -> Result<Craft, Diagnostics> {
        let parts = setup.read_parts(kinds)?;
        let warnings = parts.iter().flat_map(|p| p.warnings.iter().map(ToString::to_string)).collect();
        let model = Arc::new(setup.fit(parts)?);
        Ok(Craft { setup, model, warnings })
    }

    /// The same craft with some parameters at other SI values. Only the parts concerned are put together anew.
    ///
    /// # Errors
    /// A parameter cannot be changed so, or a part does not take its value.
    pub fn changed<'a>(
        &self,
        changes: impl IntoIterator<Item = (&'a str, f64)>,
        kinds: &[PartKind],
    ) -> Result<Craft, Diagnostics> {
        let (mut setup, mut model) = (self.setup.clone(), self.model.clone());
        let mut parts: Vec<&str> = Vec::new();
        for (path, value) in changes {
            setup.change(path, value, path)?;
            let part = path.split('.').next().unwrap_or(path);
            if !parts.contains(&part) {
                parts.push(part);
            }
        }
        for name in parts {
            model = setup.refit(&model, name, kinds)?.0;
        }
        Ok(Craft { setup, model, warnings: self.warnings.clone() })
    }
}

/// What is asked.
pub struct Given<'a> {
    /// The craft in question.
    pub craft: Craft,
    /// Parts a setup may hold.
    pub kinds: &'a [PartKind],
    numbers: BTreeMap<&'static str, Vec<f64>>,
    crafts: BTreeMap<&'static str, Craft>,
}

impl<'a> Given<'a> {
    /// A craft, with every option at its default.
    ///
    /// # Errors
    /// A default is wrong, which is a fault of the analysis.
    pub fn new(craft: Craft, kinds: &'a [PartKind], options: &[Choice]) -> Result<Given<'a>, Diagnostics> {
        let mut given = Given { craft, kinds, numbers: BTreeMap::new(), crafts: BTreeMap::new() };
        for option in options {
            match option.takes {
                Takes::Number(_, default, _) | Takes::Numbers(_, default, _) => given.say(option, default)?,
                Takes::Setup => {}
            }
        }
        Ok(given)
    }

    /// Sets a numeric option.
    ///
    /// # Errors
    /// The text is not what the option takes.
    pub fn say(&mut self, option: &Choice, text: &str) -> Result<(), Diagnostics> {
        let (dimension, default, range, several) = match option.takes {
            Takes::Number(dimension, default, range) => (dimension, default, range, false),
            Takes::Numbers(dimension, default, range) => (dimension, default, range, true),
            Takes::Setup => return Ok(()),
        };
        let texts: Vec<&str> = if several { text.split(',').collect() } else { vec![text] };
        let mut values = Vec::new();
        for text in texts {
            let name = option.name;
            let value = units::parse(text, dimension).map_err(|error| {
                Diagnostic::error(format!("--{name}: {error}")).help(error.help(dimension))
            })?;
            if !(range.0..=range.1).contains(&value) {
                // both ends in the unit of the default: not 1 % to 1
                let typical = default.split(',').next().unwrap_or(default);
                let show = |x, up| units::show_in(x, dimension, typical, up);
                let allowed = format!("{} to {}", show(range.0, true), show(range.1, false));
                let error = Diagnostic::error(format!("--{name} is out of range"));
                let error = error.expected(allowed).found(format!("\"{text}\""));
                // a bare number may be meant in the unit of the default
                let meant = dimension.units.iter().find(|u| {
                    let fits = |x: f64| (range.0..=range.1).contains(&(x * u.factor));
                    !u.name.is_empty() && typical.ends_with(u.name) && text.trim().parse().is_ok_and(fits)
                });
                return Err(match meant {
                    Some(unit) => error.help(format!("write {} {}", text.trim(), unit.name)),
                    None => error,
                }
                .into());
            }
            values.push(value);
        }
        self.numbers.insert(option.name, values);
        Ok(())
    }

    /// Sets an option that takes a setup.
    pub fn beside(&mut self, option: &Choice, craft: Craft) {
        self.crafts.insert(option.name, craft);
    }

    /// Value of a numeric option, SI; NaN if the analysis has none of this name.
    pub fn number(&self, name: &str) -> f64 {
        self.numbers(name).first().copied().unwrap_or(f64::NAN)
    }

    /// Value of an option that is a whole number.
    ///
    /// # Errors
    /// It is none.
    pub fn whole(&self, name: &str) -> Result<usize, Diagnostics> {
        let n = self.number(name);
        if n.fract() == 0.0 {
            return Ok(n as usize);
        }
        let error = Diagnostic::error(format!("--{name} is no whole number")).found(n.to_string());
        Err(error.expected("such as 60").into())
    }

    /// Values of a numeric option, SI.
    pub fn numbers(&self, name: &str) -> &[f64] {
        self.numbers.get(name).map_or(&[], Vec::as_slice)
    }

    /// The craft of an option that takes a setup.
    pub fn other(&self, name: &str) -> Option<&Craft> {
        self.crafts.get(name)
    }
}

/// What comes out.
#[derive(Default)]
pub struct Answer {
    /// For a person.
    pub text: String,
    /// For a machine.
    pub values: Map<String, Value>,
    /// For a spreadsheet: headings with units, and rows.
    pub headings: Vec<String>,
    /// Cells: numbers, words, or null.
    pub rows: Vec<Vec<Value>>,
    /// Said at the end.
    pub closing: String,
}
