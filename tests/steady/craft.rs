//! The craft of these checks.

use std::path::Path;
use std::sync::Arc;

use engine::model::{Model, Probe};
use engine::setup::Setup;
use foilborne::steady::trim::Trim;

/// The model of a setup with some values changed.
pub fn model(file: &str, changes: &[(&str, &str)]) -> Arc<Model> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut setup = Setup::load(root.join(file), root).expect("a setup");
    for (path, value) in changes {
        setup.change(path, *value, "test").expect("a change that can be made");
    }
    let parts = setup.read_parts(foilborne::PARTS).expect("parts that can be read");
    Arc::new(Model::build(parts.into_iter().map(Into::into).collect()).expect("a model"))
}

/// The demo board; no run ends because it has flown long enough.
pub fn demo() -> Trim {
    Trim::of(&model("scenarios/setups/demo_board.yaml", &[("take_off.flight", "3600 s")])).expect("a craft")
}

/// A quantity that must be there.
pub fn find(model: &Model, name: &str) -> Probe {
    model.find(name).unwrap_or_else(|| panic!("no {name}{}", model.near(name)))
}
