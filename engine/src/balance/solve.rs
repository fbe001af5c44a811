//! One balance, and several from several starts.

use nalgebra::{DMatrix, DVector};

use super::Balance;
use super::descent::descent;
use super::desk::{Desk, Slopes};
use super::error::NoBalance;
use super::newton::{BALANCED, newton};
use super::point::Point;
use crate::root::bracketed;

/// Nearer than this in every unknown, in usual sizes, two solutions are one: far more than the
/// root of what may be left over where a fold has brought two together.
const SAME: f64 = 1e-4;
/// Nearness to a bound, in usual sizes, of a search that would have gone on.
const NEAR_BOUND: f64 = 1e-3;

/// What several starts have led to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Found {
    /// Solutions that differ, in the order in which they were found.
    pub points: Vec<Point>,
    /// Why other starts led nowhere.
    pub misses: Vec<NoBalance>,
}

impl Found {
    /// The miss with the least left over.
    pub fn nearest(&self) -> Option<&NoBalance> {
        self.misses.iter().min_by(|a, b| a.size().total_cmp(&b.size()))
    }
}

impl Balance {
    /// Finds a balance, near `start` (values of the free ones, in their units) if there is one.
    ///
    /// Newton's method first; where it fails, a bracket and its root if there
    /// is one unknown only, else the way down in least squares and Newton's
    /// method again from there. Left over at the end is below 1e-9 of a usual
    /// size (of a rate: per second).
    ///
    /// # Errors
    /// [`NoBalance`], with what is left over where the search ended.
    pub fn solve(&self, start: &[f64]) -> Result<Point, NoBalance> {
        let mut desk = self.desk(start)?;
        let z = desk.scaled(start);
        solution(&mut desk, z, None).map(|(point, _)| point)
    }

    /// Searches from every start and keeps the solutions that differ by more
    /// than 1e-4 of a usual size in one unknown or more.
    pub fn solve_all(&self, starts: impl IntoIterator<Item = Vec<f64>>) -> Found {
        let mut found = Found::default();
        for start in starts {
            match self.solve(&start) {
                Ok(point) if !found.points.iter().any(|known| self.same(known, &point)) => {
                    found.points.push(point);
                }
                Ok(_) => {}
                Err(why) => found.misses.push(why),
            }
        }
        found
    }

    fn same(&self, a: &Point, b: &Point) -> bool {
        let pairs = a.free.iter().zip(&b.free).zip(&self.free);
        pairs.into_iter().all(|((a, b), u)| (a - b).abs() < SAME * u.size)
    }
}

/// A solution with the slopes beside it, which serve at the next one.
pub(super) type Solution = (Point, Option<DMatrix<f64>>);

/// A balance from `z` on, with the slopes of a point nearby if there are any.
pub(super) fn solution(
    desk: &mut Desk,
    z: DVector<f64>,
    slopes: Option<DMatrix<f64>>,
) -> Result<Solution, NoBalance> {
    let before = desk.evaluations;
    let free = desk.unknowns.len();
    let Some(near) = newton(desk, z.clone(), slopes) else {
        return Err(desk.sick());
    };
    if near.found {
        let point = Point::at(desk, &near.z, near.r.amax(), free, before)?;
        return Ok((point, near.slopes));
    }
    if z.len() == 1
        && let Some(end) = between(desk, &z).and_then(|z| newton(desk, z, None)).filter(|end| end.found)
    {
        let point = Point::at(desk, &end.z, end.r.amax(), free, before)?;
        return Ok((point, end.slopes));
    }
    let (low, least) = descent(desk, &z);
    let Some(end) = newton(desk, low.clone(), None) else {
        return Err(desk.sick());
    };
    if end.found {
        let point = Point::at(desk, &end.z, end.r.amax(), free, before)?;
        return Ok((point, end.slopes));
    }
    Err(failure(desk, &end.z, &end.r, least))
}

/// Names what stands in the way at `z`.
fn failure(desk: &mut Desk, z: &DVector<f64>, r: &DVector<f64>, least: bool) -> NoBalance {
    let near = desk.at_bound(z, NEAR_BOUND);
    let slopes = if near.is_empty() { None } else { desk.slopes(z, r, Slopes::Plain) };
    // whether the sum of squares would fall beyond the bound
    let goes_on = |&k: &usize| {
        let (low, high) = desk.unknowns[k].scaled();
        let gradient = slopes.as_ref().map_or(0.0, |s| s.column(k).dot(r));
        if z[k] - low < high - z[k] { gradient > 0.0 } else { gradient < 0.0 }
    };
    let bounds: Vec<usize> = near.iter().copied().filter(goes_on).collect();
    let (at, left) = (desk.named(z), desk.left_over(r));
    if bounds.is_empty() {
        return NoBalance::NotConverged { left, at, least };
    }
    let named = bounds.into_iter().map(|k| {
        let u = &desk.unknowns[k];
        let (low, high) = u.scaled();
        let bound = if z[k] - low < high - z[k] { u.low } else { u.high };
        (desk.model.name(u.probe).to_string(), bound, desk.model.unit(u.probe))
    });
    NoBalance::Bounds { bounds: named.collect(), at, left }
}

/// Of one unknown: the root in the nearest bracket that a search on both sides of `z` meets.
fn between(desk: &mut Desk, z: &DVector<f64>) -> Option<DVector<f64>> {
    let (low, high) = desk.unknowns.first()?.scaled();
    let mut at = |x: f64| desk.residual(&DVector::from_element(1, x)).map_or(f64::NAN, |r| r[0]);
    let begin = z[0].clamp(low, high);
    let value = at(begin);
    let mut sides = [(begin, value, 0.05), (begin, value, -0.05)];
    // forty steps, each half as long again, reach some 1e6 usual sizes
    for _ in 0..40 {
        for (x, value, step) in &mut sides {
            let next = (*x + *step).clamp(low, high);
            if next == *x {
                continue;
            }
            let beyond = at(next);
            if *value * beyond <= 0.0 {
                let root = bracketed(&mut at, x.min(next), x.max(next))?;
                // where it jumps through zero there is no root
                return (at(root).abs() < BALANCED.sqrt()).then(|| DVector::from_element(1, root));
            }
            (*x, *value, *step) = (next, beyond, *step * 1.5);
        }
    }
    None
}
