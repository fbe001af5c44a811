//! Propellers of one file against each other: how thrust and torque grow with the diameter when tips were cut.

use std::f64::consts::TAU;

use engine::statistics::uncertainty::{Input, budget};
use engine::text_table::paragraph;

use super::super::drive::{Drive, DriveUnsure};
use super::super::point::Reduced;
use super::super::reduce::reduce;
use super::super::row::{Row, Unsure};
use super::tips::Expected;
use super::{Sense, Verdict, verdict};

/// Readings of one propeller.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// Name.
    pub name: String,
    /// Diameter \[m\].
    pub diameter: f64,
    /// Its standard uncertainty \[m\].
    pub u_diameter: f64,
    /// Readings with their uncertainties.
    pub rows: Vec<(Row, Unsure)>,
}

/// How a quantity over n² grows with the diameter between two propellers.
#[derive(Debug, Clone, PartialEq)]
pub struct Scaling {
    /// Names of both.
    pub of: (String, String),
    /// `thrust` or `torque`.
    pub what: &'static str,
    /// Exponent p of D^p that was found, and its standard uncertainty, or why there is none.
    pub exponent: Result<(f64, f64), String>,
    /// Exponent expected, and its standard uncertainty.
    pub expected: (f64, f64),
    /// Why it is not that of the blade itself.
    pub unknown: Option<String>,
    /// (found − expected)/√(u² + u_expected²).
    pub score: Option<f64>,
    /// How it came out.
    pub verdict: Verdict,
}

/// Mean of thrust or torque over n² with its standard uncertainty: the scatter of the rows or, if larger, what their
/// own uncertainties leave.
fn per_revs2(group: &Group, what: &str, drive: &Drive) -> Result<Input, String> {
    let mut found: Vec<(f64, f64)> = Vec::new();
    for (row, told) in &group.rows {
        let Some(omega) = row.shaft_speed.filter(|omega| *omega > 0.0) else { continue };
        let n2 = (omega / TAU).powi(2);
        let u_n = 2.0 * told.shaft_speed.unwrap_or(0.0) / omega;
        let value = match what {
            "thrust" => row.thrust.map(|t| (t, told.thrust.unwrap_or(0.0))),
            _ => {
                // K is the same for both propellers and drops out of their ratio
                let reduction = reduce(row, told, drive, &DriveUnsure::default());
                let torque = reduction.get("shaft_torque");
                torque.and_then(Reduced::value).zip(torque.and_then(Reduced::u))
            }
        };
        found.extend(value.map(|(x, u)| (x / n2, (u / n2).hypot(x / n2 * u_n))));
    }
    let n = found.len() as f64;
    if found.is_empty() {
        return Err(format!("{} has no reading with {what} and shaft speed", group.name));
    }
    let mean = found.iter().map(|(x, _)| x).sum::<f64>() / n;
    // errors of calibration are common to all rows: they do not shrink with their number
    let own = found.iter().map(|(_, u)| u).sum::<f64>() / n;
    let scatter = match found.len() {
        1 => 0.0,
        _ => (found.iter().map(|(x, _)| (x - mean).powi(2)).sum::<f64>() / (n - 1.0) / n).sqrt(),
    };
    if !(mean.is_finite() && mean > 0.0) {
        return Err(format!("{what} of {} is not above zero", group.name));
    }
    Input::standard(&group.name, mean, own.hypot(scatter), f64::INFINITY).map_err(|why| why.to_string())
}

/// Each propeller against the next smaller one, in the order of diameters, by what is `expected` of these two; `drive`
/// reduces all of them, whatever diameter it tells. Uncertainties of the readings count as independent between propellers: what one instrument does to
/// all alike drops out, so the score is rather too small than too large.
pub fn scaling(
    groups: &[Group],
    drive: &Drive,
    mut expected: impl FnMut(&Group, &Group) -> Expected,
) -> Vec<Scaling> {
    let mut sorted: Vec<&Group> = groups.iter().collect();
    sorted.sort_by(|a, b| b.diameter.total_cmp(&a.diameter).then_with(|| a.name.cmp(&b.name)));
    let mut all = Vec::new();
    for pair in sorted.windows(2) {
        let [large, small] = pair else { continue };
        let Expected { thrust, torque, unknown } = expected(large, small);
        for (what, expected) in [("thrust", thrust), ("torque", torque)] {
            let exponent = exponent(large, small, what, drive);
            let score = exponent.as_ref().ok().map(|(p, u)| (p - expected.0) / u.hypot(expected.1));
            let of = (large.name.clone(), small.name.clone());
            let (unknown, verdict) = (unknown.clone(), verdict(score, Sense::Equal));
            all.push(Scaling { of, what, exponent, expected, unknown, score, verdict });
        }
    }
    all
}

fn exponent(large: &Group, small: &Group, what: &str, drive: &Drive) -> Result<(f64, f64), String> {
    if !(small.diameter > 0.0 && large.diameter.is_finite() && large.diameter > 1.002 * small.diameter) {
        return Err("their diameters are equal, or no numbers".into());
    }
    let of = |group: &Group| -> Result<[Input; 2], String> {
        let diameter = Input::standard("D", group.diameter, group.u_diameter, f64::INFINITY);
        Ok([per_revs2(group, what, drive)?, diameter.map_err(|why| why.to_string())?])
    };
    let ([a, d_a], [b, d_b]) = (of(large)?, of(small)?);
    let mut slope = |x: &[f64]| match x {
        [a, d_a, b, d_b] => (a / b).ln() / (d_a / d_b).ln(),
        _ => f64::NAN,
    };
    budget(&[a, d_a, b, d_b], &[], &mut slope).map(|b| (b.value, b.u)).map_err(|why| why.to_string())
}

/// In words.
pub fn text(all: &[Scaling]) -> String {
    let mut out = String::new();
    for s in all {
        let (a, b) = &s.of;
        let told = match &s.exponent {
            Err(why) => format!("{a} and {b}, {}: not compared, {why}.", s.what),
            Ok((p, u)) => {
                let score = s.score.unwrap_or(f64::NAN);
                let verdict = match s.verdict {
                    Verdict::Odd => {
                        "odd: one of speed, thrust, torque or diameter is off, or more than the tips differs"
                    }
                    Verdict::Suspicious => "suspicious",
                    _ => "agrees",
                };
                let blade = match &s.unknown {
                    None => "this blade".into(),
                    Some(why) => format!("most blades (of this one it cannot be told: {why})"),
                };
                format!(
                    "{a} and {b}: {} at the same speed goes with D^{p:.2} (u {u:.2}), where turning off the tips of {blade} \
                     gives {:.2} (u {:.2}) by the B-series: {score:+.1}, {verdict}.",
                    s.what, s.expected.0, s.expected.1
                )
            }
        };
        out.push_str(&paragraph(&told));
    }
    out
}
