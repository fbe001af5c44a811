//! A parameter, described.

use crate::units::{self, Dimension};

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

    /// "20 mm to 300 mm", "at least 1 kg": in the unit of the default, or else of the
    /// example. Ends are rounded inward, so that a value as printed is allowed.
    pub fn range_text(&self, (low, high): (f64, f64)) -> String {
        let text = |si: f64, up: bool| match &self.sort {
            Sort::Value(dimension) => {
                let typical = self.default.as_deref().unwrap_or(dimension.example);
                units::show_in(si, *dimension, typical, up)
            }
            _ => units::number(si),
        };
        match (low.is_finite(), high.is_finite()) {
            (true, true) => format!("{} to {}", text(low, true), text(high, false)),
            (true, false) => format!("at least {}", text(low, true)),
            (false, true) => format!("at most {}", text(high, false)),
            (false, false) => "any value".into(),
        }
    }
}

/// Whether `x` is outside a range by more than rounding: an end that was written in
/// another unit (`10 µΩ`) reads back a few parts in 1e16 beside itself.
pub(super) fn outside(x: f64, (low, high): (f64, f64)) -> bool {
    !(low - 1e-9 * low.abs()..=high + 1e-9 * high.abs()).contains(&x)
}
