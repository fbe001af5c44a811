//! Which mistakes the readings speak for, which against, and of which they say nothing.

use engine::calibration::{Calibrated, Problem};

use super::cut::{self, Cut};
use super::hypothesis::{self, Family};

/// Twice the logarithm of the likelihood ratio from which on one way of reading is preferred to another: about 30 to 1, so
/// that a mistake which nobody made is told in less than a hundredth of cases even where it is hardest to tell.
pub const THRESHOLD: f64 = 7.0;
/// Separation, in standard uncertainties, that a mistake needs to be told for sure: at four, the readings fall
/// short of the threshold in a tenth of cases.
pub const TELLING: f64 = 4.0;
/// Best estimates that are fitted for themselves.
const CONFIRMED: usize = 5;
/// Estimates this far from the best are not among them.
const REACH: f64 = 60.0;
/// Excess of what is left over, in standard deviations, from which on a way of reading does not fit: a chance of a thousandth.
const UNLIKELY: f64 = 3.09;

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

/// An estimate of one mistake.
struct Estimate {
    name: String,
    squares: f64,
    separation: Option<f64>,
    family: Option<(usize, f64)>,
    problem: Option<Problem>,
    values: Option<Vec<f64>>,
}

/// Judges every mistake that the columns allow.
pub fn judge(found: &Calibrated) -> Judgement {
    let problem = &*found.problem;
    let as_read = cut::again(problem, found.fitted.clone());
    let families = hypothesis::families(found);
    let mut estimates = Vec::new();
    let mut near = vec![0usize; families.len()];
    for (place, family) in families.iter().enumerate() {
        estimates.extend(scaled(problem, place, family, &mut near[place]));
    }
    for (name, other) in hypothesis::others(found) {
        let cut = cut::fresh(&other).ok();
        let squares = cut.as_ref().map_or(f64::INFINITY, |cut| cut.squares);
        let values = cut.map(|cut| cut.fitted.values);
        estimates.push(Estimate {
            name,
            squares,
            separation: None,
            family: None,
            problem: Some(other),
            values,
        });
    }
    let as_read = better(problem, as_read, &estimates);
    confirm(problem, &families, as_read.squares, &mut estimates);
    conclude(problem, as_read, estimates, &families, &near)
}

/// The readings as they are, fitted afresh if something else fits better: the first fit may have been led
/// astray by odd readings.
fn better(problem: &Problem, as_read: Cut, estimates: &[Estimate]) -> Cut {
    if estimates.iter().all(|e| e.squares > as_read.squares - THRESHOLD) {
        return as_read;
    }
    match cut::fresh(problem) {
        Ok(fresh) if fresh.squares < as_read.squares => fresh,
        _ => as_read,
    }
}

/// All factors of a column from one fit in which the factor is free: what is left over grows with the square of the distance
/// from the factor found.
fn scaled(problem: &Problem, place: usize, family: &Family, near: &mut usize) -> Vec<Estimate> {
    let fit = cut::with_factor(problem, &family.concerned(problem)).ok();
    let free = fit.as_ref().and_then(|cut| {
        let (theta, sd) = (*cut.fitted.values.last()?, *cut.fitted.errors.last()?);
        Some((theta, sd, cut.squares))
    });
    let estimate = |(name, ln): &(String, f64)| {
        let (squares, separation) = match free {
            Some((theta, sd, least)) => (least + ((ln - theta) / sd).powi(2), (ln / sd).abs()),
            None => (f64::INFINITY, 0.0),
        };
        let family = Some((place, ln.exp()));
        Estimate {
            name: name.clone(),
            squares,
            separation: Some(separation),
            family,
            problem: None,
            values: None,
        }
    };
    let all: Vec<Estimate> = family.members.iter().map(estimate).collect();
    *near = all.iter().filter(|e| e.separation.is_some_and(|d| d < TELLING + 1.0)).count();
    all
}

