//! The demo flight up to a fixed time, as the engine and as the fused program fly it.

use std::path::{Path, PathBuf};
use std::sync::{Arc, LazyLock};

use engine::model::Model;
use engine::run::{Options, Run};
use engine::setup::Setup;

use crate::monolith::craft::Craft;
use crate::monolith::rates::{NOMINAL, PER_NOMINAL, STATES, Seen, State};

#[path = "../../demo/mod.rs"]
mod shared;

/// End of the comparison, s. Till then the flight is one smooth problem, the
/// corners of its formulas aside: the throttle is a smoothstep (0.5 s to 3.5 s),
/// the happenings on the way (clear of the water, foilborne) change no rate, and
/// the run ends of itself only later.
pub const HORIZON: f64 = 10.0;

/// The demo flight.
pub struct Flight {
    /// Throttle: from when, within how long, to what.
    pub throttle: (f64, f64, f64),
}

/// As `benches/flight.rs` flies it.
pub const FLIGHT: Flight = Flight { throttle: shared::FLIGHT.throttle };

impl Flight {
    /// The setup as read; this package lies two folders below the project's.
    pub fn setup(&self) -> Setup {
        let root: PathBuf = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
        let root = root.canonicalize().expect("the project's folder");
        Setup::load(root.join(shared::FLIGHT.setup), &root).expect("the demo can be read")
    }
}

/// What every run shares.
pub struct Stage {
    model: Arc<Model>,
    craft: Craft,
    /// Settled states at time 0, each divided by its usual size.
    pub start: State,
}

/// Built on first use.
pub static STAGE: LazyLock<Stage> = LazyLock::new(|| {
    let built = Model::build(shared::instances(&FLIGHT.setup()));
    let model = Arc::new(built.unwrap_or_else(|_| panic!("the parts of the demo fit together")));
    let mut stage = Stage { model, craft: crate::monolith::craft(), start: [0.0; STATES] };
    let mut run = stage.ready(Options::default().tolerance);
    run.advance(0.0, &[]).expect("the demo settles");
    stage.start.copy_from_slice(run.scaled_states());
    stage
});

impl Stage {
    fn ready(&self, tolerance: f64) -> Run {
        let mut run = Run::new(self.model.clone(), Options { tolerance, ..Options::default() });
        let throttle = self.model.find("controller.throttle").expect("a controller has a throttle");
        let (from, duration, to) = FLIGHT.throttle;
        run.input(throttle).expect("the throttle is an input").change(from, duration, to);
        run
    }

    /// The engine's run; evaluations and scaled states at the end.
    pub fn engine(&self, tolerance: f64) -> Option<(usize, State)> {
        let mut run = self.ready(tolerance);
        run.advance(HORIZON, &[]).ok()?;
        let end = run.scaled_states().try_into().ok()?;
        Some((run.work().evaluations, end))
    }

    /// The fused program's flight at the engine's default tolerance, the only one it has.
    pub fn fused(&self) -> (usize, State) {
        let flight = self.craft.fly(HORIZON);
        (flight.evaluations, std::array::from_fn(|i| flight.states[i] / NOMINAL[i]))
    }

    /// Rates of the scaled states, by the fused right-hand side.
    #[inline]
    pub fn rates(&self, t: f64, y: &State, dy: &mut State) {
        let si = std::array::from_fn(|i| y[i] * NOMINAL[i]);
        let found = self.craft.rates(t, &si, false, &mut Seen::default());
        *dy = std::array::from_fn(|i| found[i] * PER_NOMINAL[i]);
    }
}
