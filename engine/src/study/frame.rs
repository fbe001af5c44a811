//! A study as data: what every worker and every later reader of its table needs to know.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde_json::{Value, json};

use super::design::Design;

/// What a column of a study's table is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// The point's number.
    Index,
    /// A value that is varied.
    Axis,
    /// A value that moves with one that is varied.
    Follows,
    /// How the point ended, in the engine's words.
    Status,
    /// Why it did not run, in words.
    Failure,
    /// A result; the trial's place in the study.
    Result(usize),
}

/// A column of a study's table.
#[derive(Debug, Clone, PartialEq)]
pub struct Heading {
    /// Name without unit, with the trial's name before it where it is not the first trial's.
    pub name: String,
    /// Name without unit and without trial.
    pub bare: String,
    /// Unit, empty where there is none.
    pub unit: String,
    /// What it is for.
    pub role: Role,
}

impl Heading {
    /// `tub.static_thrust [N]`.
    pub fn text(&self) -> String {
        super::heading(&self.name, &self.unit)
    }
}

/// An order of merit that a study asks for.
#[derive(Debug, Clone, PartialEq)]
pub struct Merit {
    /// What it is called.
    pub name: String,
    /// Column that decides, by its name.
    pub column: String,
    /// Whether the highest value is best.
    pub highest: bool,
    /// Whether it is what people judge by before they try.
    pub beforehand: bool,
}

/// Points that a condition of the study left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Skipped {
    /// The condition, in the script's words.
    pub because: String,
    /// How many.
    pub points: u64,
}

/// A study as data.
pub struct Frame {
    /// Title of the study.
    pub title: String,
    /// Title and purpose of the scenario.
    pub scenario_title: String,
    /// Purpose of the scenario.
    pub purpose: String,
    /// Seed of all draws.
    pub seed: u64,
    /// The points.
    pub design: Design,
    /// Numbers of the points that are not skipped; `None` if all are looked at.
    pub active: Option<Arc<Vec<u32>>>,
    /// What was left out.
    pub skipped: Vec<Skipped>,
    /// Columns of the table.
    pub headings: Vec<Heading>,
    /// Trials by name, with the longest time each may take, s.
    pub trials: Vec<(String, f64)>,
    /// Orders of merit.
    pub merits: Vec<Merit>,
    /// Columns traded off against each other.
    pub front: Vec<String>,
    /// Column whose variance is explained.
    pub response: String,
    /// Every file read, with its SHA-256.
    pub inputs: BTreeMap<String, String>,
}

impl Frame {
    /// Number of rows of the table.
    pub fn rows(&self) -> u64 {
        self.active.as_ref().map_or(self.design.points(), |list| list.len() as u64)
    }

    /// Number of the point in a row.
    pub fn index(&self, row: u64) -> u64 {
        match &self.active {
            Some(list) => list.get(row as usize).copied().map_or(u64::MAX, u64::from),
            None => row,
        }
    }

    /// Place of a column in a row.
    pub fn column(&self, name: &str) -> Option<usize> {
        self.headings.iter().position(|h| h.name == name)
    }

    /// What the study looks at, for the file beside its table.
    pub fn describe(&self) -> Value {
        let lines = |axes: &[super::Axis]| axes.iter().map(super::Axis::describe).collect::<Vec<_>>();
        let scheme =
            |draws: Option<&crate::sampling::Draws>| draws.map(|d| super::design::in_words(d.scheme()));
        let skipped: Vec<Value> =
            self.skipped.iter().map(|s| json!({"because": s.because, "points": s.points})).collect();
        json!({
            "title": self.title,
            "axes": lines(self.design.axes()),
            "points": scheme(self.design.sampled()).unwrap_or_else(|| "grid".into()),
            "uncertain": lines(self.design.uncertain()),
            "draws": scheme(self.design.chance()),
            "designs": self.design.designs(),
            "draws_per_design": self.design.draws_per_design(),
            "skipped": skipped,
            "trials": self.trials.iter().map(|(name, lasts)| json!({"name": name, "lasts_s": lasts})).collect::<Vec<_>>(),
            "columns": self.headings.iter().map(Heading::text).collect::<Vec<_>>(),
        })
    }
}
