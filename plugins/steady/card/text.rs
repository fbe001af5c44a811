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
    let charge = charge.map_or_else(String::new, |s| format!(", charge {:.0} %", (100.0 * s).round() + 0.0));
    out.push_str(&paragraph(
        "Date ________  Tub ________  Water ____ °C  Pack at rest ____ V, ____ % charge  Tare ____ kg  Read by ________",
    ));
    let steps: Vec<Step> = card.lines.iter().map(|line| line.step.clone()).collect();
    let shown = card.lines.iter().map(|line| {
        let mark = if line.step.forbidden { "! " } else { "" };
        Step { label: format!("{mark}{}", line.step.label), ..line.step.clone() }
    });
    let by = if card.by_current { "motor-current limit, throttle wide open" } else { "throttle" };
    out.push_str(&format!(
        "\nSteps by {by}\n{}",
        paragraph(&format!(
            "Expected: cold at every step{charge}, at rest; temperatures after {} s held.",
            figure(card.lasting)
        ))
    ));
    out.push_str(&blank(&shown.collect::<Vec<_>>(), card.convention));
    // what is said of several steps in a row is said once
    for alike in steps.chunk_by(|a, b| a.note == b.note).filter(|alike| !alike[0].note.is_empty()) {
        let labels: Vec<&str> = alike.iter().map(|step| step.label.as_str()).collect();
        out.push_str(&paragraph(&format!("At {}: {}.", labels.join(", "), alike[0].note)));
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
