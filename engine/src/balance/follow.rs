//! A branch followed by its arc length, round folds.
//!
//! From each point a step along the tangent, then Newton's method in the plane
//! across it (H. B. Keller, *Numerical solution of bifurcation and nonlinear
//! eigenvalue problems*, in: Applications of Bifurcation Theory (1977)): there
//! the system stays regular where the parameter turns back.

use nalgebra::{DMatrix, DVector};

use super::Balance;
use super::branch::{Branch, BranchEnd, Steps};
use super::desk::{Desk, Slopes, Unknown};
use super::error::NoBalance;
use super::fold;
use super::newton::{BALANCED, Ending, newton};
use super::point::Point;
use crate::model::Probe;

/// Steps of Newton's method that a step along the branch may need.
const MAX_CORRECTIONS: usize = 8;
/// Cosine of the turn in one step: shorter steps below the first, longer ones above the second.
const TURNS: (f64, f64) = (0.94, 0.985);
/// A branch that still turns sharply within this length has a corner there, which is stepped over.
const CORNER: f64 = 2e-3;

/// A place on the branch.
pub(super) struct Place {
    pub z: DVector<f64>,
    /// Direction of the branch, of length 1.
    pub tangent: DVector<f64>,
    /// Slopes of the conditions there, and a row that points along the branch.
    pub slopes: DMatrix<f64>,
    /// Sign of their determinant: where it changes another branch crosses.
    pub side: f64,
}

/// A step that was taken.
struct Stride {
    place: Place,
    residual: f64,
    corrections: usize,
    /// The unknown that came to a bound.
    bound: Option<usize>,
}

impl Balance {
    /// Follows the branch of equilibria through `from` as `parameter`, a state
    /// or an input that is not free, changes: at first it rises or falls as
    /// told, later it may turn back. Ends where the parameter leaves `until`
    /// (least, greatest), where a free quantity comes to its bound, or where
    /// the branch is lost.
    pub fn follow(&self, parameter: Probe, from: &Point, until: (f64, f64), how: Steps) -> Branch {
        let mut branch = Branch {
            points: Vec::new(),
            folds: Vec::new(),
            crossings: Vec::new(),
            end: BranchEnd::Full,
            evaluations: 0,
        };
        match self.begin(parameter, from, until, how) {
            Ok(mut desk) => {
                branch.end = walk(&mut desk, from, how, &mut branch).unwrap_or_else(BranchEnd::Lost);
                branch.evaluations = desk.evaluations;
            }
            Err(why) => branch.end = BranchEnd::Lost(why),
        }
        branch
    }

    /// A desk with the parameter as its last unknown.
    fn begin(
        &self,
        parameter: Probe,
        from: &Point,
        until: (f64, f64),
        how: Steps,
    ) -> Result<Desk<'_>, NoBalance> {
        let mut desk = self.desk(&from.free)?;
        let value = from.slots.get(parameter.0 as usize).copied().unwrap_or(f64::NAN);
        // the question with the parameter let free knows what may be asked
        let mut whole = self.clone();
        let free = whole.free(parameter, until.0, until.1, how.size);
        let unknown: Option<Unknown> = whole.free.last().filter(|u| free && u.probe == parameter).copied();
        let inside = |u: &Unknown| (u.low..=u.high).contains(&value);
        match unknown.filter(inside) {
            Some(unknown) if whole.free.len() == self.free.len() + 1 => desk.unknowns.push(unknown),
            _ => {
                let quantity = self.model.name(parameter).to_string();
                return Err(NoBalance::Refused { quantity, value });
            }
        }
        // steps across a bound are taken back, not cut off
        desk.bounded = false;
        Ok(desk)
    }
}

fn walk(desk: &mut Desk, from: &Point, how: Steps, branch: &mut Branch) -> Result<BranchEnd, NoBalance> {
    let p = from.free.len();
    let value = |u: &Unknown| from.slots[u.probe.0 as usize] / u.size;
    let z = DVector::from_iterator(p + 1, desk.unknowns.iter().map(value));
    let start = correct(desk, axis(p + 1, p), z[p], z, None).ok_or_else(|| desk.sick())?;
    if !start.found {
        let (left, at) = (desk.left_over(&start.r), desk.named(&start.z));
        return Err(NoBalance::NotConverged { left, at, least: false });
    }
    let sense = if how.rising { 1.0 } else { -1.0 };
    // a fold has no direction along the parameter: then along whatever else serves
    let mut here = (0..=p)
        .rev()
        .find_map(|k| place(desk, start.z.clone(), &(axis(p + 1, k) * sense), Slopes::Plain))
        .ok_or_else(|| desk.sick())?;
    let first = (here.z.clone(), here.tangent.clone());
    branch.points.push(Point::at(desk, &here.z, start.r.amax(), p, 0)?);
    let mut length = how.first;
    while branch.points.len() < how.most {
        let before = desk.evaluations;
        let Some(next) = stride(desk, &here, length) else {
            length *= 0.5;
            if length < how.least {
                let r = desk.residual(&here.z).ok_or_else(|| desk.sick())?;
                return Err(NoBalance::NotConverged {
                    left: desk.left_over(&r),
                    at: desk.named(&here.z),
                    least: false,
                });
            }
            continue;
        };
        let turn = here.tangent.dot(&next.place.tangent);
        if turn < TURNS.0 && length > CORNER {
            length *= 0.5;
            continue;
        }
        if here.tangent[p] * next.place.tangent[p] < 0.0
            && let Some(z) = fold::locate(desk, &here, &next.place, p)
        {
            fold::add(desk, z, here.tangent[p] > 0.0, p, branch)?;
        }
        if here.side != next.place.side {
            branch.crossings.push(branch.points.len() - 1);
        }
        branch.points.push(Point::at(desk, &next.place.z, next.residual, p, before)?);
        if let Some(k) = next.bound {
            return Ok(if k == p { BranchEnd::Parameter } else { BranchEnd::Bound(desk.unknowns[k].probe) });
        }
        if branch.points.len() > 3 && returns(&here.z, &next.place, &first) {
            return Ok(BranchEnd::Closed);
        }
        if turn > TURNS.1 && next.corrections <= 4 {
            length = (length * 1.5).min(how.greatest);
        }
        here = next.place;
    }
    Ok(BranchEnd::Full)
}

