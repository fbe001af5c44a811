//! The page.

use engine::text_table::{figure, paragraph};

use super::super::{rig, tub};
use super::Card;
use crate::workbench::page::{Step, blank};

/// Said at the end: the same cautions as for rig and tub.
pub fn closing(rigged: bool) -> String {
    if rigged { rig::text::closing() } else { tub::text::closing() }
}

/// One page: head, steps with blanks, when to stop.
pub fn tell(card: &Card) -> String {
    let mut out = match card.title.as_str() {
        "" => "Bench card\n".to_string(),
        title => format!("Bench card | {title}\n"),
    };
    let charge = card.lines.first().and_then(|l| l.step.expected.state_of_charge);
    let charge = charge.map_or_else(String::new, |s| format!(", charge {:.0} %", 100.0 * s));
    out.push_str(&paragraph(
        "Date ________  Tub ________  Water ____ °C  Pack at rest ____ V, ____ % charge  Tare ____ kg  Read by ________",
    ));
    let steps: Vec<Step> = card.lines.iter().map(|line| line.step.clone()).collect();
    let by = if card.by_current { "motor-current limit, throttle wide open" } else { "throttle" };
    out.push_str(&format!(
        "\nSteps by {by}. Expected: cold at every step{charge}, at rest; temperatures after {} s held.\n",
        figure(card.lasting)
    ));
    out.push_str(&blank(&steps, card.convention));
    for step in steps.iter().filter(|step| !step.note.is_empty()) {
        out.push_str(&paragraph(&format!("At {}: {}.", step.label, step.note)));
    }
    out.push_str("\nStop if\n");
    for stop in &card.stops {
        out.push_str(&paragraph(&format!("[ ] {}.", stop.words)));
    }
    for note in &card.notes {
        out.push_str(&paragraph(&format!("Note: {note}")));
    }
    out
}
