//! Newton's method, with slopes that are kept and corrected as long as they serve.

use nalgebra::{DMatrix, DVector};

use super::desk::{Desk, Slopes};

/// What may be left over of a balance, in usual sizes (of a rate: per second).
pub(super) const BALANCED: f64 = 1e-9;
/// What is aimed at: two solutions that a fold has brought close together
/// differ by some root of what is left over.
const GOAL: f64 = 1e-12;
/// Longest step of an unknown, in usual sizes.
const REACH: f64 = 1.0;
/// Steps, with fresh slopes or old ones.
const MAX_STEPS: usize = 40;
/// A step that leaves less than this share shows that the slopes still serve.
const SERVES: f64 = 0.3;

/// Where the method ended.
pub(super) struct Ending {
    pub z: DVector<f64>,
    pub r: DVector<f64>,
    /// Slopes near `z`, to begin with at the next point.
    pub slopes: Option<DMatrix<f64>>,
    pub found: bool,
    pub steps: usize,
}

/// Newton's method from `z`, with the slopes of a point nearby if there are
/// any. Slopes are corrected after each step (C. G. Broyden, *A class of
/// methods for solving nonlinear simultaneous equations*, Math. Comp. 19
/// (1965)) and worked out anew where a step with them gains too little. Steps
/// are shortened until what is left over falls, and cut off at bounds.
///
/// `None` where the conditions have no value at `z`.
pub(super) fn newton(desk: &mut Desk, z: DVector<f64>, slopes: Option<DMatrix<f64>>) -> Option<Ending> {
    let mut z = desk.inside(z);
    let mut r = desk.residual(&z)?;
    let mut slopes = slopes;
    let mut steps = 0;
    while steps < MAX_STEPS && r.amax() > GOAL {
        let fresh = slopes.is_none();
        let Some(known) = slopes.take().or_else(|| desk.slopes(&z, &r, Slopes::Plain)) else {
            break;
        };
        let Some(step) = known.clone().lu().solve(&r).filter(|s| s.iter().all(|v| v.is_finite())) else {
            if fresh {
                break;
            }
            continue;
        };
        steps += 1;
        let full = (REACH / step.amax()).min(1.0);
        let mut scale = full;
        let before = r.norm();
        let gained = loop {
            let trial = desk.inside(&z - &step * scale);
            let next = desk.residual(&trial);
            if let Some(next) = next.filter(|next| next.norm() < before * (1.0 - 1e-4 * scale)) {
                break Some((trial, next));
            }
            // old slopes do not deserve a search; nor does round-off
            if !fresh || scale < 1e-3 * full || r.amax() < BALANCED {
                break None;
            }
            scale *= 0.5;
        };
        let Some((trial, next)) = gained else {
            if fresh || r.amax() < BALANCED {
                slopes = Some(known);
                break;
            }
            continue;
        };
        if next.norm() < SERVES * before {
            slopes = Some(corrected(known, &(&trial - &z), &(&next - &r)));
        }
        (z, r) = (trial, next);
    }
    let found = r.amax() < BALANCED;
    Some(Ending { z, r, slopes, found, steps })
}

/// Slopes that are right along the step last taken: `dz` brought `dr`.
fn corrected(mut slopes: DMatrix<f64>, dz: &DVector<f64>, dr: &DVector<f64>) -> DMatrix<f64> {
    let square = dz.norm_squared();
    if square > 0.0 {
        let missing = dr - &slopes * dz;
        slopes.ger(1.0 / square, &missing, dz, 1.0);
    }
    slopes
}
