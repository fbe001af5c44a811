//! What the columns of a table of readings are to a model.

use crate::diagnostic::{Diagnostic, Diagnostics, suggest};
use crate::model::{Model, Probe};
use crate::readings::{Layout, Mapping, Readings};
use crate::units::{self, Dimension};

/// A way of counting a quantity that differs from the model's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Convention {
    /// Name of the kind of quantity.
    pub kind: &'static str,
    /// What people call it.
    pub name: &'static str,
    /// The model's value over that which is counted so.
    pub factor: f64,
}

/// How well a reading is known, beside the last digit written.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Uncertainty {
    /// Standard uncertainty, SI.
    pub absolute: f64,
    /// Standard uncertainty as a share of the reading.
    pub share: f64,
}

/// What is told of a column.
#[derive(Debug, Clone, PartialEq)]
pub struct Telling {
    /// Heading, with or without its unit.
    pub column: String,
    /// Quantity: a full name such as `pack.current`, or a kind that only one part provides.
    pub quantity: String,
    /// Unit, where the heading does not say.
    pub unit: Option<String>,
    /// Name of a [`Convention`].
    pub counted: Option<String>,
    /// Further factor on what was read.
    pub times: f64,
    /// How well it is known; not needed for what is not predicted.
    pub uncertainty: Option<Uncertainty>,
    /// What kind of number that was told in, if it had a unit.
    pub told_in: Option<Dimension>,
}

/// What a column is to the prediction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// An input, or a state where a row or run starts: it is put where it was read.
    Put,
    /// It is predicted.
    Seen,
}

/// A column that was understood.
#[derive(Debug, Clone, PartialEq)]
pub struct Channel {
    /// Place among the columns of the readings.
    pub column: usize,
    /// Full name of the quantity.
    pub quantity: String,
    /// Its kind, such as `current`.
    pub kind: String,
    /// Its unit in the model.
    pub unit: &'static str,
    /// What it is to the prediction.
    pub role: Role,
    /// The model's value over what was read.
    pub factor: f64,
    /// How well it is known.
    pub uncertainty: Uncertainty,
}

impl Channel {
    /// Value in the model's terms.
    pub fn value(&self, read: f64) -> f64 {
        self.factor * read
    }

    /// Standard uncertainty of a reading in the model's terms; `step` is the last digit written, SI.
    pub fn u(&self, read: f64, step: f64) -> f64 {
        let Uncertainty { absolute, share } = self.uncertainty;
        // a last digit is off by up to half of itself, equally likely: its width over √12
        let digit = if step.is_finite() { step / 12f64.sqrt() } else { 0.0 };
        self.factor.abs() * absolute.hypot(share * read).hypot(digit)
    }
}

/// Finds the quantity that a name means: a full name, or a kind that only one part provides.
///
/// # Errors
/// There is none, or there are several.
pub fn resolve(model: &Model, name: &str) -> Result<Probe, Diagnostic> {
    if let Some(probe) = model.find(name) {
        return Ok(probe);
    }
    match model.providers(name)[..] {
        [only] => Ok(only),
        [] => {
            let kinds: Vec<&str> = kinds(model).into_iter().map(|(kind, _)| kind).collect();
            let error = Diagnostic::error(format!("there is no quantity `{name}` in this setup"));
            let near = suggest(name, kinds.iter().copied());
            let full = model.quantities().into_iter().map(|probe| model.name(probe));
            Err(error.near(near.or_else(|| suggest(name, full))))
        }
        ref several => {
            let names: Vec<&str> = several.iter().map(|&probe| model.name(probe)).collect();
            let error = Diagnostic::error(format!("several parts have a quantity `{name}`"));
            Err(error.expected(format!("one of {}", names.join(", "))))
        }
    }
}

/// Kinds that only one part provides, with a quantity of each.
pub(super) fn kinds(model: &Model) -> Vec<(&str, Probe)> {
    let named = |probe: Probe| Some((model.name(probe).split_once('.')?.1, probe));
    let all = model.quantities().into_iter().filter_map(named);
    all.filter(|(kind, _)| model.providers(kind).len() == 1).collect()
}

/// Units of names as the readings check them.
fn known(model: &Model, names: impl Iterator<Item = String>) -> Vec<(String, String)> {
    names.filter_map(|name| resolve(model, &name).ok().map(|p| (name, units::spelt(model.unit(p))))).collect()
}

