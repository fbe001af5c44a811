//! One equilibrium.

use nalgebra::DVector;

use super::desk::Desk;
use super::error::NoBalance;
use crate::model::Probe;

/// Distance from a bound that counts as standing at it, in usual sizes: that of round-off.
const TOUCHES: f64 = 1e-9;

/// One equilibrium, with every quantity of the model there.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Values of the free ones, in the order they were freed and in their units.
    pub free: Vec<f64>,
    /// The greatest of what is left over, in usual sizes (of a rate: per second).
    pub residual: f64,
    /// Evaluations of the model spent on this point, slopes included.
    pub evaluations: usize,
    /// The free ones that stand at a bound.
    pub at_bound: Vec<Probe>,
    pub(super) slots: Vec<f64>,
}

impl Point {
    /// Value of any quantity of the model, in its unit.
    pub fn value(&self, probe: Probe) -> f64 {
        self.slots[probe.0 as usize]
    }

    /// The point at `z`; of the unknowns the first `free` are free ones.
    ///
    /// # Errors
    /// [`NoBalance::NotFinite`] where something that is only looked at has no value.
    pub(super) fn at(
        desk: &mut Desk,
        z: &DVector<f64>,
        residual: f64,
        free: usize,
        spent_before: usize,
    ) -> Result<Point, NoBalance> {
        let slots = desk.whole(z).to_vec();
        if desk.model.first_non_finite(&slots).is_some() {
            return Err(desk.sick());
        }
        let at_bound = desk.at_bound(z, TOUCHES).into_iter().filter(|&k| k < free);
        Ok(Point {
            free: desk.unknowns[..free].iter().map(|u| slots[u.probe.0 as usize]).collect(),
            residual,
            evaluations: desk.evaluations - spent_before,
            at_bound: at_bound.map(|k| desk.unknowns[k].probe).collect(),
            slots,
        })
    }
}
