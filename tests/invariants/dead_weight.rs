//! Dead weight never helps a craft whose trim is prescribed; a rider short of reach it may save.
//!
//! Dead weight sits at the centre of gravity, so that it turns nothing. With the trim prescribed
//! (pitch and pitch rate held by the run, whatever moment that takes: a rider of unlimited reach)
//! it only adds to what must be carried and accelerated, and no random craft takes off sooner.
//!
//! With a limited reach there are exceptions, and they are physics. The thrust pulls far below the
//! centre of gravity: its bow-up moment is some 300 N·m, of which a rider of 77 kg who can move his
//! weight by 0.15 m takes 115 N·m. The rest leans on the board's bottom. A light craft comes off the
//! water early, loses that support, rears up and falls back, to try again or to turn over. The same craft
//! with dead weight is held on its bottom until it is fast enough for the wings to hold its nose, and flies.

use std::sync::Arc;

use engine::model::Model;
use engine::profile::Profile;
use engine::run::{Options, Run, RunError, Sampler};
use engine::setup::Setup;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use rayon::prelude::*;

use crate::craft::{self, at_end, find, take_off_time};

/// A take-off time this much shorter, of itself, is shorter: the error at the tolerance of these
/// runs is a thirtieth of it (see `accuracy`).
const SOONER: f64 = 1e-4;

const CRAFTS: u64 = 1000;

/// A craft drawn at random, with what is done to it.
struct Trial {
    setup: Setup,
    trim: f64,
    throttle: f64,
    opening: f64,
    extra: f64,
    told: String,
}

/// Whose task the trim is.
#[derive(Clone, Copy, PartialEq)]
enum Trim {
    Prescribed,
    ByRider,
}

/// A run with the time of its take-off.
struct Attempt {
    time: Option<f64>,
    run: Run,
}

impl Attempt {
    fn turned_over(&mut self) -> bool {
        at_end(&mut self.run, "motion.turned_over") > 0.5
    }

    /// Whether the rider once lost the trim, under way and before any take-off: at the end of his
    /// reach (95 % of it) and 6° off. Both figures are as in the verdict.
    fn lost_the_trim(&self) -> bool {
        let model = self.run.model();
        let [reach, pitch, wanted, speed] =
            ["rider.reach_used", "motion.pitch", "rider.trim_command", "motion.surge_speed"]
                .map(|name| find(model, name));
        let mut lost = false;
        Sampler::new(model, self.run.trajectory()).walk(0.02, |t, s| {
            let off = (s.value(pitch) - s.value(wanted)).abs();
            let before = self.time.is_none_or(|time| t < time);
            lost |= before && s.value(speed) > 0.5 && s.value(reach) > 0.95 && off > 6f64.to_radians();
        });
        lost
    }
}

fn base() -> Setup {
    // a run may end as soon as the craft has flown for a second
    craft::setup("board.yaml", &[("take_off.flight", "0 s"), ("ledger", "~")])
}

impl Trial {
    fn random(seed: u64, base: &Setup) -> Trial {
        let mut rng = Pcg64::seed_from_u64(seed);
        let mut draw = |low: f64, high: f64| rng.random_range(low..high);
        let (length, beam, thickness) = (draw(1.4, 2.0), draw(0.6, 0.75), draw(0.13, 0.18));
        let (span, aspect_ratio, trim) = (draw(0.8, 1.15), draw(5.0, 9.0), draw(0.03, 0.12));
        let values = [
            ("board.length", length),
            ("board.beam", beam),
            ("board.thickness", thickness),
            ("board.volume", 0.8 * length * beam * thickness),
            ("front_wing.span", span),
            ("front_wing.area", span * span / aspect_ratio),
            ("front_wing.incidence", draw(0.0, 0.06)),
            ("rider.mass", draw(50.0, 110.0)),
            ("rider.trim", trim),
            ("rider.reach", draw(0.15, 0.45)),
            ("rider.forward", draw(0.68, 1.05)),
            ("controller.motor_current", draw(40.0, 100.0)),
            ("controller.battery_current", draw(30.0, 90.0)),
            ("propeller.pitch_ratio", draw(0.55, 1.0)),
            ("propeller.diameter", draw(0.14, 0.19)),
            ("water.current", draw(-0.5, 0.5)),
            ("air.head_wind", draw(-3.0, 6.0)),
        ];
        let (throttle, opening, extra) = (draw(0.35, 1.0), draw(0.5, 5.0), draw(0.5, 15.0));
        let told = format!("craft {seed}: {values:?}, throttle {throttle} in {opening} s, {extra} kg more");
        let mut setup = base.clone();
        for (path, value) in values {
            setup.change(path, value, "test").expect("a change that can be made");
        }
        Trial { setup, trim, throttle, opening, extra, told }
    }

    /// The craft with dead weight at its centre of gravity.
    fn model(&self, extra: f64) -> Arc<Model> {
        let bare = Arc::new(Model::build(craft::instances(&self.setup)).expect("a model"));
        let mut run = Run::new(bare.clone(), Options::default());
        let [forward, below] =
            ["motion.cg_forward", "motion.cg_below"].map(|name| run.value(find(&bare, name)));
        let mut setup = self.setup.clone();
        let ballast = format!("{{mass: {extra} kg, forward: {forward} m, below: {below} m}}");
        setup.change("ballast", ballast, "test").expect("a part that can be added");
        Arc::new(Model::build(craft::instances(&setup)).expect("a model"))
    }

