//! Numbers as parameters: with a unit, or whole.

use super::node::{Node, Value};
use super::param::{Sort, Written, outside};
use super::params::Asked;
use super::yaml::Target;
use crate::diagnostic::Diagnostic;
use crate::units::{self, Dimension, UnitError};

impl Asked<'_, '_, f64> {
    /// Refused outside `low` to `high`, SI, both included. Infinity for no limit.
    pub fn within(mut self, low: f64, high: f64) -> Self {
        self.param.within = Some((low, high));
        self
    }

    /// A warning outside `low` to `high`, SI.
    pub fn usual(mut self, low: f64, high: f64) -> Self {
        self.param.usual = Some((low, high));
        self
    }

    /// It must be there. Another number stands in if it is not, so that the rest can be read.
    pub fn required(mut self) -> f64 {
        self.param.required = true;
        let (low, high) = self.param.within.unwrap_or((1.0, 1.0));
        let middle = 0.5 * (low + high);
        let stand_in = if middle.is_finite() { middle } else { low.max(-high.abs()).max(1.0) };
        self.read(None).unwrap_or(stand_in)
    }

    /// It may be left out.
    pub fn optional(self) -> Option<f64> {
        self.read(None)
    }

    /// Its value if it is left out, as it would be written.
    pub fn or(self, default: &'static str) -> f64 {
        let Sort::Value(dimension) = self.param.sort else {
            return f64::NAN;
        };
        let stand_in = units::parse(default, dimension).unwrap_or(1.0);
        self.read(Some(default)).unwrap_or(stand_in)
    }

    fn read(mut self, default: Option<&'static str>) -> Option<f64> {
        let Sort::Value(dimension) = self.param.sort else {
            return None;
        };
        self.param.default = default.map(str::to_owned);
        let found = self.params.find(&self.param);
        let (value, text) = match (found, default) {
            (Some(node), _) => {
                let value =
                    quantity(node, dimension).map_err(|error| self.params.problem(self.param.key, error));
                (value.ok(), written(node, dimension))
            }
            (None, Some(default)) => {
                let value = units::parse(default, dimension).map_err(|error| {
                    let fault = format!("fault in this kind of part: its default is wrong: {error}");
                    self.params.problem(self.param.key, Diagnostic::error(fault));
                });
                (value.ok(), default.to_owned())
            }
            (None, None) => (None, String::new()),
        };
        let found = found.map_or_else(|| format!("\"{text}\""), Node::describe);
        let limits = self.param.within.unwrap_or((f64::NEG_INFINITY, f64::INFINITY));
        let beyond = |range: &(f64, f64)| value.is_some_and(|x| outside(x, *range));
        if let Some(range) = self.param.within.filter(beyond) {
            let error = Diagnostic::error("out of range").expected(self.param.range_text(range)).found(found);
            self.params.problem(self.param.key, error);
            self.done(None);
            return None;
        }
        if let Some(range) = self.param.usual.filter(beyond) {
            let warning = Diagnostic::warning("unusual").expected(self.param.range_text(range)).found(found);
            let place = self.params.place(Some(self.param.key), Target::Value);
            self.params.warnings.push(warning.at(place));
        }
        self.done(value.map(|_| Written::Text(text)));
        // an end that reads back beside itself is the end
        let (low, high) = limits;
        value.map(|x| x.max(low).min(high))
    }
}

impl Asked<'_, '_, u32> {
    /// Refused outside `low` to `high`, both included.
    pub fn within(mut self, low: u32, high: u32) -> Self {
        self.param.within = Some((low.into(), high.into()));
        self
    }

    /// It must be there.
    pub fn required(mut self) -> u32 {
        self.param.required = true;
        let stand_in = self.param.within.map_or(1, |(low, _)| low as u32);
        self.read(None).unwrap_or(stand_in)
    }

    /// It may be left out.
    pub fn optional(self) -> Option<u32> {
        self.read(None)
    }

    /// Its value if it is left out.
    pub fn or(self, default: u32) -> u32 {
        self.read(Some(default)).unwrap_or(default)
    }

    fn read(mut self, default: Option<u32>) -> Option<u32> {
        self.param.default = default.map(|n| n.to_string());
        let (low, high) = self.param.within.unwrap_or((0.0, f64::from(u32::MAX)));
        let Some(node) = self.params.find(&self.param) else {
            self.done(default.map(|n| Written::Text(n.to_string())));
            return default;
        };
        let number = match &node.value {
            Value::Int(i) => *i as f64,
            Value::Float(x) | Value::Si(x) => *x,
            Value::Text(text) => text.trim().parse().unwrap_or(f64::NAN),
            _ => f64::NAN,
        };
        if number.fract() == 0.0 && (low..=high).contains(&number) {
            self.done(Some(Written::Text(format!("{number}"))));
            return Some(number as u32);
        }
        let (message, expected) = match number.fract() == 0.0 {
            true => ("out of range", self.param.range_text((low, high))),
            false => ("not a whole number", self.param.expected()),
        };
        self.params
            .problem(self.param.key, Diagnostic::error(message).expected(expected).found(node.describe()));
        self.done(None);
        None
    }
}

/// A node as a quantity in SI units.
pub(super) fn quantity(node: &Node, dimension: Dimension) -> Result<f64, Diagnostic> {
    let pure = dimension.si.is_empty();
    let wrong = |error: UnitError, found: String| {
        let (message, found) = match &error {
            UnitError::NoNumber(_) => ("not a number", found),
            UnitError::NotFinite(_) => ("not a finite number", found),
            UnitError::NoUnit(_) => ("the unit is missing", found),
            UnitError::OtherDimension { other, .. } => {
                ("another kind of quantity", format!("{found}, {other}"))
            }
            UnitError::UnknownUnit { .. } => ("unknown unit", found),
        };
        Diagnostic::error(message).expected(dimension.expected()).found(found).help(error.help(dimension))
    };
    match &node.value {
        Value::Text(text) => units::parse(text, dimension).map_err(|error| wrong(error, node.describe())),
        Value::Si(x) if x.is_finite() => Ok(*x),
        Value::Int(i) if pure => Ok(*i as f64),
        Value::Float(x) if pure => Ok(*x),
        Value::Int(_) | Value::Float(_) => Err(wrong(UnitError::NoUnit(String::new()), node.describe())),
        _ => Err(Diagnostic::error("not a number").expected(dimension.expected()).found(node.describe())),
    }
}

/// A quantity as it goes into a file: as it was written, or SI if it came as a bare number.
fn written(node: &Node, dimension: Dimension) -> String {
    match &node.value {
        Value::Text(text) => text.clone(),
        Value::Si(x) => format!("{} {}", units::number(*x), dimension.si).trim_end().into(),
        Value::Float(x) => units::number(*x),
        Value::Int(i) => i.to_string(),
        _ => String::new(),
    }
}
