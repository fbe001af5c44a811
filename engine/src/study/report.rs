//! What a study reports of each trial, as the trade wants it.

use serde_json::{Map, Value};

/// One column of a study's table, read from a trial's findings.
#[derive(Clone, Copy)]
pub struct Column {
    /// Name, such as `take_off.time`.
    pub name: &'static str,
    /// Unit, empty for words and pure numbers.
    pub unit: &'static str,
    /// What it is.
    pub about: &'static str,
    /// Reads it from the findings; null where there is none.
    pub read: fn(&Map<String, Value>) -> Value,
}

impl Column {
    /// `take_off.time [s]`.
    pub fn heading(&self) -> String {
        heading(self.name, self.unit)
    }
}

/// A name with its unit in brackets.
pub fn heading(name: &str, unit: &str) -> String {
    if unit.is_empty() { name.to_string() } else { format!("{name} [{unit}]") }
}

/// An order of merit.
#[derive(Clone, Copy)]
pub struct Ranking {
    /// What it is called, such as "static thrust".
    pub name: &'static str,
    /// Column that decides.
    pub column: &'static str,
    /// Whether the highest value is best.
    pub highest: bool,
    /// Whether it is what people judge by before they try.
    pub beforehand: bool,
}

/// What the engine is told about a study's results.
#[derive(Clone, Copy)]
pub struct Report {
    /// Columns of each trial.
    pub columns: &'static [Column],
    /// Column of words of which each study tells how often each occurs.
    pub tally: &'static str,
    /// Column that is true where an attempt succeeded.
    pub success: &'static str,
    /// Success in words, such as "reaches foiling speed".
    pub success_in_words: &'static str,
    /// Time to success; none counts as "not in time".
    pub time: &'static str,
    /// A number that exists whether an attempt succeeds or not, and grows with merit.
    pub response: &'static str,
    /// Words that explain a result, told of the best and its neighbours.
    pub explains: &'static [&'static str],
    /// Orders of merit.
    pub rankings: &'static [Ranking],
    /// Warning where a ranking beforehand disagrees with one on the day.
    pub disagreement: &'static str,
    /// Numbers of which less is better, traded off against each other.
    pub front: &'static [&'static str],
    /// What is said once at the end of a study.
    pub closing: fn() -> String,
}

impl Report {
    /// For a trade that reports nothing of a study's trials.
    pub const NONE: Report = Report {
        columns: &[],
        tally: "",
        success: "",
        success_in_words: "",
        time: "",
        response: "",
        explains: &[],
        rankings: &[],
        disagreement: "",
        front: &[],
        closing: String::new,
    };
}