/// Fits the best estimates for themselves.
fn confirm(problem: &Problem, families: &[Family], as_read: f64, estimates: &mut [Estimate]) {
    let mut order: Vec<usize> = (0..estimates.len()).filter(|&i| estimates[i].family.is_some()).collect();
    order.sort_by(|&a, &b| estimates[a].squares.total_cmp(&estimates[b].squares));
    let best = order.first().map_or(as_read, |&i| estimates[i].squares);
    for i in order.into_iter().take(CONFIRMED) {
        let estimate = &mut estimates[i];
        let Some((place, factor)) = estimate.family else { continue };
        if estimate.squares > as_read || estimate.squares > best + REACH {
            continue;
        }
        let Some(other) = families.get(place).and_then(|f| f.corrected(problem, factor)) else { continue };
        let cut = cut::fresh(&other).ok();
        estimate.squares = cut.as_ref().map_or(f64::INFINITY, |cut| cut.squares);
        estimate.values = cut.map(|cut| cut.fitted.values);
        estimate.problem = Some(other);
    }
}

fn conclude(
    problem: &Problem,
    as_read: Cut,
    estimates: Vec<Estimate>,
    families: &[Family],
    near: &[usize],
) -> Judgement {
    let read = as_read.squares;
    let least = estimates.iter().map(|e| e.squares).fold(read, f64::min);
    let dof = as_read.fitted.dof.max(1) as f64;
    // what no way of reading explains makes all of them less sure
    let scatter = (least / dof).max(1.0);
    let gains: Vec<f64> = estimates.iter().map(|e| (read - e.squares) / scatter).collect();
    // one of many ratios finds something to explain more easily than one of a few mistakes
    let dearer = |e: &Estimate| match e.family {
        Some((place, _)) if families.get(place).is_some_and(|f| f.ratios) => {
            2.0 * (near.get(place).copied().unwrap_or(1).max(1) as f64).ln()
        }
        _ => 0.0,
    };
    let beats = |i: usize| gains[i] - dearer(&estimates[i]);
    let top = (0..estimates.len()).map(beats).fold(f64::NEG_INFINITY, f64::max);
    let verdicts: Vec<Verdict> = (0..estimates.len())
        .map(|i| match beats(i) {
            beats if top > THRESHOLD && beats > 0.0 && beats > top - THRESHOLD => Verdict::Diagnosed,
            _ if top > THRESHOLD => Verdict::Excluded,
            beats if beats < -THRESHOLD => Verdict::Excluded,
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
        let ratio = estimate.family.is_some_and(|(place, _)| families.get(place).is_some_and(|f| f.ratios));
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
        let cut = judged.problem.as_ref().and_then(|other| cut::fresh(other).ok());
        judged.values = cut.map(|cut| cut.fitted.values);
    }
    let all = all.into_iter().map(|(judged, _)| judged).collect();
    let fits = excess(least, dof) < UNLIKELY;
    Judgement { all, as_read, scatter, fits }
}

/// How far apart a mistake and the readings as they are would be if these were right and did not scatter.
fn separation(problem: &Problem, as_read: &Cut, estimate: &Estimate) -> Option<f64> {
    let x = &as_read.fitted.values;
    let smooth = hypothesis::without_scatter(problem, x)?;
    let own = smooth.fit_to(&smooth.observations()).ok()?.chi2;
    // the mistake is a change of columns: the readings of this problem under that one's
    let other = hypothesis::with_readings_of(estimate.problem.as_ref()?, &smooth)?;
    let theirs = cut::fresh(&other).ok()?.fitted.chi2;
    Some((theirs - own).max(0.0).sqrt())
}

/// How unlikely it is that so much is left over, in standard deviations: the cube root of χ²/ν is nearly normal with mean
/// 1 − 2/(9ν) and variance 2/(9ν) (Wilson and Hilferty 1931).
fn excess(squares: f64, dof: f64) -> f64 {
    let v = 2.0 / (9.0 * dof);
    ((squares / dof).cbrt() - (1.0 - v)) / v.sqrt()
}
