//! One thing that a study varies, and the values it takes.

use super::report::heading;
use crate::sampling::Distribution;
use crate::units::{Unit, number};

/// Something a study varies.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// What it is called: a parameter such as `propeller.diameter`, or a name of the study's own.
    pub name: String,
    /// Unit in which its numbers are written.
    pub unit: Unit,
    /// The values it takes.
    pub values: Values,
}

/// Values of an axis; numbers are in the axis's unit.
#[derive(Debug, Clone, PartialEq)]
pub enum Values {
    /// These numbers, in this order.
    Numbers(Vec<f64>),
    /// Alternatives with names, in this order.
    Words(Vec<String>),
    /// Any number, as it is distributed.
    Drawn(Distribution),
}

/// Where a point lies on an axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Coordinate {
    /// A number in the axis's unit.
    Number(f64),
    /// The alternative with this place in the list.
    Word(usize),
}

impl Axis {
    /// Number of values; `None` where they are drawn.
    pub fn levels(&self) -> Option<usize> {
        match &self.values {
            Values::Numbers(numbers) => Some(numbers.len()),
            Values::Words(words) => Some(words.len()),
            Values::Drawn(_) => None,
        }
    }

    /// The value with place `i` in the list; for drawn values the middle one.
    pub fn level(&self, i: usize) -> Coordinate {
        match &self.values {
            Values::Numbers(numbers) => Coordinate::Number(numbers.get(i).copied().unwrap_or_default()),
            Values::Words(_) => Coordinate::Word(i),
            Values::Drawn(distribution) => Coordinate::Number(distribution.quantile(0.5)),
        }
    }

    /// The value at `u` of the way through, 0 < u < 1: of drawn values the quantile, of a
    /// list each value for an equal share.
    pub fn at(&self, u: f64) -> Coordinate {
        match &self.values {
            Values::Drawn(distribution) => Coordinate::Number(distribution.quantile(u)),
            _ => {
                let levels = self.levels().unwrap_or(1).max(1);
                self.level(((u * levels as f64) as usize).min(levels - 1))
            }
        }
    }

    /// Value in SI units; `None` for an alternative with a name.
    pub fn si(&self, at: Coordinate) -> Option<f64> {
        match at {
            Coordinate::Number(x) => Some(self.unit.si(x)),
            Coordinate::Word(_) => None,
        }
    }

    /// Heading of its column.
    pub fn heading(&self) -> String {
        heading(&self.name, self.unit.name)
    }

    /// As it stands in the table, in the axis's unit.
    pub fn cell(&self, at: Coordinate) -> String {
        match (at, &self.values) {
            (Coordinate::Number(x), _) => number(x),
            (Coordinate::Word(i), Values::Words(words)) => words.get(i).cloned().unwrap_or_default(),
            (Coordinate::Word(_), _) => String::new(),
        }
    }

    /// What it varies over, in words.
    pub fn describe(&self) -> String {
        let values = match &self.values {
            Values::Numbers(list) => shortened(list, |&x| number(x), ", "),
            Values::Words(words) => shortened(words, String::clone, "; "),
            Values::Drawn(distribution) => distribution.describe(),
        };
        match self.unit.name {
            "" => format!("{}: {values}", self.name),
            unit => format!("{}: {values} {unit}", self.name),
        }
    }
}

/// All of a short list, the ends of a long one.
fn shortened<T>(list: &[T], word: impl Fn(&T) -> String, between: &str) -> String {
    const SHOWN: usize = 12;
    match list {
        // a list may have a million values: those between are not put in words
        [first, second, .., last] if list.len() > SHOWN => {
            let count = list.len();
            format!("{}{between}{}{between}… {} ({count} values)", word(first), word(second), word(last))
        }
        _ => list.iter().map(word).collect::<Vec<_>>().join(between),
    }
}
