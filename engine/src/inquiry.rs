//! Inquiries: questions of the trade about readings and what was found from them. A scenario
//! asks them by name; what they are is the trade's business.

use std::collections::BTreeMap;

use serde_json::{Map, Value, json};

use crate::analysis::Answer;
use crate::calibration::Calibrated;
use crate::diagnostic::{Diagnostic, Diagnostics, suggest};
use crate::setup::Setup;
use crate::text_table::paragraph;
use crate::units::{self, Dimension};

/// A question that can be asked once a fit is done; a word of the script.
pub struct Inquiry {
    /// The word.
    pub name: &'static str,
    /// What it answers, in a line.
    pub about: &'static str,
    /// What may be said with it.
    pub keys: &'static [Key],
    /// Whether it is answered for every fit, without being asked.
    pub always: bool,
    /// Answers it; the seed is the script's.
    pub answer: fn(&Calibrated, &Said) -> Result<Answer, Diagnostics>,
}

/// Something that may be said with an inquiry.
pub struct Key {
    /// Name.
    pub name: &'static str,
    /// What it means.
    pub about: &'static str,
    /// Whether it must be said.
    pub required: bool,
}

/// The answer to a question that these readings do not answer; what was asked is all right, so that the rest of the script,
/// and of what it tells, goes on.
pub fn not_told(of: &str, why: &str) -> Answer {
    let text = format!("{of}\n{}", paragraph(&format!("Not told: {why}.")));
    Answer { text, values: Map::from_iter([("not_told".to_string(), json!(why))]), ..Answer::default() }
}

/// What was said with an inquiry.
#[derive(Debug, Clone, Default)]
pub struct Said {
    /// By key.
    pub values: Map<String, Value>,
    /// Setups, by key.
    pub setups: BTreeMap<String, Setup>,
    /// Seed for draws.
    pub seed: u64,
}

impl Said {
    /// What was said, if only what may be and all that must be was.
    ///
    /// # Errors
    /// A key there is not, or one that is missing.
    pub fn new(inquiry: &Inquiry, said: Said) -> Result<Said, Diagnostics> {
        let all: Vec<&String> = said.values.keys().chain(said.setups.keys()).collect();
        let mut problems = Diagnostics::new();
        let known = || inquiry.keys.iter().map(|key| key.name);
        for key in all.iter().filter(|key| known().all(|name| name != key.as_str())) {
            let error = Diagnostic::error(format!("`{}` has no `{key}`", inquiry.name));
            problems.push(error.expected(known().collect::<Vec<_>>().join(", ")).near(suggest(key, known())));
        }
        for key in inquiry.keys.iter().filter(|key| key.required && all.iter().all(|said| *said != key.name))
        {
            let error = Diagnostic::error(format!("`{}` needs `{}`", inquiry.name, key.name));
            problems.push(error.expected(key.about));
        }
        problems.or(said)
    }

    fn wrong(key: &str, expected: impl Into<String>, found: &Value) -> Diagnostics {
        Diagnostic::error(format!("`{key}` is not what it should be"))
            .expected(expected)
            .found(found.to_string())
            .into()
    }

    /// A text.
    ///
    /// # Errors
    /// It is none.
    pub fn text(&self, key: &str) -> Result<Option<&str>, Diagnostics> {
        match self.values.get(key) {
            None => Ok(None),
            Some(Value::String(text)) => Ok(Some(text)),
            Some(other) => Err(Said::wrong(key, "a text", other)),
        }
    }

    /// A list of texts; one text is a list of one.
    ///
    /// # Errors
    /// It is none.
    pub fn texts(&self, key: &str) -> Result<Vec<&str>, Diagnostics> {
        match self.values.get(key) {
            None => Ok(Vec::new()),
            Some(Value::String(text)) => Ok(vec![text]),
            Some(Value::Array(list)) => {
                fn one<'v>(key: &str, value: &'v Value) -> Result<&'v str, Diagnostics> {
                    value.as_str().ok_or_else(|| Said::wrong(key, "a list of texts", value))
                }
                list.iter().map(|value| one(key, value)).collect()
            }
            Some(other) => Err(Said::wrong(key, "a list of texts", other)),
        }
    }

    /// A number of a kind, SI; a bare number is in SI already.
    ///
    /// # Errors
    /// It is none.
    pub fn number(&self, key: &str, dimension: Dimension) -> Result<Option<f64>, Diagnostics> {
        self.values.get(key).map(|value| number(key, value, dimension)).transpose()
    }

    /// A list of numbers of a kind, SI.
    ///
    /// # Errors
    /// It is none.
    pub fn numbers(&self, key: &str, dimension: Dimension) -> Result<Vec<f64>, Diagnostics> {
        match self.values.get(key) {
            None => Ok(Vec::new()),
            Some(Value::Array(list)) => list.iter().map(|value| number(key, value, dimension)).collect(),
            Some(one) => Ok(vec![number(key, one, dimension)?]),
        }
    }
}

fn number(key: &str, value: &Value, dimension: Dimension) -> Result<f64, Diagnostics> {
    let bare = value.as_f64().filter(|x| x.is_finite());
    match (bare, value) {
        (Some(x), _) => Ok(x),
        (None, Value::String(text)) => units::parse(text, dimension)
            .map_err(|e| Diagnostic::error(format!("`{key}`: {e}")).help(e.help(dimension)).into()),
        (None, other) => Err(Said::wrong(key, dimension.expected(), other)),
    }
}
