//! Where a branch turns back: found on the branch, not between its points.

use nalgebra::DVector;

use super::branch::{Branch, Fold};
use super::desk::{Desk, Slopes};
use super::error::NoBalance;
use super::follow::{Place, correct, place};
use super::point::Point;
use crate::root::bracketed;

/// Share of the parameter in the direction of the branch that counts as none:
/// what differences of second order leave.
const TURNED: f64 = 1e-10;

/// The place between two at which the branch does not move along unknown `p`:
/// the root of that share of the tangent, as a function of the length of the step.
pub(super) fn locate(desk: &mut Desk, a: &Place, b: &Place, p: usize) -> Option<DVector<f64>> {
    let begin = a.tangent.dot(&a.z);
    let length = a.tangent.dot(&b.z) - begin;
    let way = &b.z - &a.z;
    let mut last: Option<DVector<f64>> = None;
    let mut share = |s: f64| {
        let guess = &a.z + &way * (s / length);
        let end = correct(desk, a.tangent.clone(), begin + s, guess, Some(a.slopes.clone()));
        let found = end.filter(|end| end.found).and_then(|end| place(desk, end.z, &a.tangent, Slopes::Fine));
        let share = found.as_ref().map_or(f64::NAN, |place| place.tangent[p]);
        last = found.map(|place| place.z);
        if share.abs() < TURNED { 0.0 } else { share }
    };
    let s = bracketed(&mut share, 0.0, length)?;
    // the place asked for last need not be the best
    share(s);
    last
}

/// Adds a fold and its point to a branch.
pub(super) fn add(
    desk: &mut Desk,
    z: DVector<f64>,
    greatest: bool,
    p: usize,
    branch: &mut Branch,
) -> Result<(), NoBalance> {
    let before = desk.evaluations;
    let r = desk.residual(&z).ok_or_else(|| desk.sick())?;
    let parameter = desk.value(z[p], &desk.unknowns[p]);
    branch.folds.push(Fold { at: branch.points.len(), parameter, greatest });
    branch.points.push(Point::at(desk, &z, r.amax(), p, before)?);
    Ok(())
}
