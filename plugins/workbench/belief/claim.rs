//! What is believed, in numbers.

use engine::calibration::{Calibrated, Problem, resolve};
use engine::diagnostic::{Diagnostic, Diagnostics, suggest};
use engine::inquiry::Said;
use engine::model::Model;
use engine::units::{self, Unit};

use super::measure::At;
use crate::nomenclature::{SURGE_FORCE, THRUST};
use crate::verdict::limits::{BINDING, margins};

/// A belief about a row of readings.
pub struct Claim {
    /// What was said.
    pub says: String,
    /// Where.
    pub at: At,
    /// What.
    pub what: What,
}

/// Forms of belief.
pub enum What {
    /// This limit binds; full name of its margin.
    Limit { name: String, margin: String },
    /// A quantity is so much, give or take; SI, with the unit it was told in.
    Value { quantity: String, is: f64, within: f64, unit: Unit },
    /// A quantity is so many times that at another row, give or take.
    Ratio { quantity: String, theirs: String, other: At, is: f64, within: f64 },
}

fn wrong(message: impl Into<String>, expected: impl Into<String>) -> Diagnostics {
    Diagnostic::error(message).expected(expected).into()
}

/// A number in the unit of a quantity, its unit, and whether it is one (not a difference); bare ones are SI.
fn amount(said: &Said, key: &str, si: &str) -> Result<Option<(f64, Unit)>, Diagnostics> {
    let Some(value) = said.values.get(key) else { return Ok(None) };
    let number = match value.as_str() {
        None => said.number(key, units::NUMBER)?.map(|x| (x, Unit { name: "", factor: 1.0, offset: 0.0 })),
        Some(text) => {
            let (number, unit, dimension) = units::parse_any(text).map_err(|error| {
                wrong(format!("`{key}`: {error}"), "a number with its unit, such as \"12 A\"")
            })?;
            let pure = |d: &str| d.is_empty() || d == "1";
            if dimension.si != units::spelt(si) && !(pure(dimension.si) && pure(si)) {
                return Err(Diagnostics::from(
                    Diagnostic::error(format!("`{key}` is of another kind"))
                        .expected(format!("a value in {} or the like", units::spelt(si)))
                        .found(format!("\"{text}\"")),
                ));
            }
            Some((number, unit))
        }
    };
    Ok(number)
}

/// Place of a set by its name, and the row that is meant.
fn place(found: &Calibrated, name: &str, throttle: Option<f64>) -> Result<At, Diagnostics> {
    let problem = &found.problem;
    let wanted = found.set(name)?.name.clone();
    let set = problem.sets.iter().position(|set| set.name == wanted).unwrap_or_default();
    let nothing = || wrong(format!("\"{wanted}\" has no row of readings"), "at least one");
    problem.sets[set].at_rest()?;
    let highest = At::highest(problem, set).ok_or_else(nothing)?;
    let Some(asked) = throttle else { return Ok(highest) };
    let rows = problem.sets[set].rows.iter().map(|&row| At { row, ..highest });
    let same = |at: &At| at.throttle(problem).is_some_and(|t| (t - asked).abs() < 1e-6);
    Ok(rows.into_iter().find(same).unwrap_or(At { throttle: Some(asked), ..highest }))
}

/// `pull`, as it is called where two propellers are compared, is what a propeller's thrust leaves where it is felt.
fn pull(model: &Model, name: &str) -> String {
    match model.providers(THRUST.name)[..] {
        [only] if name == "pull" => {
            let part = model.name(only).split('.').next().unwrap_or_default();
            format!("{part}.{}", SURGE_FORCE.name)
        }
        _ => name.to_owned(),
    }
}

