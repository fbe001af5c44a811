//! One point of a study: its changes made, its trials run, its row written.

use std::cell::RefCell;
use std::rc::Rc;

use rhai::{Dynamic, EvalAltResult, Map};
use serde_json::Value;

use super::Shared;
use super::caller::Caller;
use super::craft::Craft;
use super::prepare::{chosen, concerns};
use super::spread::changed;
use super::study::{How, Study, StudyPlan, Varied, What};
use super::told::brief;
use super::trial::Plan;
use crate::run::RunError;
use crate::setup::Change;
use crate::study::{Column, Coordinate, Design, Frame, Values};
use crate::units::number;

type Fallible<T> = Result<T, Box<EvalAltResult>>;

/// How a point ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Status {
    Ran,
    BrokeOff,
    Refused,
    Panicked,
}

impl Status {
    fn word(self) -> &'static str {
        match self {
            Status::Ran => "ran",
            Status::BrokeOff => "broke off",
            Status::Refused => "refused",
            Status::Panicked => "fault in a part",
        }
    }
}

/// What became of a point.
pub(super) struct Attempt {
    status: Status,
    failure: String,
    /// Cells of each trial, in the order of its columns.
    cells: Vec<Vec<String>>,
}

/// Carries a study out, point by point.
pub(super) struct Performer<'a> {
    plan: StudyPlan,
    session: &'a Shared,
    frame: &'a Frame,
    caller: Caller<'a>,
    /// Craft of each trial, wired already.
    crafts: Vec<Craft>,
    columns: Vec<Vec<Column>>,
    /// Of each value that is varied what has a column of its own: what its function sets at
    /// its first value.
    follows: Vec<Vec<String>>,
}

/// A point as a script sees it: numbers in SI units, names of alternatives.
pub(super) fn point_map(design: &Design, at: &[Coordinate]) -> Map {
    let mut map = Map::new();
    for (axis, &at) in design.all().zip(at) {
        let value = match axis.si(at) {
            Some(si) => Dynamic::from(si),
            None => axis.cell(at).into(),
        };
        map.insert(axis.name.as_str().into(), value);
    }
    map
}

/// What a value that is varied changes.
pub(super) fn changes_at(varied: &Varied, at: Coordinate, caller: Caller) -> Fallible<Vec<(String, Change)>> {
    let axis = &varied.axis;
    match (&varied.how, at) {
        (How::Parameter, Coordinate::Number(_)) => {
            Ok(axis.si(at).map(|si| (axis.name.clone(), Change::Si(si))).into_iter().collect())
        }
        (How::Parameter, Coordinate::Word(_)) => Ok(vec![(axis.name.clone(), Change::Text(axis.cell(at)))]),
        (How::Choices(choices), Coordinate::Word(i)) => Ok(choices.get(i).cloned().unwrap_or_default()),
        (How::Choices(_), Coordinate::Number(_)) => Ok(Vec::new()),
        (How::Function(function), _) => {
            let value: Dynamic = match (axis.si(at), &axis.values) {
                (Some(si), _) => si.into(),
                (None, Values::Words(_)) => axis.cell(at).into(),
                _ => Dynamic::UNIT,
            };
            let answer = caller.call(function, (value,))?;
            let found = answer.type_name();
            let map = answer.try_cast::<Map>();
            changed(map.ok_or_else(|| {
                format!("the function of {} says what changes: expected a map such as #{{\"part.parameter\": value}}, \
                         found {found}", axis.name)
            })?)
        }
    }
}

