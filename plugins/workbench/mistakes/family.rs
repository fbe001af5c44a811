//! Columns that may be off by a factor: motor amps, pole pairs, scale, lever.

use engine::calibration::{Calibrated, Problem, Set};
use engine::fit::Unknown;
use engine::part::PartKind;

use super::other::{edited, factor, files, of};
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
/// What the lever's scale shows.
const SCALE_READING: &str = "scale_reading";
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ratios_of_pole_pairs_are_in_lowest_terms_and_each_has_its_inverse() {
        let all = pole_pairs("");
        // twice the pairs of 1 ≤ i < j ≤ 14 without a common divisor: the sum of Euler's φ from 2 to 14 is 63
        assert_eq!(all.len(), 126);
        for (name, ln) in &all {
            assert!(all.iter().any(|(_, other)| (ln + other).abs() < 1e-12), "{name}");
            assert_eq!(all.iter().filter(|(_, other)| (ln - other).abs() < 1e-12).count(), 1, "{name}");
        }
    }

    #[test]
    fn a_way_of_counting_amps_is_corrected_to_the_one_that_was_meant() {
        let (stated, meant) = (CurrentConvention::PhaseRms, CurrentConvention::PhasePeak);
        let all = conventions(stated.dc_per_ampere(), "");
        assert_eq!(all.len(), 3);
        let found = all.iter().find(|(name, _)| name.contains("as phase peak, not as phase rms"));
        let (_, ln) = found.expect("this pair");
        // 50 A peak taken for rms, and put right
        let wrong = stated.to_dc(50.0);
        assert!((wrong * ln.exp() - meant.to_dc(50.0)).abs() < 1e-9);
    }
}
