//! Ways in which columns are usually misread.

use engine::calibration::{Calibrated, Problem, Role, Set};
use engine::fit::Unknown;
use engine::part::PartKind;

use crate::handbook::motor_current::CurrentConvention;
use crate::nomenclature::*;

/// Newtons per kilogram on a scale.
const GRAVITY: f64 = 9.80665;
/// Kilograms in a pound.
const POUND: f64 = 0.453_592_37;
/// Highest number of a ratio of pole pairs.
const POLE_PAIRS: u32 = 14;
/// Factors nearer to one than this, as a logarithm, are no mistakes.
const ALIKE: f64 = 0.01;
/// Most pairs of sets that are looked at.
const PAIRS: usize = 6;
/// What the lever's scale shows.
const SCALE_READING: &str = "scale_reading";
/// Voltage at the pack.
const TERMINAL_VOLTAGE: &str = "terminal_voltage";

/// A column of a file of which every reading may be off by one factor.
pub struct Family {
    /// File and kind of quantity.
    pub file: String,
    pub kind: &'static str,
    /// Whether it is one of many ratios rather than one of a few mistakes.
    pub ratios: bool,
    /// Names, and the logarithm of true over written.
    pub members: Vec<(String, f64)>,
}

impl Family {
    /// Which observations it is about.
    pub fn concerned(&self, problem: &Problem) -> Vec<bool> {
        let one = |site: engine::calibration::Site| {
            let set = &problem.sets[site.set];
            set.file == self.file && set.channels[site.spot.channel].kind == self.kind
        };
        problem.sites().into_iter().map(one).collect()
    }

    /// The same problem with this factor on the column.
    pub fn corrected(&self, problem: &Problem, factor: f64) -> Option<Problem> {
        edited(problem, |sets| {
            for set in sets.iter_mut().filter(|set| set.file == self.file) {
                for channel in set.channels.iter_mut().filter(|c| c.kind == self.kind) {
                    channel.factor *= factor;
                }
            }
        })
    }
}

/// A problem with its sets changed.
fn edited(problem: &Problem, change: impl FnOnce(&mut Vec<Set>)) -> Option<Problem> {
    let mut sets = problem.sets.clone();
    change(&mut sets);
    Problem::new(problem.kinds, problem.rest, problem.base.clone(), sets, problem.sought.clone()).ok()
}

/// Files that readings come from, each once.
fn files(problem: &Problem) -> Vec<&str> {
    let mut files: Vec<&str> = Vec::new();
    for set in &problem.sets {
        if !files.contains(&set.file.as_str()) {
            files.push(&set.file);
        }
    }
    files
}

/// Sets of a file.
fn of<'a>(problem: &'a Problem, file: &'a str) -> impl Iterator<Item = &'a Set> + 'a {
    problem.sets.iter().filter(move |set| set.file == file)
}

/// Factor of a channel that is predicted; `None` if no set of the file has one.
fn factor(problem: &Problem, file: &str, kind: &str) -> Option<f64> {
    of(problem, file)
        .flat_map(|set| &set.channels)
        .find(|c| c.kind == kind && c.role == Role::Seen)
        .map(|c| c.factor)
}

/// Columns that may be off by a factor.
pub fn families(found: &Calibrated) -> Vec<Family> {
    let problem = &*found.problem;
    let mut families = Vec::new();
    let several = files(problem).len() > 1;
    for file in files(problem) {
        let at = if several { format!(" in {file}") } else { String::new() };
        let mut add = |kind, ratios, members: Vec<(String, f64)>| {
            let members: Vec<_> = members.into_iter().filter(|(_, ln)| ln.abs() > ALIKE).collect();
            if !members.is_empty() {
                families.push(Family { file: file.into(), kind, ratios, members });
            }
        };
        if let Some(factor) = factor(problem, file, MOTOR_CURRENT.name) {
            add(MOTOR_CURRENT.name, false, conventions(factor, &at));
        }
        if factor(problem, file, SHAFT_SPEED.name).is_some() {
            add(SHAFT_SPEED.name, true, pole_pairs(&at));
        }
        if factor(problem, file, SCALE_READING).is_some() {
            let mut members = vec![
                (format!("scale{at} in newtons, read as kilograms"), -GRAVITY.ln()),
                (format!("scale{at} in pounds, read as kilograms"), POUND.ln()),
            ];
            let arms = of(problem, file).find_map(|set| arms(set, problem.kinds, &problem.unknowns()));
            if let Some((propeller, scale)) = arms {
                let name = format!("lever{at} the other way about (arms exchanged)");
                members.push((name, 2.0 * (propeller / scale).ln()));
            }
            add(SCALE_READING, false, members);
        }
    }
    families
}

