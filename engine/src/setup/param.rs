//! A parameter, described.

use crate::units::{Dimension, show};

/// What a parameter is.
#[derive(Debug, Clone, PartialEq)]
pub enum Sort {
    /// A number with a unit.
    Value(Dimension),
    /// A whole number.
    Count,
    /// One of some words.
    Choice(Vec<&'static str>),
    /// The name of another part.
    Name,
    /// Columns of numbers, with what they are.
    Table(Vec<(&'static str, Dimension)>),
}

/// A parameter: what it is, and what it turned out to be.
#[derive(Debug, Clone, PartialEq)]
pub struct Param {
    /// Key in the setup.
    pub key: &'static str,
    /// What it means.
    pub about: &'static str,
    /// What kind of value it takes.
    pub sort: Sort,
    /// Value if the key is left out.
    pub default: Option<String>,
    /// Whether the key must be there.
    pub required: bool,
    /// Range outside which it is refused, SI.
    pub within: Option<(f64, f64)>,
    /// Range outside which there is a warning, SI.
    pub usual: Option<(f64, f64)>,
    /// Where default or range come from.
    pub source: Option<&'static str>,
    /// Only taken if another parameter has this value, such as "outline: square".
    pub when: Option<String>,
    /// Value as it is written into a setup; `None` if it was left out and has no default.
    pub(super) written: Option<Written>,
}

/// A value on its way into a file.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Written {
    Text(String),
    /// Columns in SI units.
    Table(Vec<Vec<f64>>),
}

impl Param {
    /// "a length such as "150 mm"".
    pub fn expected(&self) -> String {
        match &self.sort {
            Sort::Value(dimension) => dimension.expected(),
            Sort::Count => "a whole number".into(),
            Sort::Choice(words) => words.join(" or "),
            Sort::Name => "the name of a part".into(),
            Sort::Table(columns) => {
                let names: Vec<_> = columns.iter().map(|(name, _)| *name).collect();
                format!("a table with columns {}", names.join(", "))
            }
        }
    }

    pub(super) fn example(&self) -> String {
        match &self.sort {
            Sort::Value(dimension) => dimension.example.into(),
            Sort::Count => "1".into(),
            Sort::Choice(words) => words.first().copied().unwrap_or_default().into(),
            Sort::Name => "…".into(),
            Sort::Table(columns) => {
                let lists: Vec<_> = columns.iter().map(|(name, _)| format!("{name}: […]")).collect();
                format!("{{{}}}", lists.join(", "))
            }
        }
    }
}

/// "20 mm to 300 mm", "at least 1 kg".
pub fn range_text((low, high): (f64, f64), dimension: Dimension) -> String {
    match (low.is_finite(), high.is_finite()) {
        (true, true) => format!("{} to {}", show(low, dimension), show(high, dimension)),
        (true, false) => format!("at least {}", show(low, dimension)),
        (false, true) => format!("at most {}", show(high, dimension)),
        (false, false) => "any value".into(),
    }
}
