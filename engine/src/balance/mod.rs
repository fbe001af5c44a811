//! Equilibria of a model: where chosen rates vanish and chosen quantities have
//! chosen values, without running through time.
//!
//! A [`Balance`] is a question: what is held, what is free, what must come
//! about. [`Balance::solve`] answers it once, [`Balance::along`] for a row of
//! values of one quantity, [`Balance::follow`] along a branch that may turn
//! back at folds. [`Balance::linearise`] tells how small disturbances of an
//! equilibrium grow or die away.
//!
//! Everything that is neither held nor free stands as it does before a run:
//! states and inputs at their start values, time at 0, and discrete values
//! (modes) too. **Events do not happen here**: a point can lie beyond a guard
//! that a run would have tripped over on its way.
//!
//! All is measured in usual sizes: a rate in usual sizes of its state per
//! second, an unknown in the size it was freed with.

mod along;
mod branch;
mod descent;
mod desk;
mod error;
mod fold;
mod follow;
mod linear;
mod newton;
mod point;
mod solve;

use std::sync::Arc;

pub use branch::{Branch, BranchEnd, Fold, Steps};
use desk::{Condition, Desk, Unknown};
pub use error::{LeftOver, NoBalance, NotLinear};
pub use linear::{Eigenmode, Linear};
pub use point::Point;
pub use solve::Found;

use crate::model::{Model, Probe};

/// What is held, what is free, and what must come about.
#[derive(Clone)]
pub struct Balance {
    model: Arc<Model>,
    held: Vec<(Probe, f64)>,
    free: Vec<Unknown>,
    conditions: Vec<Condition>,
}

impl Balance {
    /// A question about this model, with nothing held, free or asked for yet.
    pub fn of(model: &Arc<Model>) -> Balance {
        Balance { model: model.clone(), held: Vec::new(), free: Vec::new(), conditions: Vec::new() }
    }

    /// The model.
    pub fn model(&self) -> &Arc<Model> {
        &self.model
    }

    /// Holds a state or an input at a value, in its own unit; the rate of a
    /// held state need not vanish. The last word counts: what was free no
    /// longer is. Returns whether this can be held at that value.
    pub fn hold(&mut self, probe: Probe, value: f64) -> bool {
        if !(self.settable(probe) && value.is_finite() && self.model.allows(probe, value)) {
            return false;
        }
        self.let_go(probe);
        self.held.push((probe, value));
        true
    }

    /// Lets a state or an input be found between `low` and `high`, in its own
    /// unit; either may be infinite. They are narrowed to what its part allows
    /// from outside. `size` is a usual size, which scales steps. Returns
    /// whether this can be free, with room between the bounds.
    pub fn free(&mut self, probe: Probe, low: f64, high: f64, size: f64) -> bool {
        let (least, most) = self.model.range(probe).unwrap_or((f64::NEG_INFINITY, f64::INFINITY));
        let (low, high) = (low.max(least), high.min(most));
        let sound = low < high && size.is_finite() && size > 0.0;
        if !(sound && self.settable(probe)) {
            return false;
        }
        self.let_go(probe);
        self.free.push(Unknown { probe, low, high, size });
        true
    }

    /// Asks that the rate of a state vanish. Returns whether it is a state.
    pub fn rest(&mut self, state: Probe) -> bool {
        let Some(entry) = self.model.state_index(state).map(|i| &self.model.states()[i]) else {
            return false;
        };
        self.conditions.push(Condition::Rest { state, rate: entry.rate, nominal: entry.nominal });
        true
    }

    /// Asks that a quantity have a value, in its own unit; `size` is what
    /// counts as far off. Returns whether value and size are sound.
    pub fn meet(&mut self, quantity: Probe, value: f64, size: f64) -> bool {
        let sound = value.is_finite() && size.is_finite() && size > 0.0;
        if sound {
            self.conditions.push(Condition::Meet { quantity, value, size });
        }
        sound
    }

    /// The free ones, in the order in which starts and [`Point::free`] give them.
    pub fn unknowns(&self) -> Vec<Probe> {
        self.free.iter().map(|u| u.probe).collect()
    }

    /// Whether a quantity can be prescribed from outside.
    fn settable(&self, probe: Probe) -> bool {
        self.model.state_index(probe).is_some() || self.model.inputs().contains(&probe)
    }

    fn let_go(&mut self, probe: Probe) {
        self.held.retain(|(held, _)| *held != probe);
        self.free.retain(|free| free.probe != probe);
    }

    /// A desk for this question, with everything held in its place.
    ///
    /// # Errors
    /// [`NoBalance::Mismatch`] and [`NoBalance::Start`].
    fn desk(&self, start: &[f64]) -> Result<Desk<'_>, NoBalance> {
        let (free, conditions) = (self.free.len(), self.conditions.len());
        if free != conditions || free == 0 {
            return Err(NoBalance::Mismatch { free, conditions });
        }
        if start.len() != free || start.iter().any(|v| !v.is_finite()) {
            return Err(NoBalance::Start { free, given: start.to_vec() });
        }
        Ok(Desk::new(&self.model, &self.held, self.free.clone(), &self.conditions))
    }
}

#[cfg(test)]
mod tests;
