//! The board with motion and ledger, on a stretch of still water with a tow rope.

use std::path::Path;
use std::sync::Arc;

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::run::{Options, Run};
use engine::setup::{Params, Setup};
use engine::units::{FORCE, SPEED};

use super::PART;
use crate::handbook::G;
use crate::handbook::mass::{Mass, place};
use crate::nomenclature::*;
use crate::{ledger, motion};

const TOW: PartKind = PartKind { name: "tow", about: "still water, 60 kg of ballast, a tow rope", read };

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let pull = p.value("pull", FORCE, "pull at the centre of gravity").or("0 N");
    let current = p.value("current", SPEED, "speed of the water").or("0 m/s");
    p.part(|| Ok(Tow { pull, current }))
}

struct Tow {
    pull: f64,
    current: f64,
}

impl Part for Tow {
    fn declare(&self, m: &mut Declare) {
        m.constant(&CURRENT, self.current);
        m.constant(&WATER_DENSITY, 1000.0);
        m.constant(&WATER_VISCOSITY, 1.14e-6);
        place(m, Mass { mass: 60.0, forward: 0.75, below: -0.5, inertia: 5.0 });
        let pull = self.pull;
        m.equation("pull", |e| {
            let u = e.reads(&SURGE_SPEED);
            let (force, power) = (e.adds(&SURGE_FORCE), e.adds(&ENERGY_SOURCE));
            move |at| {
                at[force] = pull;
                at[power] = pull * at[u];
            }
        });
    }
}

fn afloat(pull: &str, board: &str) -> Run {
    let text = format!(
        "setup: 1\nparts:\n  ledger: {{}}\n  motion: {{}}\n  tow: {{ pull: {pull} }}\n  board:\n    length: 1800 mm\n    \
         beam: 700 mm\n    thickness: 130 mm\n    volume: 125 L\n    mass: 8 kg\n{board}"
    );
    let setup = Setup::from_text("test", &text, Path::new(env!("CARGO_MANIFEST_DIR"))).unwrap();
    let model = setup.model(&[PART, ledger::PART, motion::PART, TOW]).unwrap();
    model.audit().unwrap();
    Run::new(Arc::new(model), Options { tolerance: 1e-9, max_step: 0.05, settle: true })
}

fn value(run: &mut Run, name: &str) -> f64 {
    let probe = run.model().find(name).unwrap_or_else(|| panic!("no {name}"));
    run.value(probe)
}

/// Sum over all quantities whose name starts with `integral.` and holds `kind`, or over a kind.
fn total(run: &mut Run, kind: &str, integrals: bool) -> f64 {
    let model = run.model().clone();
    let names = model.contributions(kind).into_iter().map(|p| model.name(p).to_owned());
    names.map(|n| value(run, &if integrals { format!("integral.{n}") } else { n })).sum()
}

/// Energy that entered less energy that left and is held; constant over a run.
fn balance(run: &mut Run) -> f64 {
    total(run, "energy_source", true) - total(run, "energy_sink", true) - total(run, "energy_store", false)
}

#[test]
fn it_comes_to_rest_where_archimedes_says() {
    let mut run = afloat("0 N", "");
    run.advance(0.1, &[]).unwrap();
    // the settling solver balances rates to far less than this
    let (load, weight) = (value(&mut run, "board.board_load"), 68.0 * G);
    assert!((load / weight - 1.0).abs() < 1e-6, "{load} N carried, {weight} N weight");
    assert!(value(&mut run, "board.board_clearance") < -0.03);
}

#[test]
fn every_loss_is_accounted_for() {
    // floating, through the hump, planing
    for (pull, seconds) in [("30 N", 4.0), ("140 N", 12.0)] {
        let mut run = afloat(pull, "");
        run.advance(0.01, &[]).unwrap();
        let heave = run.model().find("motion.heave_speed").unwrap();
        // a push down, so that damping, slamming and changing added mass take part
        assert!(run.place(heave, 0.6));
        let start = balance(&mut run);
        run.advance(seconds, &[]).unwrap();
        let moved = total(&mut run, "energy_sink", true).abs();
        let error = balance(&mut run) - start;
        // steps are held to 1e-9 of each state; some thousand steps add up
        assert!(error.abs() < 1e-7 * moved.max(100.0), "{pull}: {error} J of {moved} J");
        assert!(moved > 10.0);
    }
}

#[test]
fn a_push_down_dies_away() {
    let mut run = afloat("0 N", "");
    run.advance(0.01, &[]).unwrap();
    let heave = run.model().find("motion.heave_speed").unwrap();
    run.place(heave, 0.5);
    run.advance(6.0, &[]).unwrap();
    let (w, q) = (value(&mut run, "motion.heave_speed"), value(&mut run, "motion.pitch_rate"));
    // damping ratio 0.1 and more at some 6 rad/s: e^-3.6 of the start is left at most
    assert!(w.abs() < 0.015 && q.abs() < 0.05, "{w} m/s, {q} rad/s");
}

#[test]
fn a_volume_that_does_not_fit_is_named() {
    let text = "setup: 1\nparts:\n  board: { length: 1.8 m, beam: 0.7 m, thickness: 50 mm, volume: 125 L, mass: 8 kg }\n";
    let setup = Setup::from_text("test", text, Path::new(env!("CARGO_MANIFEST_DIR"))).unwrap();
    let message = setup.read_parts(&[PART]).err().unwrap().to_string();
    assert!(message.contains("volume") && message.contains("do not fit"), "{message}");
}

#[test]
fn a_stream_carries_the_board_as_still_water_does() {
    // pulled at 40 N from 1 m/s through the water while it bobs: the same seen from the stream
    let through_water = |current: f64| {
        let mut run = afloat(&format!("40 N, current: {current} m/s"), "");
        run.advance(0.01, &[]).unwrap();
        let start = [
            ("surge_speed", 1.0 + current),
            ("heave_speed", 0.5),
            ("cg_depth", -0.35),
            ("pitch", 0.03),
            ("pitch_rate", 0.0),
        ];
        for (state, value) in start {
            let state = run.model().find(&format!("motion.{state}")).unwrap();
            assert!(run.place(state, value));
        }
        run.advance(1.5, &[]).unwrap();
        value(&mut run, "motion.surge_speed") - current
    };
    let (still, stream) = (through_water(0.0), through_water(2.0));
    // the surge added mass changes by kilograms on the way; steps are held to 1e-9
    assert!((still - stream).abs() < 1e-6, "{still} m/s, {stream} m/s");
}
