//! Which mistakes the readings speak for, which against, and of which they say nothing.

use engine::calibration::{Calibrated, Problem};

use super::cut::{self, Cut};
use super::hypothesis::{self, Family, Other};
use super::linear::Linear;

/// Twice the logarithm of the likelihood ratio from which on one way of reading is preferred to another: about 30 to 1, so
/// that a mistake which nobody made is told in less than a hundredth of cases even where it is hardest to tell.
pub const THRESHOLD: f64 = 7.0;
/// Separation, in standard uncertainties, that a mistake needs to be told for sure: at four, the readings fall
/// short of the threshold in a tenth of cases.
pub const TELLING: f64 = 4.0;
/// Best estimates that are fitted for themselves.
const CONFIRMED: usize = 8;
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
    /// Whether it was fitted for itself.
    full: bool,
}

/// Judges every mistake that the columns allow.
pub fn judge(found: &Calibrated) -> Judgement {
    let problem = &*found.problem;
    let as_read = cut::again(problem, found.fitted.clone());
    let families = hypothesis::families(found);
    let groups: Vec<Group> = families
        .iter()
        .enumerate()
        .map(|(place, family)| Group::Family(place, family))
        .chain(hypothesis::others(found).into_iter().map(Group::Other))
        .collect();
    let dof = as_read.fitted.dof.max(1) as f64;
    let sound = |squares: f64| excess(squares, dof) < UNLIKELY;
    let values = &as_read.fitted.values;
    let mut estimates = if sound(as_read.squares) {
        // where the readings fit as they are, other fits lie near by
        let near_by = Point::new(problem, values);
        groups.iter().flat_map(|group| group.estimates(problem, Some(&near_by))).collect()
    } else {
        led_astray(problem, &groups, &sound)
    };
    confirm(problem, &families, as_read.squares, &mut estimates);
    let as_read = better(problem, as_read, &estimates);
    conclude(problem, as_read, estimates, &families)
}

/// Mistakes that are looked at together.
enum Group<'a> {
    /// Factors of a column, with the place of their family.
    Family(usize, &'a Family),
    /// One that is more than a factor.
    Other(Other),
}

/// Estimates where the readings do not fit as they are. Straight lines from what was known beforehand say roughly what may
/// explain them; once something does, straight lines from there tell of all others.
fn led_astray(problem: &Problem, groups: &[Group], sound: &dyn Fn(f64) -> bool) -> Vec<Estimate> {
    let start: Vec<f64> = problem.unknowns().iter().map(|u| u.start).collect();
    let least = |of: &[Estimate]| of.iter().map(|e| e.squares).fold(f64::INFINITY, f64::min);
    let start = Point::new(problem, &start);
    let mut rough: Vec<(usize, f64)> =
        groups.iter().map(|group| least(&group.estimates(problem, Some(&start)))).enumerate().collect();
    rough.sort_by(|a, b| a.1.total_cmp(&b.1));
    let mut full: Vec<Option<Vec<Estimate>>> = groups.iter().map(|_| None).collect();
    for (place, _) in rough {
        let estimates = groups[place].estimates(problem, None);
        let best = estimates.iter().min_by(|a, b| a.squares.total_cmp(&b.squares));
        let anchor = best.filter(|best| sound(best.squares)).and_then(|best| best.values.clone());
        full[place] = Some(estimates);
        if let Some(x) = anchor {
            let x = Point::new(problem, &x);
            let each = groups.iter().zip(full);
            return each
                .flat_map(|(group, known)| known.unwrap_or_else(|| group.estimates(problem, Some(&x))))
                .collect();
        }
    }
    full.into_iter().flatten().flatten().collect()
}

/// A point, with straight lines from there.
struct Point<'a> {
    x: &'a [f64],
    line: Option<Linear>,
}

impl Point<'_> {
    fn new<'a>(problem: &Problem, x: &'a [f64]) -> Point<'a> {
        Point { x, line: Linear::of(problem, x) }
    }
}

impl Group<'_> {
    /// Estimates by straight lines from a point, or by fits from what was known beforehand if there is none.
    fn estimates(&self, problem: &Problem, from: Option<&Point>) -> Vec<Estimate> {
        match self {
            Group::Family(place, family) => scaled(problem, *place, family, from),
            Group::Other(other) => {
                let cut = match from {
                    None => cut::fresh(&other.problem, None).ok(),
                    Some(point) => {
                        let own = if other.alike { None } else { Linear::of(&other.problem, point.x) };
                        let line = if other.alike { point.line.as_ref() } else { own.as_ref() };
                        line.and_then(|line| along(&other.problem, line, point.x))
                    }
                };
                let squares = cut.as_ref().map_or(f64::INFINITY, |cut| cut.squares);
                let values = cut.map(|cut| cut.fitted.values);
                let problem = hypothesis::same(&other.problem);
                let full = from.is_none();
                vec![Estimate {
                    name: other.name.clone(),
                    squares,
                    separation: None,
                    family: None,
                    problem,
                    values,
                    full,
                }]
            }
        }
    }
}

