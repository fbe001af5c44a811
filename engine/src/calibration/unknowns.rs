//! What is to be found.

use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::fit::{Unknown, setup};
use crate::part::PartKind;
use crate::sampling::Distribution;
use crate::setup::Setup;
use crate::units::{self, Dimension, TIME, Unit};

/// What the clock of readings along a run is ahead of the run's; found as if it were a parameter.
pub const CLOCK: &str = "clock";

/// A parameter to be found.
#[derive(Debug, Clone, PartialEq)]
pub struct Sought {
    /// Parameter of the setup, `part.parameter`, or [`CLOCK`].
    pub parameter: String,
    /// The set it belongs to; all sets share it if there is none.
    pub set: Option<String>,
    /// What kind of number it is.
    pub dimension: Dimension,
    /// The unit it was told in.
    pub unit: Unit,
    /// What is known of it, SI, under a name of its own.
    pub unknown: Unknown,
    /// What is known of it, in words.
    pub before: String,
}

impl Sought {
    /// A parameter of which so much is known; the distribution's numbers are in `unit`.
    ///
    /// # Errors
    /// There is no such parameter, or its numbers are of another kind.
    pub fn new(
        parameter: &str,
        set: Option<&str>,
        known: Distribution,
        unit: Unit,
        craft: &Setup,
        kinds: &[PartKind],
    ) -> Result<Sought, Diagnostics> {
        let dimension = match parameter {
            CLOCK => TIME,
            _ => setup::dimension(craft, kinds, parameter)?,
        };
        let plain = |d: Dimension| d == units::NUMBER || d == units::FRACTION;
        let bare = plain(dimension) && unit.name.is_empty();
        let same = dimension.units.iter().any(|own| own.name == unit.name && own.factor == unit.factor);
        if !(same || bare) {
            let error = Diagnostic::error(format!("{parameter} is {}", dimension.name));
            let found = if unit.name.is_empty() {
                "numbers without a unit".into()
            } else {
                format!("numbers in {}", unit.name)
            };
            return Err(error.expected(dimension.expected()).found(found).into());
        }
        let name = match set {
            Some(set) => format!("{parameter} ({set})"),
            None => parameter.to_owned(),
        };
        let unknown = unknown(name, known, unit);
        let before = in_words(known, unit);
        Ok(Sought { parameter: parameter.into(), set: set.map(Into::into), dimension, unit, unknown, before })
    }

    /// Whether it is shared by all sets, or belongs to this one.
    pub fn concerns(&self, set: Option<&str>) -> bool {
        self.set.is_none() || self.set.as_deref() == set
    }
}

/// A distribution as a fit knows it: flat ones are bounds, a triangle a normal of its mean and spread within its ends.
fn unknown(name: String, known: Distribution, unit: Unit) -> Unknown {
    match known {
        Distribution::Normal { mean, deviation } => {
            let (mean, sd) = (unit.si(mean), deviation * unit.factor);
            Unknown { scale: sd, ..Unknown::new(name, mean).about(mean, sd) }
        }
        Distribution::LogNormal { median, factor } => {
            let median = unit.si(median);
            Unknown::new(name, median).near(median, factor.ln())
        }
        Distribution::Uniform { low, high } => {
            let (low, high) = (unit.si(low), unit.si(high));
            Unknown { scale: 0.1 * (high - low), ..Unknown::new(name, 0.5 * (low + high)).between(low, high) }
        }
        Distribution::LogUniform { low, high } => {
            let (low, high) = (unit.si(low), unit.si(high));
            Unknown::new(name, (low * high).sqrt()).between(low, high)
        }
        Distribution::Triangular { low, mode, high } => {
            let [low, mode, high] = [low, mode, high].map(|x| unit.si(x));
            let mean = (low + mode + high) / 3.0;
            let variance =
                (low * low + mode * mode + high * high - low * mode - low * high - mode * high) / 18.0;
            let sd = variance.sqrt();
            Unknown { scale: sd, ..Unknown::new(name, mean).between(low, high).about(mean, sd) }
        }
    }
}

/// What is known, for a person.
fn in_words(known: Distribution, unit: Unit) -> String {
    let with = |x: f64| format!("{} {}", units::number(x), unit.name).trim_end().to_owned();
    match known {
        Distribution::Normal { mean, deviation } => format!("{} ± {}", units::number(mean), with(deviation)),
        Distribution::LogNormal { median, factor } => {
            format!("{} ×÷ {}", with(median), units::number(factor))
        }
        Distribution::Uniform { low, high } | Distribution::LogUniform { low, high } => {
            format!("{} to {}", units::number(low), with(high))
        }
        Distribution::Triangular { low, mode, high } => {
            format!("{} to {}, likeliest {}", units::number(low), with(high), with(mode))
        }
    }
}