/// Reads a table for a model: with nothing told, every column that is headed by a quantity of it.
///
/// # Errors
/// Everything wrong with file, headings and what was told of them.
pub(super) fn read(
    name: &str,
    text: &str,
    layout: &Layout,
    tellings: &[Telling],
    model: &Model,
) -> Result<Readings, Diagnostics> {
    let mut layout = layout.clone();
    let mut problems = Diagnostics::new();
    for telling in tellings {
        if let Err(error) = resolve(model, &telling.quantity) {
            problems.push(error);
        }
        layout.columns.push(Mapping {
            column: telling.column.clone(),
            quantity: telling.quantity.clone(),
            unit: telling.unit.clone(),
        });
    }
    problems.or(())?;
    if tellings.is_empty() {
        let headed = crate::readings::names(text, layout.separator);
        let meant = headed.into_iter().filter(|heading| resolve(model, heading).is_ok());
        let plain = |heading: String| Mapping { column: heading.clone(), quantity: heading, unit: None };
        layout.columns = meant.filter(|h| Some(h) != layout.time.as_ref()).map(plain).collect();
    }
    layout.known = known(model, layout.columns.iter().map(|mapping| mapping.quantity.clone()));
    if layout.columns.is_empty() {
        let error = Diagnostic::error(format!("{name}: no column is headed by a quantity of this setup"));
        return Err(error.help("say what a column is: readings.column(heading, quantity, …)").into());
    }
    Readings::parse(name, text, &layout)
}

/// What each column is to the model.
///
/// # Errors
/// A convention there is not; a column to be predicted whose uncertainty nobody told.
pub(super) fn channels(
    readings: &Readings,
    tellings: &[Telling],
    conventions: &[Convention],
    model: &Model,
) -> Result<Vec<Channel>, Diagnostics> {
    let mut problems = Diagnostics::new();
    let mut channels: Vec<Channel> = Vec::new();
    for (place, column) in readings.columns.iter().enumerate() {
        let telling = tellings.iter().find(|t| t.quantity == column.quantity);
        let Ok(probe) = resolve(model, &column.quantity) else {
            continue;
        };
        let quantity = model.name(probe).to_owned();
        let kind = quantity.split_once('.').map_or("", |(_, kind)| kind).to_owned();
        let role = if model.inputs().contains(&probe)
            || model.state_index(probe).is_some() && telling.is_none_or(|t| t.uncertainty.is_none())
        {
            Role::Put
        } else {
            Role::Seen
        };
        let told = telling.and_then(|t| t.uncertainty);
        if role == Role::Seen && told.is_none() {
            let error = Diagnostic::error(format!(
                "column `{}` ({quantity}): how well it is known is not told",
                column.name
            ));
            problems.push(error.help(
                "add `#{u: …}` for its standard uncertainty, `#{within: …}` for the half-width it surely lies in, \
                 or `#{share: …}` for a standard uncertainty relative to the reading",
            ));
        }
        if let Some(dimension) = telling.and_then(|t| t.told_in).filter(|d| *d != column.dimension) {
            let error =
                Diagnostic::error(format!("column `{}`: its uncertainty is of another kind", column.name));
            problems.push(error.expected(column.dimension.expected()).found(dimension.name));
        }
        let factor = match telling.and_then(|t| t.counted.as_deref()) {
            None => 1.0,
            Some(counted) => match conventions.iter().find(|c| c.kind == kind && c.name == counted) {
                Some(convention) => convention.factor,
                None => {
                    problems.push(no_convention(counted, &kind, conventions));
                    continue;
                }
            },
        };
        if channels.iter().any(|other| other.quantity == quantity) {
            problems.push(Diagnostic::error(format!("two columns hold {quantity}")));
        }
        let unit = model.unit(probe);
        let factor = factor * telling.map_or(1.0, |t| t.times);
        let uncertainty = told.unwrap_or_default();
        channels.push(Channel { column: place, quantity, kind, unit, role, factor, uncertainty });
    }
    problems.or(channels)
}

fn no_convention(counted: &str, kind: &str, conventions: &[Convention]) -> Diagnostic {
    let names: Vec<&str> = conventions.iter().filter(|c| c.kind == kind).map(|c| c.name).collect();
    let error = Diagnostic::error(format!("{kind} is not counted as \"{counted}\""));
    match names.is_empty() {
        true => error.help(format!("there is one way of counting {kind}: leave `counted` out")),
        false => {
            let near = suggest(counted, names.iter().copied());
            error
                .expected(names.iter().map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", "))
                .near(near)
        }
    }
}
