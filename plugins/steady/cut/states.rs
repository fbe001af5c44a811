//! One craft, one cut: what it does at rest and on the water.

use engine::analysis::Craft;
use engine::diagnostic::Diagnostics;
use engine::quantity::Kind;
use engine::run::{Options, Run};

use crate::propeller::installation::{DIAMETER, EXPANDED_AREA, MEAN_PITCH};
use crate::steady::cruise::attempts;
use crate::steady::curve::findings::Findings;
use crate::steady::curve::sweep::Curve;
use crate::steady::trim::Trim;
use crate::steady::tub::bench::Bench;

/// Speeds of the curve, m/s: hump and top speed are found between them.
const SPEEDS: (f64, f64, usize) = (0.25, 12.0, 36);
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
    /// In the order of the measures.
    pub told: [Option<f64>; 7],
    pub moves: bool,
    pub notes: Vec<String>,
}

impl State {
    /// # Errors
    /// Nothing can be read at rest.
    pub fn of(craft: &Craft, part: &str) -> Result<State, Diagnostics> {
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
        let r = bench.reading(1.0)?;
        let at_rest = [r.thrust, r.rpm(), r.motor_current, r.battery_current].map(Some);
        let mut water = OnWater::of(craft);
        let advice = model.advice().into_iter().filter(|(of, _)| *of == part);
        water.why.extend(advice.map(|(of, text)| format!("{of}: {text}")));
        let [thrust, revs, motor, battery] = at_rest;
        Ok(State {
            shape,
            held: r.held.code(),
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
    fn of(craft: &Craft) -> OnWater {
        // what lacks a motion stands in a tub
        let Ok(trim) = Trim::of(&craft.model) else { return OnWater::default() };
        let mut all = OnWater { moves: true, ..OnWater::default() };
        let (from, to, points) = SPEEDS;
        let speeds: Vec<f64> =
            (0..points).map(|i| from + (to - from) * i as f64 / (points - 1) as f64).collect();
        match Curve::new(&trim, 1.0, &speeds) {
            Ok(curve) => {
                let found = Findings::of(&curve);
                all.margin = found.to_hump.map(|mark| mark.margin());
                all.top_speed = found.top_speed;
                if found.faster {
                    all.why.push(format!("no top speed is told where thrust is left over at {to} m/s"));
                }
            }
            Err(error) => all.why.push(format!("no curve: {}", error.title())),
        }
        let attempt = attempts::in_a_row(&craft.model, &trim, 1, 0.0, RAMP).pop();
        all.take_off = attempt.as_ref().and_then(|a| a.take_off);
        if let Some(why) = attempt.and_then(|a| a.broke_off) {
            all.why.push(format!("a run from rest broke off: {why}"));
        }
        all
    }
}
