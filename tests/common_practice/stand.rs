//! Setups written as text, run from here.

use std::path::Path;
use std::sync::Arc;

use engine::model::Model;
use engine::run::{Options, Run};
use engine::scenario::{Findings, Finished};
use engine::setup::Setup;
use foilborne::PARTS;
use foilborne::verdict::judge;

/// Standard acceleration of gravity: newtons in a kilogram-force.
pub const KGF: f64 = 9.80665;

/// The model of a setup.
fn model(text: &str) -> Arc<Model> {
    let setup = Setup::from_text("setup in a test", text, Path::new(".")).unwrap_or_else(|e| panic!("{e}"));
    Arc::new(setup.model(PARTS).unwrap_or_else(|e| panic!("{e}")))
}

/// Runs a setup with its throttle as it stands, or opened to a given value within two seconds, and judges it.
pub fn trial(text: &str, duration: f64, throttle: Option<f64>) -> (Finished, Findings) {
    let mut run = Run::new(model(text), Options::default());
    if let Some(throttle) = throttle {
        let input = run.model().find("controller.throttle").unwrap_or_else(|| panic!("no throttle"));
        run.input(input).unwrap_or_else(|| panic!("no input")).change(0.5, 2.0, throttle);
    }
    let error = run.advance(duration, &[]).err();
    let finished = Finished {
        title: String::new(),
        setup_title: String::new(),
        run,
        duration,
        error,
        setup_warnings: Vec::new(),
        record: Vec::new(),
        interval: 0.02,
        setup_hash: String::new(),
    };
    let findings = judge(&finished);
    (finished, findings)
}

/// What is read on a thrust stand.
#[derive(Debug, Clone)]
pub struct Reading {
    /// Thrust [N].
    pub thrust: f64,
    /// Shaft speed [rev/s].
    pub revs: f64,
    pub motor_current: f64,
    pub battery_current: f64,
    pub voltage: f64,
    pub duty: f64,
    /// The limit that binds.
    pub limit: String,
}

/// Reads a stand after two seconds at the throttle that the setup states.
pub fn reading(text: &str) -> Reading {
    let mut run = Run::new(model(text), Options::default());
    run.advance(2.0, &[]).unwrap_or_else(|e| panic!("{e}"));
    let limits = run.model().contributions("limit_margin");
    let limit = limits.into_iter().max_by(|&a, &b| run.value(a).total_cmp(&run.value(b))).unwrap();
    let mut value = |name: &str| {
        let probe = run.model().find(name).unwrap_or_else(|| panic!("no {name}"));
        run.value(probe)
    };
    Reading {
        thrust: value("propeller.thrust"),
        revs: value("shaft.shaft_speed") / std::f64::consts::TAU,
        motor_current: value("shaft.motor_current"),
        battery_current: value("shaft.battery_current"),
        voltage: value("shaft.bus_voltage"),
        duty: value("shaft.duty"),
        limit: run.model().name(limit).rsplit('.').next().unwrap().to_string(),
    }
}

/// What is said of a setup that is refused.
pub fn refusal(text: &str) -> String {
    let setup = Setup::from_text("setup in a test", text, Path::new(".")).unwrap_or_else(|e| panic!("{e}"));
    setup.read_parts(PARTS).expect_err("a refusal").to_string()
}
