//! Steady states of a craft: thrust at rest, resistance and thrust over speed, cruise.
//! Each is an analysis, a command of its own.

pub mod cruise;
pub mod curve;
mod rig;
pub mod trim;
mod tub;

use engine::analysis::Analysis;

/// The analyses of this trade.
pub const ANALYSES: &[Analysis] = &[cruise::ANALYSIS, curve::ANALYSIS, rig::ANALYSIS, tub::ANALYSIS];
