//! Foil, mast, pod and rider together on a line that tows them: wiring, ledger, balance.

use std::path::Path;
use std::sync::Arc;

use engine::model::{Declare, Model};
use engine::part::{Part, PartKind};
use engine::run::{Options, Run};
use engine::setup::{Params, Setup};
use engine::units::FORCE;

use crate::nomenclature::*;

/// Still water, and a tow rope whose work is a source.
struct Tow(f64);

impl Part for Tow {
    fn declare(&self, m: &mut Declare) {
        m.constant(&WATER_DENSITY, 1000.0);
        m.constant(&WATER_VISCOSITY, 1.1e-6);
        m.constant(&CURRENT, 0.3);
        let force = self.0;
        m.equation("rope", |e| {
            let u = e.reads(&SURGE_SPEED);
            let (x, power) = (e.adds(&SURGE_FORCE), e.adds_as(&ENERGY_SOURCE, "rope"));
            move |at| {
                at[x] = force;
                at[power] = force * at[u];
            }
        });
    }
}

fn read_tow(p: &mut Params) -> Option<Box<dyn Part>> {
    let force = p.value("force", FORCE, "pull").required();
    p.part(|| Ok(Tow(force)))
}

fn model(rider: &str, more: &str) -> Result<Arc<Model>, String> {
    let text = format!(
        "setup: 1
parts:
  motion: {{speed: 5 m/s, depth: -1.1 m, pitch: 1 deg}}
  ledger: {{}}
  tow: {{force: 100 N}}
  front_wing: {{part: foil, span: 0.9 m, area: 1200 cm², forward: 0.62 m, below: 0.72 m, mass: 1.2 kg}}
  tail_wing: {{part: foil, span: 0.45 m, chord: 70 mm, forward: 0.05 m, below: 0.72 m, mass: 0.3 kg,
    zero_lift_angle: 0 deg, lift_ideal: 0, moment: 0, incidence: -1 deg, downwash_from: front_wing}}
  mast: {{length: 0.75 m, forward: 0.55 m, mass: 2 kg}}
  pod: {{diameter: 80 mm, length: 300 mm, forward: 0.4 m, below: 0.72 m, mass: 3 kg}}
  rider: {{part: {rider}, mass: 80 kg, forward: 0.60 m, {more}}}
"
    );
    let setup = Setup::from_text("tow.yaml", &text, Path::new(".")).map_err(|e| e.to_string())?;
    let mut kinds: Vec<PartKind> = crate::PARTS.to_vec();
    kinds.push(PartKind { name: "tow", about: "", read: read_tow });
    setup.model(&kinds).map(Arc::new).map_err(|e| e.to_string())
}

fn sum(run: &mut Run, kind: &str, prefix: &str) -> f64 {
    let model = run.model().clone();
    let names: Vec<String> =
        model.contributions(kind).into_iter().map(|p| format!("{prefix}{}", model.name(p))).collect();
    names.iter().map(|name| run.value(model.find(name).unwrap())).sum()
}

#[test]
fn everything_is_declared_and_finite() {
    for rider in ["rider_ideal", "rider_reacting"] {
        model(rider, "").unwrap().audit().unwrap();
    }
}

#[test]
fn energy_is_accounted_for() {
    for rider in ["rider_ideal", "rider_reacting"] {
        let mut run =
            Run::new(model(rider, "").unwrap(), Options { tolerance: 1e-10, max_step: 0.1, settle: false });
        let before = sum(&mut run, ENERGY_STORE.name, "");
        run.advance(1.5, &[]).unwrap();
        let after = sum(&mut run, ENERGY_STORE.name, "");
        let source = sum(&mut run, ENERGY_SOURCE.name, "integral.");
        let sink = sum(&mut run, ENERGY_SINK.name, "integral.");
        let off = source - sink - (after - before);
        // the ledger closes to 1e-8 of what went through it (integration tolerance 1e-10)
        assert!(off.abs() < 1e-8 * source.abs(), "{rider}: {off} J of {source}, {sink}, {}", after - before);
        assert!(source.abs() > 100.0 && sink.abs() > 100.0);
    }
}

#[test]
fn the_ideal_rider_holds_his_trim_and_finds_his_height() {
    let model = model("rider_ideal", "trim: 3 deg, flight_height: 200 mm, reach: 600 mm").unwrap();
    let find = |name: &str| model.find(name).unwrap();
    let mut run = Run::new(model.clone(), Options { tolerance: 1e-7, max_step: 0.1, settle: false });
    run.advance(12.0, &[]).unwrap();
    let (pitch, asked) = (run.value(find("motion.pitch")), run.value(find("rider.trim_command")));
    let (height, climb) = (run.value(find("rider.flight_height")), run.value(find("motion.heave_speed")));
    // settled: twelve seconds are twenty times the slowest time constant of height
    assert!((pitch - asked).abs() < 0.002 && climb.abs() < 0.01, "{pitch} {asked} {climb} {height}");
    // he settles (trim − trim needed)/gain above his height
    assert!((0.2..0.5).contains(&height), "{height}");
    let used = run.value(find("rider.reach_used"));
    assert!(used < 0.9, "{used}");
}

#[test]
fn the_reacting_rider_flies_too() {
    let model = model("rider_reacting", "trim: 3 deg, reach: 350 mm").unwrap();
    let find = |name: &str| model.find(name).unwrap();
    let mut run = Run::new(model.clone(), Options { tolerance: 1e-7, max_step: 0.1, settle: false });
    // a delay of 0.15 s and a lag of 0.2 s leave a slow, damped swing: twelve seconds end it
    for _ in 0..12 {
        run.advance(run.time() + 1.0, &[]).unwrap();
        assert!(run.value(find("motion.pitch")).abs() < 0.35);
    }
    assert!(run.value(find("motion.heave_speed")).abs() < 0.05);
    assert!(run.value(find("rider.flight_height")) > 0.2);
    assert!(run.value(find("rider.reach_used")) < 0.97);
}

#[test]
fn lift_without_lag_has_no_state() {
    let with = |lag: &str| {
        let text = format!(
            "setup: 1\nparts:\n  wing: {{part: foil, span: 0.9 m, chord: 0.13 m, forward: 0 m, below: 0 m, \
             mass: 1 kg, lag: {lag}}}\n"
        );
        Setup::from_text("a.yaml", &text, Path::new(".")).unwrap().read_parts(crate::PARTS)
    };
    assert!(with("off").is_ok() && with("on").is_ok());
    let error = with("maybe").err().unwrap().to_string();
    assert!(error.contains("on or off"), "{error}");
}

#[test]
fn a_wing_says_what_it_lacks() {
    let read = |keys: &str| {
        let text = format!(
            "setup: 1\nparts:\n  wing: {{part: foil, forward: 0 m, below: 0 m, mass: 1 kg, {keys}}}\n"
        );
        Setup::from_text("a.yaml", &text, Path::new(".")).unwrap().read_parts(crate::PARTS)
    };
    for (keys, said) in [
        ("span: 0.9 m", "neither area nor chord"),
        ("span: 0.9 m, chord: 0.1 m, area: 900 cm²", "both given"),
        ("span: 0.2 m, area: 1000 cm²", "longer than wide"),
        ("span: 0.9 m, chord: 0.1 m, downwash_from: wing", "not behind itself"),
    ] {
        let error = read(keys).err().unwrap().to_string();
        assert!(error.contains(said), "{error}");
    }
}
