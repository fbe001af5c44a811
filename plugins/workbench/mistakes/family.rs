//! Columns that may be off by a factor: motor amps, pole pairs, scale.

use engine::calibration::{Calibrated, Problem};

use super::other::{edited, factor};
use crate::handbook::G;
use crate::handbook::motor_current::CurrentConvention;
use crate::lever::SCALE_READING;
use crate::nomenclature::*;

/// Units of a scale that is taken for one in kilograms: kilograms in one of them.
pub const UNITS: [(&str, f64); 2] = [("newtons", 1.0 / G), ("pounds", 0.453_592_37)];
/// Highest number of a ratio of pole pairs.
const POLE_PAIRS: u32 = 14;
/// Factors nearer to one than this, as a logarithm, are no mistakes.
pub const ALIKE: f64 = 0.01;

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
    let several = problem.files().len() > 1;
    for file in problem.files() {
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
        if factor(problem, file, SCALE_READING.name).is_some() {
            // a zero that is not nil was known in kilograms then; where it was not, see `lever`
            let name = |word| format!("scale{at} in {word}, read as kilograms");
            add(SCALE_READING.name, false, UNITS.map(|(word, unit)| (name(word), unit.ln())).into());
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
