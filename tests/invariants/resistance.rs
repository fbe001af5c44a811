//! Resistance over speed, R(V), of the whole craft: no corner where one regime blends into the next.

use std::sync::Arc;

use engine::model::{Model, Probe};
use engine::profile::Profile;
use engine::root;
use engine::run::{Options, Run};
use rayon::prelude::*;

use crate::craft::{find, model};

/// A craft towed steadily: surge speed, trim and depth prescribed, nothing turning or heaving.
struct Towed {
    run: Run,
    speed: Probe,
    depth: Probe,
    lagging: Vec<(Probe, Probe)>,
    surge: (Probe, Option<Probe>),
    heave: (Probe, Option<Probe>),
}

impl Towed {
    /// `drive`: whether the propeller counts, at the throttle the model has.
    fn new(model: &Arc<Model>, trim: f64, drive: bool) -> Towed {
        let mut run = Run::new(model.clone(), Options::default());
        for (state, value) in
            [("motion.pitch", trim), ("motion.heave_speed", 0.0), ("motion.pitch_rate", 0.0)]
        {
            run.hold(find(model, state), Profile::constant(value));
        }
        // lift that has long caught up: wings in the order in which downwash goes
        let lagging = ["front_wing", "stabiliser"]
            .map(|wing| ["lagging_lift", "steady_lift"].map(|q| find(model, &format!("{wing}.{q}"))));
        let forces = |kind: &str| {
            let total = model.total(kind).expect("a total that motion reads");
            (total, (!drive).then(|| find(model, &format!("propeller.{kind}"))))
        };
        Towed {
            speed: find(model, "motion.surge_speed"),
            depth: find(model, "motion.cg_depth"),
            lagging: lagging.iter().map(|&[lag, steady]| (lag, steady)).collect(),
            surge: forces("surge_force"),
            heave: forces("heave_force"),
            run,
        }
    }

    fn at(&mut self, speed: f64, depth: f64) {
        self.run.place(self.speed, speed);
        self.run.place(self.depth, depth);
        for (lagging, steady) in self.lagging.clone() {
            let value = self.run.value(steady);
            self.run.place(lagging, value);
        }
    }

    /// Resistance at a speed, the CG at a depth.
    fn resistance(&mut self, speed: f64, depth: f64) -> f64 {
        self.at(speed, depth);
        -self.sum(self.surge)
    }

    /// Vertical force at a speed, the CG at a depth.
    fn sinking(&mut self, speed: f64, depth: f64) -> f64 {
        self.at(speed, depth);
        self.sum(self.heave)
    }

    fn sum(&mut self, (total, without): (Probe, Option<Probe>)) -> f64 {
        self.run.value(total) - without.map_or(0.0, |p| self.run.value(p))
    }
}

/// Speeds from walking pace to beyond any take-off, every blend edge among them: C_v 0.5, 1, 1.5,
/// F_n∇ 0.3, 1, 1.4, 2 of the board, F_c 1 and 3 of the mast, and the lift factor's table.
const LOW: f64 = 0.05;
const HIGH: f64 = 8.0;

/// A stretch of speed or depth.
#[derive(Clone, Copy)]
struct Stretch {
    low: f64,
    high: f64,
    step: f64,
}

const SPEEDS: Stretch = Stretch { low: LOW, high: HIGH, step: 8e-3 };

impl Stretch {
    fn values(
        self,
        towed: impl Fn() -> Towed + Sync + Send,
        f: impl Fn(&mut Towed, f64) -> Point + Sync,
    ) -> Vec<Point> {
        let n = ((self.high - self.low) / self.step) as u32;
        let at = |i: u32| self.low + f64::from(i) * self.step;
        (0..=n).into_par_iter().map_init(&towed, |t, i| f(t, at(i))).collect()
    }
}

/// A value with the regime it belongs to.
type Point = (f64, u8);

/// Largest change of slope between neighbouring steps of width `h`, where the drive stays in one regime.
fn slope_jump(points: &[Point], h: f64) -> f64 {
    let same = points.windows(3).filter(|p| p[0].1 == p[1].1 && p[1].1 == p[2].1 && p[1].1 != CHANGING);
    same.map(|p| ((p[2].0 - 2.0 * p[1].0 + p[0].0) / h).abs()).fold(0.0, f64::max)
}

/// Between steps h and h/8 the slope of a C1 function changes eight times less; a corner keeps its
/// jump. A quarter is far from both; round-off of some 1e-13 N makes 1e-9 of a slope of 10.
const NO_CORNER: f64 = 0.25;

fn assert_no_corner(
    name: &str,
    stretch: Stretch,
    towed: impl Fn() -> Towed + Sync + Send,
    f: impl Fn(&mut Towed, f64) -> Point + Sync,
) -> Vec<Point> {
    let fine = Stretch { step: stretch.step / 8.0, ..stretch };
    let points = fine.values(&towed, &f);
    let coarse = slope_jump(&stretch.values(&towed, &f), stretch.step);
    let jump = slope_jump(&points, fine.step);
    println!("{name}: slope changes by {coarse:.2e} at h, {jump:.2e} at h/8");
    assert!(jump <= NO_CORNER * coarse, "{name}: {coarse} at h, {jump} at h/8");
    points
}

/// Trims and draughts of the bottom at the tail, from flying clear to deck awash.
const TRIMS: [f64; 4] = [0.0, 0.035, 0.07, 0.12];
const DRAUGHTS: [f64; 5] = [-0.4, -0.1, 0.0, 0.08, 0.15];

