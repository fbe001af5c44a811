//! The demo flight for benches and tests: the setup and the throttle of
//! `scenarios/first_flight.rhai`, without the script.

// every bench and test uses a part of this
#![allow(dead_code)]

use std::path::{Path, PathBuf};
use std::sync::Arc;

use engine::model::{Instance, Model};
use engine::run::{Options, Run};
use engine::setup::Setup;

use crate::monolith::craft::Craft;

/// Longest run, s.
pub const DURATION: f64 = 30.0;
/// Throttle: from when, within how long, to what.
pub const THROTTLE: (f64, f64, f64) = (0.5, 3.0, 0.6);

/// The project's folder.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The demo board's file.
pub fn file() -> PathBuf {
    root().join("scenarios/setups/demo_board.yaml")
}

/// The demo board as read.
pub fn setup() -> Setup {
    Setup::load(file(), root()).expect("the demo board can be read")
}

/// Its parts.
pub fn instances(setup: &Setup) -> Vec<Instance> {
    let parts = setup.read_parts(foilborne::PARTS).expect("the demo board's parts can be read");
    parts.into_iter().map(|p| Instance { name: p.name, part: Arc::from(p.part), from: p.from }).collect()
}

/// The demo board, wired.
pub fn model() -> Arc<Model> {
    Arc::new(Model::build(instances(&setup())).unwrap_or_else(|_| panic!("the demo board fits together")))
}

/// A run about to begin, throttle planned.
pub fn ready(model: &Arc<Model>) -> Run {
    let mut run = Run::new(model.clone(), Options::default());
    let throttle = model.find("controller.throttle").expect("a controller has a throttle");
    let (from, duration, to) = THROTTLE;
    run.input(throttle).expect("the throttle is an input").change(from, duration, to);
    run
}

/// The run, flown.
pub fn flown(model: &Arc<Model>) -> Run {
    let mut run = ready(model);
    run.advance(DURATION, &[]).unwrap_or_else(|error| panic!("{error}"));
    run
}

/// The run, flown, with its model.
pub fn flight() -> (Run, Arc<Model>) {
    let model = model();
    (flown(&model), model)
}

/// The same craft for the fused program.
pub fn fused() -> Craft {
    Craft::new(&setup(), THROTTLE)
}
