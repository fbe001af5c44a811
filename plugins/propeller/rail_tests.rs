//! A whole drive with a propeller of the series on a sledge that runs on a rail: from rest to full speed,
//! then throttle off. It passes bollard, ahead and windmilling in one run.

use std::path::Path;
use std::sync::Arc;

use engine::model::{Declare, Model};
use engine::part::{Part, PartKind};
use engine::quantity::Kind;
use engine::run::{Options, Run};
use engine::setup::{Params, Setup, describe};

use crate::PARTS;
use crate::nomenclature::*;

/// ∫ (sources − sinks) dt.
const NET_ENERGY: Kind = Kind::single("net_energy", "J", "energy taken in less energy given away");

const RAIL: PartKind = PartKind { name: "rail", about: "a sledge on a rail with quadratic drag", read: rail };

fn rail(p: &mut Params) -> Option<Box<dyn Part>> {
    p.part(|| Ok(Rail))
}

struct Rail;

/// Sledge of 100 kg with 8 N s²/m² of drag.
const SLEDGE: (f64, f64) = (100.0, 8.0);

impl Part for Rail {
    fn declare(&self, m: &mut Declare) {
        for still in [&HEAVE_SPEED, &PITCH_RATE, &SIN_PITCH, &CG_FORWARD, &CG_BELOW, &CG_DEPTH] {
            m.constant(still, 0.0);
        }
        m.constant(&COS_PITCH, 1.0);
        m.state(&SURGE_SPEED, 0.0, 3.0);
        m.state(&NET_ENERGY, 0.0, 1000.0);
        let (mass, drag) = SLEDGE;
        m.equation("drag", |e| {
            let (u, force) = (e.reads(&SURGE_SPEED), e.adds(&SURGE_FORCE));
            let (sink, store) = (e.adds(&ENERGY_SINK), e.adds(&ENERGY_STORE));
            move |at| {
                at[force] = -drag * at[u] * at[u].abs();
                at[sink] = drag * at[u].powi(2) * at[u].abs();
                at[store] = 0.5 * mass * at[u] * at[u];
            }
        });
        m.equation("motion", |e| {
            let (force, rate) = (e.reads(&SURGE_FORCE), e.rate_of(&SURGE_SPEED));
            move |at| at[rate] = at[force] / mass
        });
        m.equation("balance", |e| {
            let (source, sink, rate) =
                (e.reads(&ENERGY_SOURCE), e.reads(&ENERGY_SINK), e.rate_of(&NET_ENERGY));
            move |at| at[rate] = at[source] - at[sink]
        });
    }
}

const SETUP: &str = "
setup: 1
title: a drive on a rail
parts:
  rail: {}
  water: {temperature: 15 °C, salinity: 35 ‰}
  air: {}
  battery: {cells_in_series: 13, strings_in_parallel: 8, state_of_charge: 90 %, trip_current: 150 A, trip_time: 1 s}
  wiring: {battery_run: 600 mm, phase_run: 900 mm}
  controller: {motor_current: 120 A, battery_current: 100 A, voltage_min: 36 V, speed_max: 6000 rpm}
  motor: {speed_constant: 75 rpm/V, resistance: 16 mΩ, no_load_current: 2.2 A, pole_pairs: 7, phase_inductance: 15 µH}
  shaft: {seal_torque: 0.05 N·m}
  propeller: {part: propeller_series, diameter: 160 mm, pitch_ratio: 0.9, area_ratio: 0.5, forward: 600 mm, below: 700 mm, wake_fraction: 5 %, thrust_deduction: 4 %}
  guard: {forward: 600 mm, below: 700 mm, diameter: 200 mm, area: 40 cm², drag_coefficient: 0.8, thrust_factor: 95 %}
";

fn model() -> Arc<Model> {
    let kinds: Vec<PartKind> = PARTS.iter().copied().chain([RAIL]).collect();
    let setup = Setup::from_text("rail.yaml", SETUP, Path::new(".")).unwrap();
    Arc::new(setup.model(&kinds).unwrap_or_else(|e| panic!("{e}")))
}

fn value(run: &mut Run, name: &str) -> f64 {
    let probe = run.model().find(name).unwrap_or_else(|| panic!("no {name}"));
    run.value(probe)
}

fn stored(run: &mut Run) -> f64 {
    let probes = run.model().contributions(ENERGY_STORE.name);
    probes.into_iter().map(|p| run.value(p)).sum()
}

/// Goes on to `time` in two stretches: a run shows a ramped input as it stood where the last stretch began.
fn reach(run: &mut Run, time: f64) {
    run.advance(time - 1e-6, &[]).unwrap();
    run.advance(time, &[]).unwrap();
}

/// A run whose throttle opens within two seconds and closes again at 15 s.
fn start(model: Arc<Model>) -> Run {
    let throttle = model.find("controller.throttle").unwrap();
    let mut run = Run::new(model, Options { tolerance: 1e-9, max_step: 0.5, settle: false });
    let profile = run.input(throttle).unwrap();
    profile.change(0.2, 2.0, 1.0);
    profile.change(15.0, 0.5, 0.0);
    run
}

#[test]
fn it_pulls_ahead_and_then_windmills() {
    let mut run = start(model());
    reach(&mut run, 15.0);
    let fast = value(&mut run, "rail.surge_speed");
    let j = value(&mut run, "propeller.advance_ratio");
    assert!(fast > 3.0 && (0.3..0.9).contains(&j), "{fast} m/s at J {j}");
    assert!(value(&mut run, "propeller.thrust") > 0.0);

    reach(&mut run, 18.0);
    assert!(value(&mut run, "propeller.thrust") < 0.0, "it drags with the throttle off");
    assert!(value(&mut run, "shaft.shaft_speed") > 1.0, "the water keeps it turning");
    assert!(value(&mut run, "rail.surge_speed") > 0.2);
}

/// Power taken in, less power given away, less what is stored, over the whole run [J].
fn imbalance(model: Arc<Model>) -> f64 {
    let mut run = start(model);
    let before = stored(&mut run);
    reach(&mut run, 25.0);
    value(&mut run, "rail.net_energy") - (stored(&mut run) - before)
}

#[test]
fn the_books_close_over_the_run_and_a_slip_of_a_thousandth_shows() {
    let model = model();
    model.audit().unwrap();
    // 1e-9 per step of states scaled by a kilojoule, over some hundred steps
    assert!(imbalance(model.clone()).abs() < 1e-3);
    for entry in ["slip", "wake_and_thrust_deduction", "guard_on_thrust"] {
        let probe = model.find(&format!("propeller.energy_sink.{entry}")).unwrap();
        let wrong = imbalance(Arc::new(model.with_fault(probe, 1.001)));
        assert!(wrong.abs() > 1e-2, "{entry}: {wrong} J");
    }
}

#[test]
fn defaults_are_sound() {
    let ours = ["air", "guard", "propeller_series", "propeller_table", "water"];
    for kind in PARTS.iter().filter(|k| ours.contains(&k.name)) {
        let doc = describe(kind);
        assert!(doc.faults.is_empty(), "{}: {:?}", kind.name, doc.faults);
    }
}
