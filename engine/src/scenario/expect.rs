//! What must hold of a result.

use rhai::{Dynamic, EvalAltResult};

use super::values::number;
use crate::diagnostic::Place;

/// A statement about one value.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Must {
    Between(f64, f64),
    Above(f64),
    Below(f64),
    Near(f64, f64),
    Be(bool),
    Read(String),
    BeNone,
}

/// An expectation and whether it holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// What the script calls it.
    pub label: String,
    /// Whether it holds.
    pub holds: bool,
    /// What was expected.
    pub expected: String,
    /// What was found.
    pub found: String,
    /// What was found, if it is a number.
    pub found_value: Option<f64>,
    /// Distance to the nearest value that would have held.
    pub off_by: Option<f64>,
    /// Script or module in which it stands.
    pub file: String,
    /// Line in that file.
    pub line: Option<usize>,
}

impl Must {
    fn expected(&self) -> String {
        match self {
            Must::Between(low, high) => format!("between {low} and {high}"),
            Must::Above(low) => format!("above {low}"),
            Must::Below(high) => format!("below {high}"),
            Must::Near(value, by) => format!("{value} ± {by}"),
            Must::Be(value) => value.to_string(),
            Must::Read(text) => format!("\"{text}\""),
            Must::BeNone => "none".into(),
        }
    }

    /// Holds the value against the statement.
    pub fn check(&self, label: String, value: &Dynamic, place: &Place) -> Result<Check, Box<EvalAltResult>> {
        let (holds, off_by) = match self {
            Must::Be(wanted) => (value.as_bool().is_ok_and(|found| found == *wanted), None),
            Must::Read(text) => (value.clone().into_string().is_ok_and(|found| found == *text), None),
            Must::BeNone => (value.is_unit(), None),
            _ if value.is_unit() => (false, None),
            numeric => {
                let found = number(value, "1")?;
                let off = match *numeric {
                    Must::Between(low, high) => (low - found).max(found - high),
                    Must::Above(low) => low - found,
                    Must::Below(high) => found - high,
                    Must::Near(wanted, by) => (found - wanted).abs() - by,
                    _ => 0.0,
                };
                (off <= 0.0, (off > 0.0).then_some(off))
            }
        };
        let found = if value.is_unit() {
            "none".into()
        } else if let Ok(text) = value.clone().into_string() {
            format!("\"{text}\"")
        } else {
            value.to_string()
        };
        let found_value = value.as_float().ok().or_else(|| value.as_int().ok().map(|i| i as f64));
        let (file, line) = (place.file.clone(), place.position.map(|p| p.line));
        Ok(Check { label, holds, expected: self.expected(), found, found_value, off_by, file, line })
    }
}
