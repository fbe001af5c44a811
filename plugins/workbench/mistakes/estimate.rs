//! What is left over if a mistake was made: roughly for all, in full where it matters.

use engine::calibration::{Calibrated, Problem};

use super::cut::{self, Cut};
use super::family::Family;
use super::judge::THRESHOLD;
use super::linear::Linear;
use super::other::{self, Other};

/// Best estimates that are fitted for themselves.
const CONFIRMED: usize = 8;
/// Estimates this far from the best are not among them.
const REACH: f64 = 60.0;
/// Excess of what is left over, in standard deviations, from which on a way of reading does not fit: a chance of a thousandth.
pub const UNLIKELY: f64 = 3.09;

/// An estimate of one mistake.
pub struct Estimate {
    pub name: String,
    /// What is left over, and its price.
    pub squares: f64,
    /// Twice the logarithm by which what was written would be less sure than was told.
    pub price: f64,
    pub separation: Option<f64>,
    pub family: Option<(usize, f64)>,
    pub problem: Option<Problem>,
    pub values: Option<Vec<f64>>,
    /// Whether it was fitted for itself.
    pub full: bool,
}

/// What is left over under every mistake that the columns allow, beside the readings as they are.
pub fn estimates(found: &Calibrated, families: &[Family]) -> (Cut, Vec<Estimate>) {
    let problem = &*found.problem;
    let as_read = cut::again(problem, found.fitted.clone());
    let groups: Vec<Group> = families
        .iter()
        .enumerate()
        .map(|(place, family)| Group::Family(place, family))
        .chain(other::others(found).into_iter().map(|other| Group::Other(Box::new(other))))
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
    confirm(problem, families, as_read.squares, &mut estimates);
    let as_read = better(problem, as_read, &estimates);
    (as_read, estimates)
}

/// Mistakes that are looked at together.
enum Group<'a> {
    /// Factors of a column, with the place of their family.
    Family(usize, &'a Family),
    /// One that is more than a factor.
    Other(Box<Other>),
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
        let anchor =
            best.filter(|best| sound(best.squares - best.price)).and_then(|best| best.values.clone());
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
            Group::Family(place, family) => {
                let mut all = scaled(problem, *place, family, from);
                if from.is_none() && !family.ratios {
                    each_by_itself(problem, family, &mut all);
                }
                all
            }
            Group::Other(other) => {
                let cut = match from {
                    None => cut::fresh(&other.problem, None).ok(),
                    Some(point) => {
                        let own = if other.alike { None } else { Linear::of(&other.problem, point.x) };
                        let line = if other.alike { point.line.as_ref() } else { own.as_ref() };
                        line.and_then(|line| along(&other.problem, line, point.x))
                    }
                };
                let price = other.price;
                let squares = cut.as_ref().map_or(f64::INFINITY, |cut| cut.squares + price);
                let values = cut.map(|cut| cut.fitted.values);
                let problem = other::same(&other.problem);
                let full = from.is_none();
                vec![Estimate {
                    name: other.name.clone(),
                    squares,
                    price,
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
pub fn along(problem: &Problem, line: &Linear, from: &[f64]) -> Option<Cut> {
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
        Estimate { name: name.clone(), squares, price: 0.0, separation, family, problem, values, full }
    };
    family.members.iter().map(estimate).collect()
}

/// Each of a few factors put right and fitted from what was known beforehand, where that leaves less over: far from the truth the
/// search for a factor that is free may end in a place that is best only near by.
fn each_by_itself(problem: &Problem, family: &Family, all: &mut [Estimate]) {
    for estimate in all {
        let Some((_, factor)) = estimate.family else { continue };
        let Some(other) = family.corrected(problem, factor) else { continue };
        match cut::fresh(&other, None) {
            Ok(cut) if cut.squares < estimate.squares => {
                (estimate.squares, estimate.values) = (cut.squares, Some(cut.fitted.values));
                (estimate.problem, estimate.full) = (Some(other), true);
            }
            _ => {}
        }
    }
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
        let price = estimate.price;
        estimate.squares = cut.as_ref().map_or(f64::INFINITY, |cut| cut.squares + price);
        estimate.values = cut.map(|cut| cut.fitted.values);
        estimate.full = true;
    }
}

/// How unlikely it is that so much is left over, in standard deviations: the cube root of χ²/ν is nearly normal with mean
/// 1 − 2/(9ν) and variance 2/(9ν) (Wilson and Hilferty 1931).
pub fn excess(squares: f64, dof: f64) -> f64 {
    let v = 2.0 / (9.0 * dof);
    ((squares / dof).cbrt() - (1.0 - v)) / v.sqrt()
}
