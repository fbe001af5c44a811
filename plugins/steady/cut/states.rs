//! One craft, one cut: what it does at rest and on the water.

use engine::analysis::Craft;
use engine::diagnostic::Diagnostics;
use engine::quantity::Kind;
use engine::run::{Options, Run};
use std::f64::consts::PI;

use crate::propeller::installation::{DIAMETER, EXPANDED_AREA, MEAN_PITCH, REQUIRED_AREA_RATIO};
use crate::steady::cruise::attempts::{self, Opening};
use crate::steady::curve::findings::Findings;
use crate::steady::curve::sweep::Curve;
use crate::steady::trim::Trim;
use crate::steady::tub::bench::Bench;

/// Speeds of the curve, m/s: first, last and step on the water, then last and step in flight. Hump and top speed are found
/// between them.
const ON_WATER: (f64, f64, f64) = (0.5, 5.0, 0.25);
const IN_FLIGHT: (f64, f64) = (12.0, 0.5);
/// What holds a drive that would give more with the throttle wide open.
pub(super) const THROTTLE: &str = "throttle";
/// The throttle opens within this time, s.
const RAMP: f64 = 1.0;

/// Dimensions of the propeller, SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Shape {
    /// D.
    pub diameter: f64,
    /// A_E of all blades.
    pub area: f64,
    /// Mean.
    pub pitch: f64,
}

/// What was found.
pub struct State {
    pub shape: Shape,
    pub held: &'static str,
    /// Blade area that Keller's criterion asks for at rest, over what there is.
    pub area_needed: f64,
    /// In the order of the measures.
    pub told: [Option<f64>; 7],
    pub moves: bool,
    pub notes: Vec<String>,
}

impl State {
    /// At rest and on the water, at a throttle of 0 to 1.
    ///
    /// # Errors
    /// Nothing can be read at rest.
    pub fn of(craft: &Craft, part: &str, throttle: f64) -> Result<State, Diagnostics> {
        let model = &craft.model;
        let mut run = Run::new(model.clone(), Options { settle: false, ..Options::default() });
        let mut constant = |kind: &Kind| {
            let probe = model.find(&format!("{part}.{}", kind.name));
            probe.map_or(f64::NAN, |p| run.value(p))
        };
        let shape = Shape {
            diameter: constant(&DIAMETER),
            area: constant(&EXPANDED_AREA),
            pitch: constant(&MEAN_PITCH),
        };
        let bench = Bench::new(craft)?;
        let r = bench.reading(throttle)?;
        let at_rest = [r.thrust, r.rpm(), r.motor_current, r.battery_current].map(Some);
        let mut water = OnWater::of(craft, throttle);
        water.why.extend(bench.notes.iter().cloned());
        let mut steady = bench.steady(throttle);
        let needed = model.find(&format!("{part}.{}", REQUIRED_AREA_RATIO.name));
        let needed = needed.map_or(f64::NAN, |p| steady.value(p));
        let area_needed = needed * PI * shape.diameter.powi(2) / (4.0 * shape.area);
        if area_needed > 1.0 {
            water.why.push(
                "Keller's criterion asks for more blade area at rest than some cut or draw leaves: it likely cavitates, \
                 and then thrust falls behind what is told; no thrust is taken away for it here"
                    .into(),
            );
        }
        let [thrust, revs, motor, battery] = at_rest;
        Ok(State {
            shape,
            held: if r.by_throttle() { THROTTLE } else { r.held.code() },
            area_needed,
            told: [thrust, revs, motor, battery, water.margin, water.take_off, water.top_speed],
            moves: water.moves,
            notes: water.why,
        })
    }
}

#[derive(Default)]
struct OnWater {
    moves: bool,
    margin: Option<f64>,
    take_off: Option<f64>,
    top_speed: Option<f64>,
    why: Vec<String>,
}

impl OnWater {
    fn of(craft: &Craft, throttle: f64) -> OnWater {
        // what lacks a motion stands in a tub
        let Ok(trim) = Trim::of(&craft.model) else { return OnWater::default() };
        let mut all = OnWater { moves: true, ..OnWater::default() };
        let speeds = speeds();
        match Curve::new(&trim, throttle, &speeds) {
            Ok(curve) => {
                let found = Findings::of(&curve);
                all.margin = found.over.margin();
                all.top_speed = found.top_speed;
                if found.faster {
                    let last = IN_FLIGHT.0;
                    all.why.push(format!("where thrust is left over at {last} m/s, no top speed is told"));
                }
                if found.over.unseen.is_some() {
                    all.why.push(
                        "with some cuts or draws no equilibrium leads over the hump at this throttle (the rider at the end \
                         of his reach, say): no margin is told there. `curve` shows where; at less `throttle` there may be \
                         one"
                        .into(),
                    );
                }
            }
            Err(error) => all.why.push(format!("no curve: {}", error.title())),
        }
        let attempt =
            attempts::in_a_row(&craft.model, &trim, 1, 0.0, Opening { to: throttle, within: RAMP }).pop();
        all.take_off = attempt.as_ref().and_then(|a| a.take_off);
        if let Some(why) = attempt.and_then(|a| a.broke_off) {
            all.why.push(format!("a run from rest broke off: {why}"));
        }
        all
    }
}

fn speeds() -> Vec<f64> {
    let (from, to, step) = ON_WATER;
    let (last, wide) = IN_FLIGHT;
    let grid = |from: f64, to: f64, step: f64| {
        let gaps = ((to - from) / step).round() as usize;
        (0..=gaps).map(move |i| from + step * i as f64)
    };
    grid(from, to, step).chain(grid(to + wide, last, wide)).collect()
}