/// The readings as they are, from where the best of the mistakes lies: a search may have ended in a place that is best only
/// near by, and that must not speak for a mistake.
fn better(problem: &Problem, as_read: Cut, estimates: &[Estimate]) -> Cut {
    let best = estimates.iter().min_by(|a, b| a.squares.total_cmp(&b.squares));
    let Some(best) = best.filter(|best| best.squares < as_read.squares - THRESHOLD) else { return as_read };
    match cut::fresh(problem, best.values.as_deref()) {
        Ok(fresh) if fresh.squares < as_read.squares => fresh,
        _ => as_read,
    }
}

/// The fit of a problem by straight lines.
fn along(problem: &Problem, line: &Linear, from: &[f64]) -> Option<Cut> {
    cut::with(problem, &mut |x| Ok(line.predict(x)), Some(from)).ok()
}

/// All factors of a column from one fit in which the factor is free: what is left over grows with the square of the distance
/// from the factor found.
fn scaled(problem: &Problem, place: usize, family: &Family, from: Option<&Point>) -> Vec<Estimate> {
    let concerned = family.concerned(problem);
    let cut = match from {
        None => cut::with_factor(problem, &mut |x| problem.predict(x), &concerned, None).ok(),
        Some(Point { x, line }) => line.as_ref().and_then(|line| {
            cut::with_factor(problem, &mut |x| Ok(line.predict(x)), &concerned, Some(x)).ok()
        }),
    };
    let free = cut.and_then(|cut| {
        let (theta, sd) = (*cut.fitted.values.last()?, *cut.fitted.errors.last()?);
        let mut x = cut.fitted.values;
        x.pop();
        Some((theta, sd, cut.squares, x))
    });
    let estimate = |(name, ln): &(String, f64)| {
        let (squares, separation) = match &free {
            Some((theta, sd, least, _)) => (least + ((ln - theta) / sd).powi(2), (ln / sd).abs()),
            None => (f64::INFINITY, 0.0),
        };
        let (family, values) = (Some((place, ln.exp())), free.as_ref().map(|(.., x)| x.clone()));
        let (separation, problem, full) = (Some(separation), None, false);
        Estimate { name: name.clone(), squares, separation, family, problem, values, full }
    };
    family.members.iter().map(estimate).collect()
}

/// Fits the best estimates for themselves.
fn confirm(problem: &Problem, families: &[Family], as_read: f64, estimates: &mut [Estimate]) {
    let mut order: Vec<usize> = (0..estimates.len()).filter(|&i| !estimates[i].full).collect();
    order.sort_by(|&a, &b| estimates[a].squares.total_cmp(&estimates[b].squares));
    let best = estimates.iter().map(|e| e.squares).fold(as_read, f64::min);
    for i in order.into_iter().take(CONFIRMED) {
        let estimate = &mut estimates[i];
        if estimate.squares > best + REACH || estimate.squares > as_read + THRESHOLD {
            continue;
        }
        if let Some((place, factor)) = estimate.family {
            estimate.problem = families.get(place).and_then(|f| f.corrected(problem, factor));
        }
        let Some(other) = &estimate.problem else { continue };
        let near_by = estimate.values.as_deref();
        let cut = cut::fresh(other, near_by).or_else(|_| cut::fresh(other, None)).ok();
        estimate.squares = cut.as_ref().map_or(f64::INFINITY, |cut| cut.squares);
        estimate.values = cut.map(|cut| cut.fitted.values);
        estimate.full = true;
    }
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
    let smooth = hypothesis::without_scatter(problem, x)?;
    let own = along(&smooth, &Linear::of(&smooth, x)?, x)?.fitted.chi2;
    // the mistake is a change of columns: the readings of this problem under that one's
    let other = hypothesis::with_readings_of(estimate.problem.as_ref()?, &smooth)?;
    let theirs = along(&other, &Linear::of(&other, x)?, x)?.fitted.chi2;
    Some((theirs - own).max(0.0).sqrt())
}

/// How unlikely it is that so much is left over, in standard deviations: the cube root of χ²/ν is nearly normal with mean
/// 1 − 2/(9ν) and variance 2/(9ν) (Wilson and Hilferty 1931).
fn excess(squares: f64, dof: f64) -> f64 {
    let v = 2.0 / (9.0 * dof);
    ((squares / dof).cbrt() - (1.0 - v)) / v.sqrt()
}
