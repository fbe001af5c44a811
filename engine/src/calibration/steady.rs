//! What a craft at rest would show, row by row.

use super::columns::Role;
use super::set::Set;
use crate::analysis::Craft;
use crate::diagnostic::Diagnostics;
use crate::model::Probe;
use crate::profile::Profile;
use crate::run::{Options, Run};

/// Brings what moves quickly to rest once all is put; the trade knows what that is.
pub type Steady = fn(&mut Run) -> Result<(), Diagnostics>;

/// A craft put as a row of a set says, at rest.
///
/// # Errors
/// There is no steady state.
pub fn at_row(set: &Set, craft: &Craft, row: usize, rest: Steady) -> Result<Run, Diagnostics> {
    let mut run = Run::new(craft.model.clone(), Options { settle: false, ..Options::default() });
    for (probe, value) in put(set, craft, row) {
        match run.input(probe) {
            Some(profile) => *profile = Profile::constant(value),
            None => _ = run.place(probe, value),
        }
    }
    rest(&mut run)?;
    Ok(run)
}

/// What is put, and where.
type Put = Vec<(Probe, f64)>;

fn put(set: &Set, craft: &Craft, row: usize) -> Put {
    let puts = set.channels.iter().filter(|channel| channel.role == Role::Put);
    puts.filter_map(|c| Some((craft.model.find(&c.quantity)?, set.read_at(row, c)?))).collect()
}

/// A prediction for every spot of a set.
///
/// # Errors
/// A row without a steady state, or a value that is no number, with its line.
pub(super) fn predict(set: &Set, craft: &Craft, rest: Steady) -> Result<Vec<f64>, String> {
    let probes: Vec<Option<Probe>> = set.channels.iter().map(|c| craft.model.find(&c.quantity)).collect();
    let mut out = Vec::new();
    // repeats of a row have the same prediction
    let mut rows: Vec<(Put, Vec<f64>)> = Vec::new();
    for spot in set.spots() {
        let put = put(set, craft, spot.row);
        if rows.iter().all(|(known, _)| *known != put) {
            let line = set.readings.rows.get(spot.row).map_or(0, |row| row.line);
            let told = |told: Diagnostics| format!("{}, line {line}: {}", set.name, told.in_short());
            let mut run = at_row(set, craft, spot.row, rest).map_err(told)?;
            let values = probes.iter().map(|probe| probe.map_or(f64::NAN, |probe| run.value(probe)));
            rows.push((put.clone(), values.collect()));
        }
        let known = rows.iter().find(|(known, _)| *known == put);
        out.push(known.and_then(|(_, values)| values.get(spot.channel)).copied().unwrap_or(f64::NAN));
    }
    Ok(out)
}