impl<'a> Performer<'a> {
    pub fn new(
        study: &Study,
        session: &'a Shared,
        frame: &'a Frame,
        caller: Caller<'a>,
    ) -> Fallible<Performer<'a>> {
        let plan = study.plan.borrow().clone();
        let catalogue = session.borrow().catalogue;
        let mut crafts = Vec::new();
        let mut columns = Vec::new();
        for entry in &plan.trials {
            let mut craft = match &entry.what {
                What::Planned(plan) => plan.trial.borrow().craft.borrow().clone(),
                What::Made(craft, _) => craft.borrow().clone(),
            };
            // what cannot be wired as it stands may be once a point has changed it
            _ = craft.model(&catalogue);
            crafts.push(craft);
            columns.push(chosen(entry.columns.as_deref(), &catalogue)?);
        }
        let names = |varied: &Varied| -> Fallible<Vec<String>> {
            if !matches!(varied.how, How::Function(_)) {
                return Ok(Vec::new());
            }
            let first = changes_at(varied, varied.axis.level(0), caller)?;
            Ok(first.into_iter().map(|(path, _)| path).collect())
        };
        let follows = plan.varied().map(names).collect::<Fallible<_>>()?;
        Ok(Performer { plan, session, frame, caller, crafts, columns, follows })
    }

    /// The row of a point, whatever becomes of it.
    pub fn row(&mut self, row: u64) -> Vec<u8> {
        let caught = super::panics::caught(|| self.attempt(row));
        let failed = |status, failure| Attempt { status, failure, cells: Vec::new() };
        let attempt = match caught {
            Ok(Ok(attempt)) => attempt,
            Ok(Err(error)) => failed(Status::Refused, brief(&error)),
            Err(message) => failed(Status::Panicked, message),
        };
        self.write(row, &attempt)
    }

    fn coordinates(&self, row: u64) -> Vec<Coordinate> {
        self.frame.design.at(self.frame.index(row))
    }

    /// Tries a point.
    ///
    /// # Errors
    /// The script's or a setup's, before anything was run.
    pub fn attempt(&mut self, row: u64) -> Fallible<Attempt> {
        // each point has an allowance of its own
        self.session.borrow_mut().effort = 0;
        let at = self.coordinates(row);
        let mut changes = Vec::new();
        for ((varied, &at), follows) in self.plan.varied().zip(&at).zip(&self.follows) {
            let mine = changes_at(varied, at, self.caller)?;
            let untold = mine.iter().map(|(path, _)| path).find(|path| !follows.contains(path));
            if let (How::Function(_), Some(path)) = (&varied.how, untold) {
                // what no column shows would be a secret of this row
                let name = &varied.axis.name;
                return Err(
                    format!("the function of {name} sets {path} here, but not at its first value").into()
                );
            }
            changes.extend(mine);
        }
        let mut attempt = Attempt { status: Status::Ran, failure: String::new(), cells: Vec::new() };
        for (i, entry) in self.plan.trials.iter().enumerate() {
            let mut craft = self.crafts[i].clone();
            let mine: Vec<_> = changes.iter().filter(|(path, _)| concerns(&craft, path)).collect();
            craft.take(mine).map_err(|told| super::told::of_setup(self.session, told))?;
            let craft = Rc::new(RefCell::new(craft));
            let plan = match &entry.what {
                What::Planned(plan) => plan.for_craft(craft),
                What::Made(_, make) => {
                    let point = point_map(&self.frame.design, &at);
                    let made = self.caller.call(make, (craft, point))?;
                    let found = made.type_name();
                    made.try_cast::<Plan>().ok_or_else(|| {
                        format!("the function of trial \"{}\" returns a trial, not {found}", entry.name)
                    })?
                }
            };
            let finished = plan.fly(self.caller)?;
            let findings = (self.session.borrow().catalogue.judge)(&finished);
            match &finished.error {
                Some(error) if !matches!(error, RunError::NoEquilibrium { .. }) => {
                    attempt.status = attempt.status.max(Status::BrokeOff);
                    if attempt.failure.is_empty() {
                        attempt.failure = format!("{}: {error}", entry.name);
                    }
                }
                _ => {}
            }
            let cell = |column: &Column| cell(&(column.read)(&findings.values));
            attempt.cells.push(self.columns[i].iter().map(cell).collect());
        }
        Ok(attempt)
    }

    fn write(&self, row: u64, attempt: &Attempt) -> Vec<u8> {
        let at = self.coordinates(row);
        let mut record = vec![self.frame.index(row).to_string()];
        record.extend(self.frame.design.all().zip(&at).map(|(axis, &at)| safe(&axis.cell(at))));
        for ((varied, &at), follows) in self.plan.varied().zip(&at).zip(&self.follows) {
            record.extend(self.followed(varied, at, follows));
        }
        record.push(attempt.status.word().into());
        for (i, columns) in self.columns.iter().enumerate() {
            match attempt.cells.get(i) {
                Some(cells) => record.extend(cells.iter().cloned()),
                None => record.extend(columns.iter().map(|_| String::new())),
            }
        }
        record.push(safe(&attempt.failure));
        record_bytes(&record)
    }

    /// The values a function sets, in the order of their columns.
    fn followed(&self, varied: &Varied, at: Coordinate, follows: &[String]) -> Vec<String> {
        if follows.is_empty() {
            return Vec::new();
        }
        let now = changes_at(varied, at, self.caller).unwrap_or_default();
        let told = |change: &Change| match change {
            Change::Si(x) => number(*x),
            Change::Text(text) => safe(text),
        };
        let cell =
            |path| now.iter().find(|(p, _)| p == path).map_or(String::new(), |(_, change)| told(change));
        follows.iter().map(cell).collect()
    }
}

/// One line of CSV.
pub(super) fn record_bytes(record: &[String]) -> Vec<u8> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    // writing to memory does not fail, and a record has no length to disagree with
    _ = writer.write_record(record);
    writer.into_inner().unwrap_or_default()
}

/// A finding as a cell of a table: nothing for null.
pub(crate) fn cell(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::Bool(yes) => yes.to_string(),
        Value::Number(n) => n.as_f64().map_or(String::new(), number),
        Value::String(text) => safe(text),
        other => safe(&other.to_string()),
    }
}

/// A text that a spreadsheet shows and does not carry out: one line, and nothing at its
/// beginning that starts a formula.
pub(super) fn safe(text: &str) -> String {
    let line: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let formula = line.trim_start().starts_with(['=', '+', '-', '@']);
    if formula && line.parse::<f64>().is_err() { format!("'{line}") } else { line }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_text_is_a_formula_to_a_spreadsheet() {
        for (text, shown) in [
            ("=1+1", "'=1+1"),
            ("@sum", "'@sum"),
            ("\t=x", "' =x"),
            ("-cmd", "'-cmd"),
            ("-5.5", "-5.5"),
            ("motor current 1.0-2.0 s", "motor current 1.0-2.0 s"),
            ("two\nlines\r", "two lines "),
        ] {
            assert_eq!(safe(text), shown);
        }
        assert_eq!(record_bytes(&["a,b".into(), "\"".into(), String::new()]), b"\"a,b\",\"\"\"\",\n");
    }
}
