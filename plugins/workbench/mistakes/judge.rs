//! Which mistakes the readings speak for, which against, and of which they say nothing.

use engine::calibration::{Calibrated, Problem};

use super::cut::{self, Cut};
use super::estimate::{Estimate, UNLIKELY, along, estimates, excess};
use super::family::{self, Family};
use super::linear::Linear;
use super::other;

/// Twice the logarithm of the likelihood ratio from which on one way of reading is preferred to another: about 30 to 1, so
/// that a mistake which nobody made is told in less than a hundredth of cases even where it is hardest to tell.
pub const THRESHOLD: f64 = 7.0;
/// Separation, in standard uncertainties, that a mistake needs to be told for sure: at four, the readings fall
/// short of the threshold in a tenth of cases.
pub const TELLING: f64 = 4.0;
/// What is said of a mistake.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// It was made, or one of those that are told likewise.
    Diagnosed,
    /// It was not made.
    Excluded,
    /// The readings cannot tell.
    Open,
}

/// A mistake and what the readings say of it.
pub struct Judged {
    /// What it is.
    pub name: String,
    /// Squares left over as read less those left over if it was made, over what the better of them leaves over per degree
    /// of freedom where that is more than 1; positive speaks for it. −∞ where nothing fits.
    pub gain: f64,
    /// Separation from the readings as they are, in standard uncertainties, where it was needed.
    pub separation: Option<f64>,
    /// What is said of it.
    pub verdict: Verdict,
    /// Parameters as they would be, where it was fitted for itself.
    pub values: Option<Vec<f64>>,
    /// The problem without it, where it was put.
    pub problem: Option<Problem>,
    /// One of many ratios.
    pub ratio: bool,
}

/// All mistakes together.
pub struct Judgement {
    /// As they were looked at; those diagnosed first.
    pub all: Vec<Judged>,
    /// The readings as they are.
    pub as_read: Cut,
    /// Squares left over per degree of freedom of the best, at least 1.
    pub scatter: f64,
    /// Whether the best of them fits the readings.
    pub fits: bool,
}

/// Judges every mistake that the columns allow.
pub fn judge(found: &Calibrated) -> Judgement {
    let families = family::families(found);
    let (as_read, estimates) = estimates(found, &families);
    conclude(&found.problem, as_read, estimates, &families)
}

fn conclude(problem: &Problem, as_read: Cut, estimates: Vec<Estimate>, families: &[Family]) -> Judgement {
    let read = as_read.squares;
    let least = estimates.iter().map(|e| e.squares).fold(read, f64::min);
    let dof = as_read.fitted.dof.max(1) as f64;
    // what no way of reading explains makes all of them less sure
    let scatter = (least / dof).max(1.0);
    let gains: Vec<f64> = estimates.iter().map(|e| (read - e.squares) / scatter).collect();
    // one of many ratios near one finds something to explain more easily than one of a few mistakes
    let ratio =
        |e: &Estimate| e.family.is_some_and(|(place, _)| families.get(place).is_some_and(|f| f.ratios));
    let near = |e: &&Estimate| ratio(e) && e.separation.is_some_and(|d| d < TELLING + 1.0);
    let price = 2.0 * (estimates.iter().filter(near).count().max(1) as f64).ln();
    let dearer = |e: &Estimate| if ratio(e) { price } else { 0.0 };
    let beats = |i: usize| gains[i] - dearer(&estimates[i]);
    let top = (0..estimates.len()).map(beats).fold(f64::NEG_INFINITY, f64::max);
    let verdicts: Vec<Verdict> = (0..estimates.len())
        .map(|i| match beats(i) {
            beats if top > THRESHOLD && beats > 0.0 && beats > top - THRESHOLD => Verdict::Diagnosed,
            _ if top > THRESHOLD => Verdict::Excluded,
            _ if gains[i] < -THRESHOLD => Verdict::Excluded,
            _ => Verdict::Open,
        })
        .collect();
    let mut all = Vec::new();
    for ((mut estimate, mut verdict), gain) in estimates.into_iter().zip(verdicts).zip(gains) {
        if verdict == Verdict::Open {
            let apart = estimate.separation.or_else(|| separation(problem, &as_read, &estimate));
            estimate.separation = apart;
            if gain <= 0.0 && apart.is_some_and(|d| d / scatter.sqrt() >= TELLING) {
                verdict = Verdict::Excluded;
            }
        }
        let ratio = ratio(&estimate);
        let Estimate { name, separation, problem, values, family, .. } = estimate;
        all.push((Judged { name, gain, separation, verdict, values, problem, ratio }, family));
    }
    // what would tell is asked of the likeliest of those that stay open
    let open =
        all.iter_mut().filter(|(j, _): &&mut (Judged, Option<(usize, f64)>)| j.verdict == Verdict::Open);
    if let Some((judged, factor)) = open.max_by(|a, b| a.0.gain.total_cmp(&b.0.gain))
        && judged.problem.is_none()
        && let Some((place, factor)) = factor
    {
        judged.problem = families.get(*place).and_then(|f| f.corrected(problem, *factor));
        let cut =
            judged.problem.as_ref().and_then(|other| cut::fresh(other, Some(&as_read.fitted.values)).ok());
        judged.values = cut.map(|cut| cut.fitted.values);
    }
    let all = all.into_iter().map(|(judged, _)| judged).collect();
    let fits = excess(least, dof) < UNLIKELY;
    Judgement { all, as_read, scatter, fits }
}

/// How far apart a mistake and the readings as they are would be if these were right and did not scatter.
fn separation(problem: &Problem, as_read: &Cut, estimate: &Estimate) -> Option<f64> {
    let x = &as_read.fitted.values;
    let smooth = other::without_scatter(problem, x)?;
    let own = along(&smooth, &Linear::of(&smooth, x)?, x)?.fitted.chi2;
    // the mistake is a change of columns: the readings of this problem under that one's
    let other = other::with_readings_of(estimate.problem.as_ref()?, &smooth)?;
    let theirs = along(&other, &Linear::of(&other, x)?, x)?.fitted.chi2;
    Some((theirs - own).max(0.0).sqrt())
}