impl Claim {
    /// Reads what was said.
    ///
    /// # Errors
    /// No form of belief, a set, limit or quantity there is not, numbers of another kind.
    pub fn read(found: &Calibrated, said: &Said) -> Result<Claim, Diagnostics> {
        let says = said.text("says")?.unwrap_or_default().to_owned();
        let throttle = said.number("throttle", units::FRACTION)?;
        if throttle.is_some_and(|t| !(0.0..=1.0).contains(&t)) {
            return Err(wrong("`throttle` is out of range", "0 % to 100 %"));
        }
        let at = place(found, said.text("readings")?.unwrap_or_default(), throttle)?;
        let model = &found.problem.sets[at.set].craft.model;
        let what = match (said.text("limit")?, said.text("quantity")?) {
            (Some(limit), None) => Claim::limit(model, limit)?,
            (None, Some(name)) => Claim::amount(found, said, at, throttle, name)?,
            _ => {
                return Err(wrong(
                    "a belief is about one thing",
                    "`limit: \"battery current\"`, or `quantity` with `is` and `within`",
                ));
            }
        };
        Ok(Claim { says, at, what })
    }

    fn limit(model: &Model, asked: &str) -> Result<What, Diagnostics> {
        let all = margins(model);
        match all.iter().find(|(name, _)| name == asked) {
            Some((name, probe)) => {
                Ok(What::Limit { name: name.clone(), margin: model.name(*probe).to_owned() })
            }
            None => {
                let names: Vec<&str> = all.iter().map(|(name, _)| name.as_str()).collect();
                let error = Diagnostic::error(format!("there is no limit \"{asked}\" in this setup"));
                let near = suggest(asked, names.iter().copied());
                Err(error.expected(format!("one of {}", names.join(", "))).near(near).into())
            }
        }
    }

    fn amount(
        found: &Calibrated,
        said: &Said,
        at: At,
        throttle: Option<f64>,
        name: &str,
    ) -> Result<What, Diagnostics> {
        let model = &found.problem.sets[at.set].craft.model;
        let name = &pull(model, name);
        let probe = resolve(model, name)?;
        let quantity_name = model.name(probe).to_owned();
        let needs =
            |key: &str| wrong(format!("a belief about `{name}` needs `{key}`"), "a number above zero");
        let ratio = said.text("ratio_to")?;
        let si = if ratio.is_some() { "1" } else { model.unit(probe) };
        let (is, unit) = amount(said, "value", si)?.ok_or_else(|| needs("value"))?;
        let (within, half) = amount(said, "within", si)?.ok_or_else(|| needs("within"))?;
        let (is, within) = (unit.si(is), within * half.factor);
        if !(within > 0.0 && is.is_finite() && within.is_finite()) {
            return Err(needs("within"));
        }
        let Some(other) = ratio else {
            return Ok(What::Value { quantity: quantity_name, is, within, unit });
        };
        let other = place(found, other, throttle)?;
        let theirs = &found.problem.sets[other.set].craft.model;
        let theirs = theirs.name(resolve(theirs, &pull(theirs, name))?).to_owned();
        Ok(What::Ratio { quantity: quantity_name, theirs, other, is, within })
    }

    /// What the belief is about, at these values: a margin, a quantity, or a ratio.
    ///
    /// # Errors
    /// As [`At::value`].
    pub fn value(&self, problem: &Problem, x: &[f64]) -> Result<f64, String> {
        match &self.what {
            What::Limit { margin, .. } => self.at.value(problem, x, margin),
            What::Value { quantity, .. } => self.at.value(problem, x, quantity),
            What::Ratio { quantity, theirs, other, .. } => {
                let ratio = self.at.value(problem, x, quantity)? / other.value(problem, x, theirs)?;
                if ratio.is_finite() { Ok(ratio) } else { Err(format!("{theirs} is zero")) }
            }
        }
    }

    /// Whether the belief is true if this is its value.
    pub fn holds(&self, value: f64) -> bool {
        match self.what {
            What::Limit { .. } => value > -BINDING,
            What::Value { is, within, .. } | What::Ratio { is, within, .. } => (value - is).abs() <= within,
        }
    }

    /// Rows it is about.
    pub fn places(&self) -> Vec<At> {
        match self.what {
            What::Ratio { other, .. } => vec![self.at, other],
            _ => vec![self.at],
        }
    }
}
