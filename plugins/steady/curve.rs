//! Resistance and thrust over speed, in equilibrium trim.
//!
//! At each speed, held, the craft is in equilibrium ([`super::trim`]): no slow
//! run through time has to die away. The margin of thrust is what would
//! accelerate it. Both ways are gone, from the lowest speed up and from the
//! highest down, so that a second equilibrium (in flight below the take-off
//! speed, say) is not overlooked where one way leads to it.

pub mod findings;
pub mod over;
mod rows;
pub mod station;
pub mod stretches;
pub mod sweep;
mod text;
pub mod way;
mod words;

use engine::analysis::{Analysis, Answer, Choice, Given, Takes};
use engine::diagnostic::Diagnostics;
use engine::units::{FRACTION, NUMBER, SPEED};

use super::trim::Trim;
use findings::Findings;
use serde_json::{Map, Value};
use sweep::Curve;

/// Speeds that can be asked for, m/s: a craft at rest has no resistance, and no such board is faster.
const SPEEDS: (f64, f64) = (0.05, 30.0);

/// The command.
pub const ANALYSIS: Analysis = Analysis {
    name: "curve",
    about: "Resistance, thrust, trim and stability over speed: does it pass the hump, how fast is it",
    options: &[
        Choice { name: "from", about: "lowest speed", takes: Takes::Number(SPEED, "0.25 m/s", SPEEDS) },
        Choice { name: "to", about: "highest speed", takes: Takes::Number(SPEED, "9 m/s", SPEEDS) },
        Choice {
            name: "points",
            about: "number of speeds",
            takes: Takes::Number(NUMBER, "60", (2.0, 2000.0)),
        },
        Choice {
            name: "throttles",
            about: "throttles, each with a curve of its own",
            takes: Takes::Numbers(FRACTION, "100 %, 60 %", (0.0, 1.0)),
        },
    ],
    answer,
};

fn answer(given: &Given) -> Result<Answer, Diagnostics> {
    let speeds = super::speeds(given)?;
    let trim = Trim::of(&given.craft.model)?;
    let mut throttles = given.numbers("throttles").to_vec();
    throttles.sort_by(|a, b| b.total_cmp(a));
    throttles.dedup();
    let mut curves = Vec::new();
    for throttle in throttles {
        let curve = Curve::new(&trim, throttle, &speeds)?;
        let found = Findings::of(&curve);
        curves.push((curve, found));
    }
    let text = text::tell(given.craft.setup.title(), &curves);
    let documents: Vec<Value> =
        curves.iter().map(|(curve, found)| Value::Object(rows::document(curve, found))).collect();
    let curves: Vec<Curve> = curves.into_iter().map(|(curve, _)| curve).collect();
    let (headings, rows) = rows::table(&curves);
    let values = Map::from_iter([("throttles".to_string(), Value::Array(documents))]);
    Ok(Answer { text, values, headings, rows, closing: (crate::verdict::REPORT.closing)() })
}