/// Ways of counting motor amps beside the one that was stated.
fn conventions(factor: f64, at: &str) -> Vec<(String, f64)> {
    let stated = CurrentConvention::WORDS
        .iter()
        .copied()
        .find(|word| (CurrentConvention::named(word).dc_per_ampere() - factor).abs() < 1e-9);
    let stated = stated.unwrap_or(CurrentConvention::WORDS[0]);
    let from = CurrentConvention::named(stated).dc_per_ampere();
    let others = CurrentConvention::WORDS.iter().filter(|word| **word != stated);
    others
        .map(|word| {
            let ln = (CurrentConvention::named(word).dc_per_ampere() / from).ln();
            (format!("motor amps{at} counted as {word}, not as {stated}"), ln)
        })
        .collect()
}

/// Shaft speeds that were counted with other pole pairs: i/j in lowest terms.
fn pole_pairs(at: &str) -> Vec<(String, f64)> {
    fn divisor(a: u32, b: u32) -> u32 {
        if b == 0 { a } else { divisor(b, a % b) }
    }
    let mut all = Vec::new();
    for i in 1..=POLE_PAIRS {
        for j in (1..=POLE_PAIRS).filter(|&j| i != j && divisor(i, j) == 1) {
            let how = match (i, j) {
                (1, j) => format!("electrical rpm of {j} pole pairs, not divided by them"),
                (i, 1) => format!("divided by {i} pole pairs once too often"),
                _ => format!("{i} pole pairs taken for {j}, or the like"),
            };
            let (written, true_speed) = (j, i);
            let name = format!("rpm{at}: true speed {true_speed}/{written} of what was read ({how})");
            all.push((name, (f64::from(i) / f64::from(j)).ln()));
        }
    }
    all
}

/// Arms of a set's lever, of propeller and scale, m. The scale's is found from what the scale shows
/// with another: the reading goes as its inverse.
fn arms(set: &Set, kinds: &[PartKind], unknowns: &[Unknown]) -> Option<(f64, f64)> {
    let model = &set.craft.model;
    let propeller = model.providers(PROPELLER_ARM.name);
    let channel = set.channels.iter().find(|c| c.kind == SCALE_READING)?;
    let path = format!("{}.scale_arm", channel.quantity.split_once('.')?.0);
    let known = unknowns.iter().find(|u| u.name == path).map(|u| u.start);
    let scale = match known {
        Some(arm) => arm,
        None => {
            let shows = |craft: &engine::analysis::Craft| {
                let run = engine::run::Run::new(craft.model.clone(), still());
                let probe = craft.model.find(&channel.quantity)?;
                let mut run = run;
                for throttle in craft.model.providers(THROTTLE.name) {
                    if let Some(input) = run.input(throttle) {
                        *input = engine::profile::Profile::constant(1.0);
                    }
                }
                crate::steady::turning::steadily(&mut run);
                Some(run.value(probe))
            };
            let trial = 1.0;
            let other = set.craft.changed([(path.as_str(), trial)], kinds).ok()?;
            trial * shows(&other)? / shows(&set.craft)?
        }
    };
    let [propeller] = propeller[..] else { return None };
    let mut run = engine::run::Run::new(model.clone(), still());
    let propeller = run.value(propeller);
    (propeller.is_finite() && scale.is_finite() && propeller > 0.0 && scale > 0.0)
        .then_some((propeller, scale))
}

fn still() -> engine::run::Options {
    engine::run::Options { settle: false, ..Default::default() }
}

/// A mistake that is more than a factor.
pub struct Other {
    /// What it is.
    pub name: String,
    /// The problem as it would have been without it.
    pub problem: Problem,
    /// Whether the same is predicted, in the same order, as for the readings as they are.
    pub alike: bool,
}

/// Mistakes that are more than a factor.
pub fn others(found: &Calibrated) -> Vec<Other> {
    let problem = &*found.problem;
    let mut all = Vec::new();
    let several = files(problem).len() > 1;
    let sites = problem.sites();
    let mut add = |name: String, other: Option<Problem>, model: bool| {
        all.extend(other.map(|problem| Other { name, alike: model && problem.sites() == sites, problem }));
    };
    for file in files(problem) {
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
