//! Mistakes that are more than a factor: columns or sets exchanged, volts taken elsewhere.

use engine::calibration::{Calibrated, Problem, Role, Set};

use super::family::UNITS;
use super::lever;
use crate::lever::SCALE_READING;
use crate::nomenclature::*;

/// Most pairs of sets that are looked at.
const PAIRS: usize = 6;
/// Voltage at the pack.
const TERMINAL_VOLTAGE: &str = "terminal_voltage";

/// A problem with its sets changed.
pub fn edited(problem: &Problem, change: impl FnOnce(&mut Vec<Set>)) -> Option<Problem> {
    let mut sets = problem.sets.clone();
    change(&mut sets);
    Problem::new(problem.kinds, problem.rest, problem.base.clone(), sets, problem.sought.clone()).ok()
}

/// Sets of a file.
pub fn of<'a>(problem: &'a Problem, file: &'a str) -> impl Iterator<Item = &'a Set> + 'a {
    problem.sets.iter().filter(move |set| set.file == file)
}

/// Factor of a channel that is predicted; `None` if no set of the file has one.
pub fn factor(problem: &Problem, file: &str, kind: &str) -> Option<f64> {
    of(problem, file)
        .flat_map(|set| &set.channels)
        .find(|c| c.kind == kind && c.role == Role::Seen)
        .map(|c| c.factor)
}

/// A mistake that is more than a factor.
pub struct Other {
    /// What it is.
    pub name: String,
    /// The problem as it would have been without it.
    pub problem: Problem,
    /// Whether the same is predicted, in the same order, as for the readings as they are.
    pub alike: bool,
    /// Twice the logarithm by which what was written would be less sure than was told, over all readings.
    pub price: f64,
}

/// Mistakes that are more than a factor.
pub fn others(found: &Calibrated) -> Vec<Other> {
    let problem = &*found.problem;
    let mut all = Vec::new();
    let several = problem.files().len() > 1;
    let sites = problem.sites();
    let mut add = |name: String, other: Option<Problem>, model: bool| {
        all.extend(other.map(|problem| {
            let price = price(found, &problem);
            Other { name, alike: model && problem.sites() == sites, problem, price }
        }));
    };
    for file in problem.files() {
        let at = if several { format!(" in {file}") } else { String::new() };
        let here = |set: &Set| set.file == file;
        if factor(problem, file, MOTOR_CURRENT.name)
            .and(factor(problem, file, BATTERY_CURRENT.name))
            .is_some()
        {
            let swapped = |sets: &mut Vec<Set>| sets.iter_mut().filter(|s| here(s)).for_each(swap_amps);
            add(format!("battery amps and motor amps{at} exchanged"), edited(problem, swapped), true);
        }
        let pack = of(problem, file).next().and_then(|set| {
            let model = &set.craft.model;
            match model.providers(TERMINAL_VOLTAGE)[..] {
                [only] => Some(model.name(only).to_owned()),
                _ => None,
            }
        });
        if let (Some(_), Some(pack), None) =
            (factor(problem, file, BUS_VOLTAGE.name), pack, factor(problem, file, TERMINAL_VOLTAGE))
        {
            let moved = |sets: &mut Vec<Set>| {
                let channels = sets.iter_mut().filter(|s| here(s)).flat_map(|set| &mut set.channels);
                for channel in channels.filter(|c| c.kind == BUS_VOLTAGE.name) {
                    (channel.quantity, channel.kind) = (pack.clone(), TERMINAL_VOLTAGE.into());
                }
            };
            add(format!("volts{at} taken at the pack, not at the controller"), edited(problem, moved), false);
        }
    }
    for file in problem.files().into_iter().filter(|file| factor(problem, file, SCALE_READING.name).is_some())
    {
        let at = if several { format!(" in {file}") } else { String::new() };
        for (word, unit) in UNITS {
            let name =
                format!("scale{at} in {word}, read as kilograms, with its uncertainty told in kilograms");
            add(name, in_unit(problem, file, unit), true);
        }
    }
    for (name, other) in lever::of_the_lever(problem) {
        add(name, other, false);
    }
    let own = |set: &Set| problem.sought.iter().any(|s| s.set.as_ref() == Some(&set.name));
    let pairs = (0..problem.sets.len()).flat_map(|a| (0..a).map(move |b| (b, a)));
    let differ = |&(a, b): &(usize, usize)| {
        let (a, b) = (&problem.sets[a], &problem.sets[b]);
        a.file == b.file && (a.craft.setup.hash() != b.craft.setup.hash() || own(a) || own(b))
    };
    for (a, b) in pairs.filter(differ).take(PAIRS) {
        let names =
            format!("readings of \"{}\" and \"{}\" exchanged", problem.sets[a].name, problem.sets[b].name);
        let exchanged = |sets: &mut Vec<Set>| {
            let other = (sets[b].name.clone(), sets[b].craft.clone());
            let one = std::mem::replace(&mut sets[a].name, other.0);
            let craft = std::mem::replace(&mut sets[a].craft, other.1);
            (sets[b].name, sets[b].craft) = (one, craft);
        };
        add(names, edited(problem, exchanged), false);
    }
    all
}

