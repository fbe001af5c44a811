//! Events: a guard that passes zero, and what then happens.

use std::sync::Arc;

use super::frame::Frame;

pub(crate) type Guarding = Arc<dyn Fn(&Frame) -> f64 + Send + Sync>;
pub(crate) type Acting = Arc<dyn Fn(&mut Frame) -> Then + Send + Sync>;

/// Direction in which a guard passes zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Crossing {
    /// From below zero to above.
    Rising,
    /// From above zero to below.
    Falling,
}

impl Crossing {
    /// Whether going from `before` to `after` is such a crossing.
    pub fn happens(self, before: f64, after: f64) -> bool {
        match self {
            Crossing::Rising => before < 0.0 && after >= 0.0,
            Crossing::Falling => before > 0.0 && after <= 0.0,
        }
    }
}

/// What happens after an event's action.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Then {
    /// The run goes on.
    Go,
    /// The run ends here.
    Stop,
}

/// Guard and action of an event.
pub struct Trigger {
    pub(super) crossing: Crossing,
    pub(super) guard: Guarding,
    pub(super) act: Acting,
}

impl Trigger {
    /// Fires when `guard` rises through zero.
    pub fn rising(
        guard: impl Fn(&Frame) -> f64 + Send + Sync + 'static,
        act: impl Fn(&mut Frame) -> Then + Send + Sync + 'static,
    ) -> Trigger {
        Trigger { crossing: Crossing::Rising, guard: Arc::new(guard), act: Arc::new(act) }
    }

    /// Fires when `guard` falls through zero.
    pub fn falling(
        guard: impl Fn(&Frame) -> f64 + Send + Sync + 'static,
        act: impl Fn(&mut Frame) -> Then + Send + Sync + 'static,
    ) -> Trigger {
        Trigger { crossing: Crossing::Falling, guard: Arc::new(guard), act: Arc::new(act) }
    }
}
