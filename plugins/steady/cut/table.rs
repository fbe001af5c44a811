//! Stages for a spreadsheet.

use serde_json::{Value, json};

use super::Found;
use super::outlook::{Measure, Stage};

/// Measures that are told: those at rest, and the others where the craft moves.
pub fn measures(found: &Found) -> &'static [Measure] {
    if found.nominal.moves { &Measure::ALL } else { &Measure::ALL[..Measure::AT_REST] }
}

/// Stages as they stand and with their doubt, way after way.
pub fn stages(found: &Found) -> impl Iterator<Item = (&Stage, &Stage)> {
    found.nominal.stages.iter().zip(&found.spread.stages)
}

/// Headings with units.
pub fn headings(found: &Found) -> Vec<String> {
    let fixed = [
        "cut",
        "removed [m]",
        "blade_area [m²]",
        "diameter [m]",
        "mean_pitch [m]",
        "keller_area_needed_over_area [1]",
        "held_by",
    ]
    .map(String::from);
    let own = measures(found).iter().flat_map(|m| {
        let (name, unit) = m.name();
        [format!("{name} [{unit}]"), format!("{name}_standard_uncertainty [{unit}]")]
    });
    fixed.into_iter().chain(own).collect()
}

/// A row for each stage; null where nothing was found.
pub fn rows(found: &Found) -> Vec<Vec<Value>> {
    let row = |(stage, drawn): (&Stage, &Stage)| {
        let s = stage.shape;
        let fixed = vec![
            json!(stage.way),
            json!(stage.removed),
            json!(s.area),
            json!(s.diameter),
            json!(s.pitch),
            json!(stage.area_needed),
            json!(stage.held),
        ];
        let own = measures(found).iter().flat_map(|&m| [json!(stage.mean(m)), json!(drawn.sd(m))]);
        fixed.into_iter().chain(own).collect()
    };
    stages(found).map(row).collect()
}