/// A scale in another unit, `unit` kilograms each, of which what was told is true in kilograms.
fn in_unit(problem: &Problem, file: &str, unit: f64) -> Option<Problem> {
    edited(problem, |sets| {
        let channels = sets.iter_mut().filter(|set| set.file == file).flat_map(|set| &mut set.channels);
        for channel in channels.filter(|c| c.kind == SCALE_READING.name) {
            channel.factor *= unit;
            channel.uncertainty.absolute /= unit;
        }
    })
}

/// Twice the logarithm by which readings, in the units in which they were written, would be less sure under another problem than
/// as they are: a likelihood falls with the uncertainty that explains it. Columns exchanged change nothing but places.
fn price(found: &Calibrated, other: &Problem) -> f64 {
    let written = |problem: &Problem| -> f64 {
        let one = |site: &engine::calibration::Site| {
            let set = &problem.sets[site.set];
            (set.observation(site.spot).sd / set.channels[site.spot.channel].factor.abs()).ln()
        };
        let sum: f64 = problem.sites().iter().map(one).sum();
        sum
    };
    2.0 * (written(other) - written(&found.problem))
}

/// Each column under the other's heading: what was read, and how well, goes along.
fn swap_amps(set: &mut Set) {
    let place = |kind: &str| set.channels.iter().position(|c| c.kind == kind && c.role == Role::Seen);
    let (Some(a), Some(b)) = (place(MOTOR_CURRENT.name), place(BATTERY_CURRENT.name)) else { return };
    let (one, other) = (set.channels[a].clone(), set.channels[b].clone());
    (set.channels[a].column, set.channels[a].uncertainty) = (other.column, other.uncertainty);
    (set.channels[b].column, set.channels[b].uncertainty) = (one.column, one.uncertainty);
}

/// The problem with readings just as they would be if it were right with these values, without any scatter.
pub fn without_scatter(problem: &Problem, x: &[f64]) -> Option<Problem> {
    let predicted = problem.predict(x).ok()?;
    let sites = problem.sites();
    edited(problem, |sets| {
        for (site, value) in sites.iter().zip(&predicted) {
            let set = &mut sets[site.set];
            let (column, factor) = {
                let channel = &set.channels[site.spot.channel];
                (channel.column, channel.factor)
            };
            if let Some(cell) =
                set.readings.rows.get_mut(site.spot.row).and_then(|row| row.values.get_mut(column))
            {
                *cell = Some(value / factor);
            }
        }
    })
}

/// A problem with the readings of another that has the same sets.
pub fn with_readings_of(problem: &Problem, other: &Problem) -> Option<Problem> {
    edited(problem, |sets| {
        for (set, from) in sets.iter_mut().zip(&other.sets) {
            set.readings = from.readings.clone();
        }
    })
}

/// A problem once more.
pub fn same(problem: &Problem) -> Option<Problem> {
    edited(problem, |_| ())
}
