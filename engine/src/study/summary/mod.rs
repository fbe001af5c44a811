//! What a study's table says: read from the file alone, so that a table that was
//! resumed or merged tells the same as one that was made in one go.

mod around;
mod candidates;
mod chance;
mod merits;
mod table;
mod text;
mod values;

use std::collections::BTreeMap;
use std::path::Path;

use super::frame::{Frame, Role};
use super::report::Report;
use crate::diagnostic::Diagnostic;
use crate::statistics::front::Front;
use around::Profile;
use candidates::Candidates;
use chance::Chance;
use merits::{Disagreement, Ranked};
use table::Table;

/// Points of the trade-off that are told; the table holds all of them.
const SHOWN_OF_FRONT: usize = 8;

/// What a study's table says.
pub struct Summary<'a> {
    frame: &'a Frame,
    report: &'a Report,
    table: Table,
    candidates: Candidates,
    ranked: Vec<Ranked>,
    disagreements: Vec<Disagreement>,
    profiles: Vec<Profile>,
    /// Columns traded off, and the candidates none of which is better in all of them.
    front: (Vec<String>, Vec<usize>),
    chance: Option<Chance>,
    /// Words that explain a result, by row.
    words: BTreeMap<u64, Vec<String>>,
}

impl<'a> Summary<'a> {
    /// Reads a whole table.
    ///
    /// # Errors
    /// The file cannot be read or is not this study's.
    pub fn read(frame: &'a Frame, report: &'a Report, file: &Path) -> Result<Summary<'a>, Diagnostic> {
        let wanted = numbers_wanted(frame, report);
        let table = Table::read(file, frame, &wanted, report.tally)?;
        let candidates = Candidates::of(&table, frame, report);
        let ranked = merits::ranked(&table, &candidates, frame);
        let disagreements = merits::disagreements(&ranked, &candidates);
        let best = merits::foremost(&ranked).and_then(|r| r.order.first().copied());
        let profiles = best.map_or_else(Vec::new, |best| around::profiles(frame, &candidates, best));
        let front = front(&table, &candidates, frame);
        let chance = Chance::of(&table, &candidates, frame, report);
        let rows = ranked.iter().flat_map(|r| r.order.iter().take(1));
        let rows = rows.chain(profiles.iter().flat_map(|p| p.levels.iter().filter_map(|(_, c)| c.as_ref())));
        let rows = rows.map(|&c| candidates.get(c).row as u64).collect();
        let words = table::words(file, frame, report.explains, &rows)?;
        Ok(Summary {
            frame,
            report,
            table,
            candidates,
            ranked,
            disagreements,
            profiles,
            front,
            chance,
            words,
        })
    }
}

/// Columns whose numbers are looked at in every row.
fn numbers_wanted(frame: &Frame, report: &Report) -> Vec<String> {
    let mut wanted: Vec<String> = vec![report.success.into(), report.time.into(), frame.response.clone()];
    wanted.extend(frame.merits.iter().map(|m| m.column.clone()));
    wanted.extend(frame.front.iter().cloned());
    let mut kept: Vec<String> = Vec::new();
    for name in wanted {
        if frame.column(&name).is_some() && !kept.contains(&name) {
            kept.push(name);
        }
    }
    kept
}

/// Candidates that succeed and that no other beats in every column traded off.
fn front(table: &Table, candidates: &Candidates, frame: &Frame) -> (Vec<String>, Vec<usize>) {
    let columns: Vec<String> = frame.front.iter().filter(|c| table.place(c).is_some()).cloned().collect();
    let places: Vec<usize> = columns.iter().filter_map(|c| table.place(c)).collect();
    let found = match *places.as_slice() {
        [a, b] => on_front(candidates, [a, b]),
        [a, b, c] => on_front(candidates, [a, b, c]),
        [a, b, c, d] => on_front(candidates, [a, b, c, d]),
        _ => Vec::new(),
    };
    (columns, found)
}

fn on_front<const K: usize>(candidates: &Candidates, places: [usize; K]) -> Vec<usize> {
    let mut front = Front::<K>::new();
    for i in 0..candidates.len() {
        if candidates.get(i).share > 0.5 {
            // what has no value, or none in time, is refused
            _ = front.offer(i as u64, places.map(|p| candidates.value(i, p)));
        }
    }
    front.points().map(|(id, _)| id as usize).collect()
}

/// A few of many, ends included.
fn some<T: Copy>(all: &[T], shown: usize) -> Vec<T> {
    let last = all.len().saturating_sub(1);
    if all.len() <= shown || shown < 2 {
        return all.to_vec();
    }
    (0..shown).filter_map(|i| all.get(i * last / (shown - 1)).copied()).collect()
}

/// Headings of the axes' columns.
fn axis_places(frame: &Frame) -> impl Iterator<Item = usize> + '_ {
    frame.headings.iter().enumerate().filter(|(_, h)| h.role == Role::Axis).map(|(i, _)| i)
}