/// Unit vector along unknown `k` of `n`.
fn axis(n: usize, k: usize) -> DVector<f64> {
    DVector::from_fn(n, |i, _| f64::from(u8::from(i == k)))
}

/// Newton's method in the plane `normal · z = offset`.
pub(super) fn correct(
    desk: &mut Desk,
    normal: DVector<f64>,
    offset: f64,
    z: DVector<f64>,
    slopes: Option<DMatrix<f64>>,
) -> Option<Ending> {
    desk.plane = Some((normal, offset));
    let ending = newton(desk, z, slopes);
    desk.plane = None;
    ending
}

/// Tangent at `z` on the side of `towards`, with all that the next step needs.
pub(super) fn place(desk: &mut Desk, z: DVector<f64>, towards: &DVector<f64>, how: Slopes) -> Option<Place> {
    let n = z.len();
    let r = desk.residual(&z)?;
    let mut slopes = desk.slopes(&z, &r, how)?.insert_row(n - 1, 0.0);
    slopes.set_row(n - 1, &towards.transpose());
    let lu = slopes.clone().lu();
    let tangent = lu.solve(&axis(n, n - 1))?;
    let norm = tangent.norm();
    let side = lu.determinant().signum();
    (norm.is_finite() && norm > 0.0).then(|| Place { z, tangent: tangent / norm, slopes, side })
}

/// One step along the branch, or to the bound that lies nearer.
fn stride(desk: &mut Desk, here: &Place, length: f64) -> Option<Stride> {
    let mut bound = None;
    let mut guess = &here.z + &here.tangent * length;
    if let Some((k, share)) = first_bound(desk, &here.z, &guess) {
        bound = Some(k);
        guess = &here.z + &here.tangent * (length * share);
    }
    let mut end = land(desk, here, guess, bound)?;
    if bound.is_none()
        && let Some((k, share)) = first_bound(desk, &here.z, &end.z)
    {
        bound = Some(k);
        let guess = &here.z + (&end.z - &here.z) * share;
        end = land(desk, here, guess, bound)?;
    }
    let way = &end.z - &here.z;
    if !way.iter().any(|v| *v != 0.0) {
        return None;
    }
    let next = place(desk, end.z, &way.normalize(), Slopes::Plain)?;
    Some(Stride { place: next, residual: end.r.amax(), corrections: end.steps, bound })
}

/// Brings a guess onto the branch: across the tangent, or at the bound of an unknown.
fn land(desk: &mut Desk, here: &Place, guess: DVector<f64>, bound: Option<usize>) -> Option<Ending> {
    let n = guess.len();
    let normal = match bound {
        None => here.tangent.clone(),
        Some(k) => axis(n, k),
    };
    let mut slopes = here.slopes.clone();
    slopes.set_row(n - 1, &normal.transpose());
    let mut offset = normal.dot(&guess);
    if let Some(k) = bound {
        let (low, high) = desk.unknowns[k].scaled();
        offset = if (guess[k] - low).abs() < (guess[k] - high).abs() { low } else { high };
    }
    let length = (&guess - &here.z).norm();
    let end = correct(desk, normal, offset, guess.clone(), Some(slopes))?;
    // what lands far from its guess may lie on another branch
    let near = (&end.z - guess).norm() <= 0.3 * length.max(BALANCED);
    (end.found && near && end.steps <= MAX_CORRECTIONS).then_some(end)
}

/// The bound that the straight way from `a` to `b` crosses first: of which
/// unknown, and at which share of the way.
fn first_bound(desk: &Desk, a: &DVector<f64>, b: &DVector<f64>) -> Option<(usize, f64)> {
    let crossing = |(k, u): (usize, &Unknown)| {
        let (low, high) = u.scaled();
        let bound = if b[k] > high {
            high
        } else if b[k] < low {
            low
        } else {
            return None;
        };
        Some((k, ((bound - a[k]) / (b[k] - a[k])).clamp(0.0, 1.0)))
    };
    desk.unknowns.iter().enumerate().filter_map(crossing).min_by(|(_, s), (_, t)| s.total_cmp(t))
}

/// Whether the way from `a` to `b` passes the place where the branch began, in the same direction.
fn returns(a: &DVector<f64>, b: &Place, (first, direction): &(DVector<f64>, DVector<f64>)) -> bool {
    let way = &b.z - a;
    let share = way.dot(&(first - a)) / way.norm_squared();
    let aside = (first - a - &way * share).norm();
    // a chord of a curve that turns by 20° at most lies aside by less than a twentieth of its length
    (0.0..=1.0).contains(&share) && aside < 0.1 * way.norm() && way.dot(direction) > 0.0
}