#[test]
fn no_corner_at_a_given_trim_and_draught() {
    let model = model("board.yaml", &[]);
    let bottom = model_bottom(&model);
    for trim in TRIMS {
        for draught in DRAUGHTS {
            let towed = || Towed::new(&model, trim, false);
            let f = |t: &mut Towed, v: f64| (t.resistance(v, draught + bottom), 0);
            assert_no_corner(&format!("{trim} rad, {draught} m"), SPEEDS, towed, f);
        }
    }
}

/// The craft finds its own height at each speed, from afloat over the hump until it flies.
///
/// Where the board leaves the water the height it finds runs up steeply, for the wing's lift falls
/// with height hundreds of times more gently than the board's: there each height finds its speed.
#[test]
fn no_corner_where_it_finds_its_own_height() {
    for (name, changes) in [
        ("as it stands", &[][..]),
        ("heavy", &[("rider.mass", "95 kg")]),
        ("small wing", &[("front_wing.area", "1000 cm²")]),
    ] {
        let model = model("board.yaml", changes);
        let bottom = model_bottom(&model);
        for trim in [0.035, 0.07] {
            let towed = || Towed::new(&model, trim, false);
            let speed_at = |t: &mut Towed, draught: f64| {
                let speed = root::bracketed(|v| t.sinking(v, draught + bottom), 0.5, 30.0);
                speed.expect("a speed at which it is carried")
            };
            let leaving = speed_at(&mut towed(), 0.02);
            let by_speed = |t: &mut Towed, v: f64| {
                let depth = root::bracketed(|d| t.sinking(v, d), bottom - 0.1, bottom + 0.4);
                (t.resistance(v, depth.expect("a depth at which it is carried")), 0)
            };
            let high = 0.95 * leaving;
            let afloat = Stretch { low: LOW, high, step: 1.2e-2 };
            let r =
                assert_no_corner(&format!("{name}, {trim} rad, to {high:.2} m/s"), afloat, towed, by_speed);
            assert!(r.iter().all(|(r, _)| *r > 0.0), "{name}: water that pushes");

            // the wings lie 0.7 m down: up to where they come to the surface
            let flying = Stretch { low: -0.62, high: 0.04, step: 1.2e-3 };
            let speed = |t: &mut Towed, draught: f64| (speed_at(t, draught), 0);
            let v = assert_no_corner(&format!("{name}, {trim} rad, speed of a height"), flying, towed, speed);
            // the higher, the faster: one height at each speed
            assert!(v.windows(2).all(|v| v[1].0 < v[0].0), "{name}, {trim} rad: two heights at one speed");
            let by_height = |t: &mut Towed, draught: f64| {
                let v = speed_at(t, draught);
                (t.resistance(v, draught + bottom), 0)
            };
            assert_no_corner(&format!("{name}, {trim} rad, by height"), flying, towed, by_height);
        }
    }
}

/// Where the drive passes from one regime to the next, its own limits make true corners.
const CHANGING: u8 = u8::MAX;

/// The regime a drive is in: which limit binds, or how its shaft turns without current.
fn regime(t: &mut Towed, limits: &[Probe], shaft: Probe, current: Probe) -> u8 {
    if t.run.value(current) == 0.0 {
        // Dry friction that lets go of a windmilling shaft: within a few rad/s of standstill the
        // speed follows the friction's own rounding, 5 rad/s wide, and beyond it leaps up.
        return if (3.0..60.0).contains(&t.run.value(shaft)) { CHANGING } else { 100 };
    }
    let margins = limits.iter().map(|&p| t.run.value(p)).enumerate();
    margins.max_by(|a, b| a.1.total_cmp(&b.1)).map_or(CHANGING, |(i, _)| i as u8)
}

/// With the propeller turning, net resistance has corners where a limit of the drive takes over from
/// another, where the current ends, and where the shaft breaks loose: those are real, and left out.
#[test]
fn no_corner_with_the_drive_but_at_its_limits() {
    for throttle in ["0 %", "30 %", "60 %", "100 %"] {
        let model = model("board.yaml", &[("controller.throttle", throttle)]);
        let bottom = model_bottom(&model);
        let limits: Vec<Probe> = ["duty", "throttle", "motor current", "battery current"]
            .map(|limit| find(&model, &format!("controller.limit_margin.{limit}")))
            .into();
        let (shaft, current) = (find(&model, "shaft.shaft_speed"), find(&model, "shaft.motor_current"));
        let towed = || Towed::new(&model, 0.07, true);
        let f = |t: &mut Towed, v: f64| (t.resistance(v, 0.03 + bottom), regime(t, &limits, shaft, current));
        let points = assert_no_corner(&format!("throttle {throttle}"), SPEEDS, towed, f);
        let changes = points.windows(2).filter(|p| p[0].1 != p[1].1).count();
        assert!(changes <= 4, "{throttle}: {changes} changes of regime are too many to be limits");
        let left_out = points.iter().filter(|p| p.1 == CHANGING).count();
        assert!(left_out < points.len() / 5, "{throttle}: {left_out} points left out");
    }
}

/// Depth of the CG over that of the tail's bottom where the trim is small, m.
fn model_bottom(model: &Arc<Model>) -> f64 {
    Run::new(model.clone(), Options::default()).value(find(model, "motion.cg_below"))
}
