//! Steady states of a craft: thrust at rest, resistance and thrust over speed, cruise.
//! Each is an analysis, a command of its own.

pub mod card;
pub mod cruise;
pub mod curve;
pub(crate) mod cut;
mod rig;
pub mod trim;
pub(crate) mod tub;
pub mod turning;

use engine::analysis::{Analysis, Given};
use engine::diagnostic::{Diagnostic, Diagnostics};

/// The analyses of this trade.
pub const ANALYSES: &[Analysis] =
    &[card::ANALYSIS, cruise::ANALYSIS, curve::ANALYSIS, cut::ANALYSIS, rig::ANALYSIS, tub::ANALYSIS];

/// Speeds asked for by `--from`, `--to` and `--points`, m/s, ascending.
fn speeds(given: &Given) -> Result<Vec<f64>, Diagnostics> {
    let (from, to, points) = (given.number("from"), given.number("to"), given.whole("points")?);
    if from >= to {
        let error = Diagnostic::error("--from is not below --to");
        return Err(error.found(format!("{from} m/s and {to} m/s")).into());
    }
    let last = points.saturating_sub(1).max(1) as f64;
    Ok((0..points).map(|i| from + (to - from) * (i as f64 / last)).collect())
}
