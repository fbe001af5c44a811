//! A table of readings with the craft it was taken with.

use std::rc::Rc;

use super::columns::{self, Channel, Convention, Role, Telling};
use super::in_time::Course;
use crate::analysis::Craft;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::fit::Observation;
use crate::readings::{Layout, Readings};

/// How the readings of a set were taken.
#[derive(Clone)]
pub enum Taken {
    /// Each row by itself, everything at rest.
    Steady,
    /// All rows along a run.
    InTime(Rc<dyn Course>),
}

/// A table of readings that has not been understood yet.
#[derive(Debug, Clone, Copy)]
pub struct Table<'a> {
    /// Name of its file, for messages.
    pub file: &'a str,
    /// Its text.
    pub text: &'a str,
    /// How it is to be read.
    pub layout: &'a Layout,
    /// What is told of its columns.
    pub tellings: &'a [Telling],
    /// Ways of counting that these may name.
    pub conventions: &'a [Convention],
}

/// Readings and the craft they were taken with.
#[derive(Clone)]
pub struct Set {
    /// What it is called.
    pub name: String,
    /// The craft as it is described.
    pub craft: Craft,
    /// File the readings come from, for messages.
    pub file: String,
    /// The readings.
    pub readings: Readings,
    /// What their columns are.
    pub channels: Vec<Channel>,
    /// Places of the rows that belong to this set.
    pub rows: Vec<usize>,
    /// How they were taken.
    pub taken: Taken,
    /// Whether readings that stand out are left out.
    pub leave_out: bool,
    /// Readings that are left out for a reason: line, heading, reason.
    pub left_out: Vec<(usize, String, String)>,
}

/// Where an observation comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spot {
    /// Place of the row among the readings.
    pub row: usize,
    /// Place of the channel.
    pub channel: usize,
}

impl Set {
    /// Reads a table and finds out what its columns are to the craft. With groups, only the rows of the
    /// group that is called `name` belong to the set.
    ///
    /// # Errors
    /// Everything wrong with the table, the names of its columns, or what is missing in them.
    pub fn read(name: &str, craft: Craft, table: Table, taken: Taken) -> Result<Set, Diagnostics> {
        let Table { file, text, layout, tellings, conventions } = table;
        let readings = columns::read(file, text, layout, tellings, &craft.model)?;
        let channels = columns::channels(&readings, tellings, conventions, &craft.model)?;
        let grouped = layout.group.is_some();
        let belongs = |row: &usize| !grouped || readings.rows[*row].group == name;
        let rows: Vec<usize> = (0..readings.rows.len()).filter(belongs).collect();
        if rows.is_empty() {
            let groups = readings.groups();
            let near = crate::diagnostic::suggest(name, groups.iter().copied());
            let error = Diagnostic::error(format!("{file} has no readings called \"{name}\""));
            return Err(error.expected(format!("one of {}", groups.join(", "))).near(near).into());
        }
        let file = file.to_owned();
        let mut set = Set {
            name: name.into(),
            craft,
            file,
            readings,
            channels,
            rows,
            taken,
            leave_out: false,
            left_out: Vec::new(),
        };
        set.complete()?;
        set.judge();
        Ok(set)
    }

    /// What is put must be there in each row, and within what its part allows; something must be predicted.
    fn complete(&self) -> Result<(), Diagnostics> {
        let mut problems = Diagnostics::new();
        let in_time = self.in_time();
        if in_time && self.readings.time.is_none() {
            let error = Diagnostic::error(format!("{}: readings along a run need a time", self.file));
            problems.push(error.help("say which column it is: readings.time(heading)"));
        }
        let model = &self.craft.model;
        for channel in self.channels.iter().filter(|c| c.role == Role::Put) {
            let Some(probe) = model.find(&channel.quantity) else { continue };
            for &row in &self.rows {
                let line = self.readings.rows[row].line;
                let at = || format!("{}:{line}: {}", self.file, channel.quantity);
                match self.read_at(row, channel) {
                    None if !in_time => problems.push(
                        Diagnostic::error(format!("{} is missing", at()))
                            .help("nothing can be predicted for a row without it"),
                    ),
                    Some(value) if !model.allows(probe, value) => {
                        let range = model.range_in_words(probe).unwrap_or_default();
                        let error = Diagnostic::error(format!("{} is out of range", at()));
                        problems.push(error.expected(format!("a value {range}")).found(value.to_string()));
                    }
                    _ => {}
                }
            }
        }
        if problems.is_empty() && self.spots().next().is_none() {
            let error = Diagnostic::error(format!("{}: nothing that was read is predicted", self.file));
            problems.push(error.help("readings of inputs alone tell nothing"));
        }
        for (row, channel) in self.spots().map(|spot| (spot.row, &self.channels[spot.channel])) {
            let (read, step) = (self.raw(row, channel), self.readings.columns[channel.column].step);
            if !read.is_none_or(|read| channel.u(read, step) > 0.0) {
                let error =
                    Diagnostic::error(format!("{}: {} has no uncertainty", self.file, channel.quantity));
                problems.push(error.expected("a standard uncertainty above zero"));
                break;
            }
        }
        problems.or(())
    }