    /// Its take-off with dead weight; `None` if it does not float to begin with.
    fn attempt(&self, extra: f64, trim: Trim) -> Option<Attempt> {
        let model = self.model(extra);
        let deeds = [("controller.throttle", 0.5, self.opening, self.throttle)];
        let mut run = craft::planned(&model, 1e-6, &deeds);
        if trim == Trim::Prescribed {
            run.hold(find(&model, "motion.pitch"), Profile::constant(self.trim));
            run.hold(find(&model, "motion.pitch_rate"), Profile::constant(0.0));
        }
        match craft::finish(&mut run, 40.0) {
            Ok(()) => Some(Attempt { time: take_off_time(&mut run), run }),
            Err(RunError::NoEquilibrium { .. }) => None,
            Err(other) => panic!("{}: {other}", self.told),
        }
    }

    /// Both take-offs, without and with the dead weight.
    fn pair(&self, trim: Trim) -> Option<[Attempt; 2]> {
        Some([self.attempt(0.0, trim)?, self.attempt(self.extra, trim)?])
    }
}

/// Whether the second take-off is sooner than the first, or happens only there.
fn helped([without, with]: &[Attempt; 2]) -> bool {
    match (without.time, with.time) {
        (Some(without), Some(with)) => with < without * (1.0 - SOONER),
        (without, with) => without.is_none() && with.is_some(),
    }
}

fn trials() -> impl ParallelIterator<Item = Trial> {
    let base = base();
    (0..CRAFTS).into_par_iter().map(move |seed| Trial::random(seed, &base))
}

#[test]
fn at_a_prescribed_trim_dead_weight_never_makes_take_off_sooner() {
    let pairs: Vec<(Trial, [Attempt; 2])> =
        trials().filter_map(|trial| trial.pair(Trim::Prescribed).map(|pair| (trial, pair))).collect();
    let both = pairs.iter().filter(|(_, [a, b])| a.time.is_some() && b.time.is_some()).count();
    let only_without = pairs.iter().filter(|(_, [a, b])| a.time.is_some() && b.time.is_none()).count();
    println!("{} of {CRAFTS} float; {both} fly with and without, {only_without} only without", pairs.len());
    let told: Vec<&str> =
        pairs.iter().filter(|(_, pair)| helped(pair)).map(|(trial, _)| trial.told.as_str()).collect();
    assert!(told.is_empty(), "dead weight helped:\n{}", told.join("\n"));
    // most comparisons must be between two flights
    assert!(both > CRAFTS as usize / 2, "only {both} flights to compare");
}

#[test]
fn dead_weight_helps_only_where_reach_runs_out() {
    let helped: Vec<(Trial, [Attempt; 2])> = trials()
        .filter_map(|trial| trial.pair(Trim::ByRider).map(|pair| (trial, pair)))
        .filter(|(_, pair)| helped(pair))
        .collect();
    for (trial, [without, with]) in &helped {
        println!("{}\n  {:?} without, {:?} with the weight", trial.told, without.time, with.time);
        assert!(without.lost_the_trim(), "{}", trial.told);
        // with all the reach in the world the light one is first
        let [light, heavy] = trial.pair(Trim::Prescribed).expect("it floats");
        assert!(light.time.is_some_and(|t| heavy.time.is_none_or(|heavy| t < heavy)), "{}", trial.told);
    }
    // few and far between, but there
    println!("{} of {CRAFTS} helped", helped.len());
    assert!((1..=20).contains(&helped.len()), "{} of {CRAFTS}", helped.len());
}

/// One of those crafts, to look at: see the page's head for what happens to it.
#[test]
fn a_craft_that_dead_weight_saves() {
    let mut setup = base();
    for (path, value) in [
        ("board.length", 1.85),
        ("board.beam", 0.625),
        ("board.thickness", 0.1615),
        ("board.volume", 0.1496),
        ("front_wing.span", 0.8434),
        ("front_wing.area", 0.0925),
        ("front_wing.incidence", 0.038),
        ("rider.mass", 77.5),
        ("rider.trim", 0.055),
        ("rider.reach", 0.153),
        ("rider.forward", 0.8734),
        ("controller.motor_current", 88.4),
        ("controller.battery_current", 47.8),
        ("propeller.pitch_ratio", 0.963),
        ("propeller.diameter", 0.1756),
    ] {
        setup.change(path, value, "test").expect("a change that can be made");
    }
    let told = "the craft shown".into();
    let trial = Trial { setup, trim: 0.055, throttle: 0.815, opening: 4.8, extra: 11.8, told };
    let [light, mut heavy] = trial.pair(Trim::ByRider).expect("it floats");
    assert!(light.lost_the_trim(), "{:?}", light.time);
    println!("{:?} without, {:?} with the weight", light.time, heavy.time);
    // seconds apart; when the light one's next tries succeed is a matter of chance
    let heavy_time = heavy.time.expect("the heavy one flies");
    assert!(light.time.is_none_or(|light| light > heavy_time + 2.0), "{:?}", light.time);
    assert!(!heavy.turned_over());
    let [light, heavy] = trial.pair(Trim::Prescribed).expect("it floats");
    assert!(light.time < heavy.time && light.time.is_some());
}
