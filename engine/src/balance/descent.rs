//! The way down from afar: least squares of what is left over.

use std::cell::RefCell;

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::storage::Owned;
use nalgebra::{DMatrix, DVector, Dyn};

use super::desk::{Desk, Slopes};

/// What stands for a condition without a value: worse than anything, so that the step is refused.
const WORST: f64 = 1e100;
/// Residuals for each unknown and one more, at most.
const PATIENCE: usize = 40;
/// Distance from a bound at which the way begins at least, as a share of the
/// way between bounds, or in usual sizes: at a bound itself all slopes vanish.
const INSIDE: f64 = 1e-3;

/// Goes down from `z` to where the sum of squares is least. Returns the place
/// and whether it is a minimum.
///
/// Bounds are kept by a change of variables, a sine between two bounds and a
/// root beside one (F. James and M. Roos, *Minuit*, Comput. Phys. Commun. 10
/// (1975), the transformations from memory). It was chosen over cutting steps
/// off because the library's method knows no bounds and takes its trust region
/// from how well its steps come true.
pub(super) fn descent(desk: &mut Desk, z: &DVector<f64>) -> (DVector<f64>, bool) {
    let ranges: Vec<(f64, f64)> = desk.unknowns.iter().map(|u| u.scaled()).collect();
    let turned = z.iter().zip(&ranges).map(|(&z, &range)| inwards(z, range));
    let turned = DVector::from_iterator(z.len(), turned);
    let way = Way { desk: RefCell::new(desk), ranges, turned, last: RefCell::new(None) };
    let method = LevenbergMarquardt::new().with_tol(1e-13).with_gtol(1e-10).with_patience(PATIENCE);
    let (way, report) = method.minimize(way);
    (way.place(), report.termination.was_successful())
}

/// From within bounds to the variable without bounds.
fn inwards(z: f64, (low, high): (f64, f64)) -> f64 {
    match (low.is_finite(), high.is_finite()) {
        (true, true) => {
            let half = 0.5 * (high - low);
            let most = 1.0 - 2.0 * INSIDE;
            ((z - low - half) / half).clamp(-most, most).asin()
        }
        (true, false) => root((z - low).max(INSIDE)),
        (false, true) => root((high - z).max(INSIDE)),
        (false, false) => z,
    }
}

fn root(beyond: f64) -> f64 {
    (beyond * (beyond + 2.0)).sqrt()
}

/// From the variable without bounds to within bounds, with the slope.
fn outwards(x: f64, (low, high): (f64, f64)) -> (f64, f64) {
    // what lies beyond the bound, 0 or more, with its slope
    let beyond = |x: f64| (x.hypot(1.0) - 1.0, x / x.hypot(1.0));
    match (low.is_finite(), high.is_finite()) {
        (true, true) => {
            let half = 0.5 * (high - low);
            (low + half * (1.0 + x.sin()), half * x.cos())
        }
        (true, false) => (low + beyond(x).0, beyond(x).1),
        (false, true) => (high - beyond(x).0, -beyond(x).1),
        (false, false) => (x, 1.0),
    }
}

struct Way<'d, 'b> {
    desk: RefCell<&'d mut Desk<'b>>,
    ranges: Vec<(f64, f64)>,
    turned: DVector<f64>,
    /// The residual at `turned`, once asked for.
    last: RefCell<Option<DVector<f64>>>,
}

impl Way<'_, '_> {
    fn place(&self) -> DVector<f64> {
        let places = self.turned.iter().zip(&self.ranges).map(|(&x, &range)| outwards(x, range).0);
        DVector::from_iterator(self.turned.len(), places)
    }
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Way<'_, '_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;
    type ParameterStorage = Owned<f64, Dyn>;

    fn set_params(&mut self, x: &DVector<f64>) {
        self.turned.copy_from(x);
        self.last.replace(None);
    }

    fn params(&self) -> DVector<f64> {
        self.turned.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        let r = self.desk.borrow_mut().residual(&self.place());
        self.last.replace(r.clone());
        Some(r.unwrap_or_else(|| DVector::from_element(self.turned.len(), WORST)))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let (z, mut desk) = (self.place(), self.desk.borrow_mut());
        let known = self.last.borrow().clone();
        let r = known.or_else(|| desk.residual(&z))?;
        let mut slopes = desk.slopes(&z, &r, Slopes::Plain)?;
        for (k, (&x, &range)) in self.turned.iter().zip(&self.ranges).enumerate() {
            slopes.column_mut(k).scale_mut(outwards(x, range).1);
        }
        Some(slopes)
    }
}

#[cfg(test)]
mod tests {
    use super::{inwards, outwards};

    #[test]
    fn the_change_of_variables_is_undone_and_its_slope_is_right() {
        let infinite = f64::INFINITY;
        for range in [(-1.0, 3.0), (-1.0, infinite), (-infinite, 3.0), (-infinite, infinite)] {
            for z in [-0.9, 0.2, 2.5] {
                let x = inwards(z, range);
                let (back, slope) = outwards(x, range);
                // round-off of an arcsine near its end
                assert!((back - z).abs() < 1e-13, "{range:?}: {z} became {back}");
                let h = 1e-6;
                let difference = (outwards(x + h, range).0 - outwards(x - h, range).0) / (2.0 * h);
                // h² of truncation and 1e-16/h of round-off
                assert!((slope - difference).abs() < 1e-9, "{range:?}: {slope} and {difference}");
            }
        }
    }
}
