//! The craft of the checks, with what is done to it, for every check here.

use std::path::Path;
use std::sync::Arc;

use engine::model::{self, Model, Probe};
use engine::profile::Profile;
use engine::run::{Options, Pause, Run, RunError};
use engine::setup::Setup;

/// A setup of the checks with some values changed.
pub fn setup(file: &str, changes: &[(&str, &str)]) -> Setup {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut setup = Setup::load(root.join("tests/invariants/setups").join(file), root).expect("a setup");
    for (path, value) in changes {
        setup.change(path, *value, "test").expect("a change that can be made");
    }
    setup
}

/// The parts of a setup, in its order.
pub fn instances(setup: &Setup) -> Vec<model::Instance> {
    let parts = setup.read_parts(foilborne::PARTS).expect("parts that can be read");
    parts.into_iter().map(Into::into).collect()
}

/// The model of a setup with some values changed.
pub fn model(file: &str, changes: &[(&str, &str)]) -> Arc<Model> {
    Arc::new(Model::build(instances(&setup(file, changes))).expect("a model"))
}

/// A quantity that must be there.
pub fn find(model: &Model, name: &str) -> Probe {
    model.find(name).unwrap_or_else(|| panic!("no {name}{}", model.near(name)))
}

/// A change of an input: name, from when, over what time, to what.
pub type Deed = (&'static str, f64, f64, f64);

/// The throttle of a take-off.
pub const OPENING: Deed = ("controller.throttle", 0.5, 3.0, 0.6);

/// A run with its inputs planned, not begun yet.
pub fn planned(model: &Arc<Model>, tolerance: f64, deeds: &[Deed]) -> Run {
    let mut run = Run::new(model.clone(), Options { tolerance, ..Options::default() });
    for &(input, from, duration, value) in deeds {
        let profile = run.input(find(model, input)).expect("an input");
        if from == 0.0 && duration == 0.0 {
            *profile = Profile::constant(value);
        } else {
            profile.change(from, duration, value);
        }
    }
    run
}

/// A run carried on to its end.
///
/// # Panics
/// Where the run breaks off.
pub fn flown(model: &Arc<Model>, tolerance: f64, deeds: &[Deed], duration: f64) -> Run {
    let mut run = planned(model, tolerance, deeds);
    finish(&mut run, duration).expect("a run to its end");
    run
}

/// Carries a run on to its end.
pub fn finish(run: &mut Run, duration: f64) -> Result<(), RunError> {
    match run.advance(duration, &[])? {
        Pause::Time | Pause::Ended => Ok(()),
        Pause::Condition(_) => unreachable!("no conditions were stated"),
    }
}

/// A quantity at the end of a run.
pub fn at_end(run: &mut Run, name: &str) -> f64 {
    let probe = find(run.model(), name);
    run.value(probe)
}

/// Time of the first lasting flight, if there was one.
pub fn take_off_time(run: &mut Run) -> Option<f64> {
    let t = at_end(run, "take_off.take_off_time");
    (at_end(run, "take_off.foilborne") > 0.5 && t >= 0.0).then_some(t)
}