    /// At rest, rows with the same values put are repeats of each other, whatever their times: those are judged together.
    fn judge(&mut self) {
        if self.in_time() {
            return;
        }
        let puts: Vec<&Channel> = self.channels.iter().filter(|c| c.role == Role::Put).collect();
        let like = |row: usize| -> Vec<Option<f64>> { puts.iter().map(|c| self.raw(row, c)).collect() };
        let mut groups: Vec<(Vec<Option<f64>>, Vec<usize>)> = Vec::new();
        for &row in &self.rows {
            let key = like(row);
            match groups.iter_mut().find(|(known, _)| *known == key) {
                Some((_, rows)) => rows.push(row),
                None => groups.push((key, vec![row])),
            }
        }
        let groups: Vec<Vec<usize>> = groups.into_iter().map(|(_, rows)| rows).collect();
        self.readings.judge_repeats(&groups);
    }

    /// Leaves a reading out; why is told.
    ///
    /// # Errors
    /// There is no such line or column.
    pub fn leave_out(&mut self, line: usize, heading: &str, reason: &str) -> Result<(), Diagnostics> {
        let names: Vec<&str> = self.readings.columns.iter().map(|c| c.name.as_str()).collect();
        if !names.contains(&heading) {
            let near = crate::diagnostic::suggest(heading, names.iter().copied());
            return Err(Diagnostic::error(format!("{}: no column `{heading}` is read", self.file))
                .near(near)
                .into());
        }
        if self.readings.rows.iter().all(|row| row.line != line) {
            return Err(
                Diagnostic::error(format!("{}: there are no readings on line {line}", self.file)).into()
            );
        }
        // a line of another set's is none of this one's business
        if self.rows.iter().any(|&row| self.readings.rows[row].line == line) {
            self.left_out.push((line, heading.into(), reason.into()));
        }
        Ok(())
    }

    /// Whether the script left a reading out.
    pub fn is_left_out(&self, spot: Spot) -> bool {
        let line = self.readings.rows[spot.row].line;
        let name = &self.readings.columns[self.channels[spot.channel].column].name;
        self.left_out.iter().any(|(l, heading, _)| *l == line && heading == name)
    }

    fn raw(&self, row: usize, channel: &Channel) -> Option<f64> {
        self.readings.rows.get(row)?.values.get(channel.column).copied().flatten()
    }

    /// What was read in the model's terms.
    pub fn read_at(&self, row: usize, channel: &Channel) -> Option<f64> {
        self.raw(row, channel).map(|read| channel.value(read))
    }

    /// Time of a row, s; NaN where there is none.
    pub fn time(&self, row: usize) -> f64 {
        let place = self.readings.time;
        let value = place.and_then(|i| self.readings.rows.get(row)?.values.get(i).copied().flatten());
        value.unwrap_or(f64::NAN)
    }

    /// Whether a reading stands out among its like.
    pub fn stands_out(&self, spot: Spot) -> bool {
        let column = self.channels.get(spot.channel).map(|c| c.column);
        let row = self.readings.rows.get(spot.row);
        row.is_some_and(|row| row.flags.iter().any(|flag| Some(flag.column) == column))
    }

    /// Whether it was taken along a run.
    pub fn in_time(&self) -> bool {
        matches!(self.taken, Taken::InTime(_))
    }

    /// Refuses readings along a run, where something is asked of readings at rest.
    ///
    /// # Errors
    /// They are such.
    pub fn at_rest(&self) -> Result<(), Diagnostics> {
        if !self.in_time() {
            return Ok(());
        }
        let error = Diagnostic::error(format!("\"{}\" was taken along a run", self.name));
        Err(error.help("this is asked of readings at rest: fit.steady(name, readings)").into())
    }

    /// Whether a reading does not count: the script left it out, or all that stand out.
    pub fn leaves_out(&self, spot: Spot) -> bool {
        self.is_left_out(spot) || self.leave_out && self.stands_out(spot)
    }

    /// Everything that was read and is predicted, row by row.
    pub fn spots(&self) -> impl Iterator<Item = Spot> + '_ {
        let seen = |channel: &usize| self.channels[*channel].role == Role::Seen;
        let timed = self.readings.time.is_some() && self.in_time();
        let all = self.rows.iter().flat_map(move |&row| {
            (0..self.channels.len()).filter(seen).map(move |channel| Spot { row, channel })
        });
        all.filter(move |spot| self.read_at(spot.row, &self.channels[spot.channel]).is_some())
            .filter(move |spot| !timed || self.time(spot.row).is_finite())
            .filter(move |spot| !self.leaves_out(*spot))
    }

    /// The reading at a spot as a fit takes it.
    pub fn observation(&self, spot: Spot) -> Observation {
        let channel = &self.channels[spot.channel];
        let read = self.raw(spot.row, channel).unwrap_or(f64::NAN);
        let (line, step) = (self.readings.rows[spot.row].line, self.readings.columns[channel.column].step);
        Observation {
            label: format!("{}, line {line}: {}", self.name, channel.quantity),
            value: channel.value(read),
            sd: channel.u(read, step),
        }
    }

    /// Place of the channel of a kind.
    pub fn channel(&self, kind: &str) -> Option<usize> {
        self.channels.iter().position(|channel| channel.kind == kind || channel.quantity == kind)
    }
}
