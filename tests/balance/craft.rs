//! The demo board, with what is asked of its equilibria and of its runs.

use std::path::Path;
use std::sync::Arc;

use engine::balance::Balance;
use engine::model::{Instance, Model, Probe};
use engine::profile::Profile;
use engine::run::{Options, Run};
use engine::setup::Setup;

/// States that change over minutes, if at all: an equilibrium leaves them as they are at the
/// start, and so does a run that is compared with it.
const SLOW: [&str; 8] = [
    "battery.cell_temperature",
    "battery.fast_polarisation",
    "battery.slow_polarisation",
    "battery.state_of_charge",
    "battery.trip_timer",
    "controller.controller_temperature",
    "motor.case_temperature",
    "motor.winding_temperature",
];

/// The wings' lift lags behind, each with a state.
const WINGS: [&str; 2] = ["front_wing.lagging_lift", "stabiliser.lagging_lift"];

/// Where searches begin that have nothing better: afloat, with the trim the rider wants.
pub const AFLOAT: [f64; 4] = [-0.56, 0.05, 0.6, 0.0];

/// The demo board, without the one part that only watches.
pub fn model() -> Arc<Model> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let setup = Setup::load(root.join("scenarios/setups/demo_board.yaml"), root).expect("a setup");
    let parts = setup.read_parts(foilborne::PARTS).expect("parts that can be read");
    // the part that watches for a take-off ends runs after five seconds of flight
    let parts = parts.into_iter().map(Instance::from).filter(|part| part.name != "take_off");
    Arc::new(Model::build(parts.collect()).expect("a model"))
}

pub fn find(model: &Model, name: &str) -> Probe {
    model.find(name).unwrap_or_else(|| panic!("no {name}{}", model.near(name)))
}

/// Carried along at a speed: depth, pitch and lift of the wings are free, weight and moments in balance.
pub fn carried(model: &Arc<Model>, speed: f64, throttle: f64) -> Balance {
    let at = |name: &str| find(model, name);
    let mut balance = Balance::of(model);
    assert!(balance.hold(at("motion.surge_speed"), speed));
    assert!(balance.hold(at("controller.throttle"), throttle));
    assert!(balance.free(at("motion.cg_depth"), -2.0, 2.0, 0.3));
    assert!(balance.free(at("motion.pitch"), -0.5, 0.5, 0.1));
    assert!(balance.rest(at("motion.heave_speed")) && balance.rest(at("motion.pitch_rate")));
    for wing in WINGS {
        assert!(balance.free(at(wing), -5.0, 5.0, 0.5) && balance.rest(at(wing)));
    }
    balance
}

/// Under way by itself: the speed is free too, the last of the unknowns.
pub fn under_way(model: &Arc<Model>, throttle: f64) -> Balance {
    let mut balance = carried(model, 1.0, throttle);
    let speed = find(model, "motion.surge_speed");
    assert!(balance.free(speed, 0.05, 15.0, 3.0) && balance.rest(speed));
    balance
}

/// The states that move the craft; its speed is the last of them.
pub fn moving(model: &Model) -> Vec<Probe> {
    let motion = ["cg_depth", "heave_speed", "pitch", "pitch_rate"].map(|name| format!("motion.{name}"));
    let names = motion.iter().map(String::as_str).chain(WINGS).chain(["motion.surge_speed"]);
    names.map(|name| find(model, name)).collect()
}

/// A run in which what is slow stands still.
pub fn run(model: &Arc<Model>, settle: bool, tolerance: f64) -> Run {
    let mut run = Run::new(model.clone(), Options { tolerance, settle, ..Options::default() });
    for name in SLOW {
        let probe = find(model, name);
        assert!(run.hold(probe, Profile::constant(model.start_value(probe))));
    }
    run
}

/// The throttle of a run.
pub fn throttle(run: &mut Run) -> &mut Profile {
    let probe = find(run.model(), "controller.throttle");
    run.input(probe).expect("an input")
}
