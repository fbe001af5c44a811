//! The demo runs for benches and tests.

// every bench and test uses a part of this
#![allow(dead_code)]

use std::path::{Path, PathBuf};
use std::sync::Arc;

use engine::model::{Instance, Model};
use engine::run::{Options, Run};
use engine::setup::Setup;

/// A run that a scenario describes, without the script.
pub struct Demo {
    /// The scenario, from the project's folder.
    pub scenario: &'static str,
    /// Setup, from the project's folder.
    pub setup: &'static str,
    /// Throttle: from when, within how long, to what.
    pub throttle: (f64, f64, f64),
    /// Longest run, s.
    pub duration: f64,
}

/// `scenarios/first_flight.rhai`.
pub const FLIGHT: Demo = Demo {
    scenario: "scenarios/first_flight.rhai",
    setup: "scenarios/setups/demo_board.yaml",
    throttle: (0.5, 3.0, 0.55),
    duration: 30.0,
};

/// `scenarios/static_tub.rhai`.
pub const TUB: Demo = Demo {
    scenario: "scenarios/static_tub.rhai",
    setup: "scenarios/setups/demo_tub.yaml",
    throttle: (0.5, 2.0, 1.0),
    duration: 8.0,
};

/// The project's folder.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The parts of a setup.
pub fn instances(setup: &Setup) -> Vec<Instance> {
    let parts = setup.read_parts(foilborne::PARTS).expect("a demo's parts can be read");
    parts.into_iter().map(Into::into).collect()
}

impl Demo {
    /// Where the setup lies.
    pub fn file(&self) -> PathBuf {
        root().join(self.setup)
    }

    /// The setup as read.
    pub fn setup(&self) -> Setup {
        Setup::load(self.file(), root()).expect("a demo can be read")
    }

    /// The model, wired.
    pub fn model(&self) -> Arc<Model> {
        let built = Model::build(instances(&self.setup()));
        Arc::new(built.unwrap_or_else(|_| panic!("the parts of a demo fit together")))
    }

    /// A run about to begin, throttle planned.
    pub fn ready(&self, model: &Arc<Model>) -> Run {
        let mut run = Run::new(model.clone(), Options::default());
        let throttle = model.find("controller.throttle").expect("a controller has a throttle");
        let (from, duration, to) = self.throttle;
        run.input(throttle).expect("the throttle is an input").change(from, duration, to);
        run
    }

    /// The run to its end.
    pub fn run(&self, model: &Arc<Model>) -> Run {
        let mut run = self.ready(model);
        run.advance(self.duration, &[]).unwrap_or_else(|error| panic!("{error}"));
        run
    }
}
