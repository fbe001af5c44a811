//! What a cell says.

use super::line::{self, Cell};
use super::{Column, Layout};
use crate::diagnostic::Diagnostic;
use crate::units::{NUMBER, TIME, parse};

/// A cell as an SI value; the finest step written in the column is noted.
pub(super) fn value(cell: &Cell, column: &mut Column, layout: &Layout) -> Result<Option<f64>, Diagnostic> {
    let text = cell.text.as_str();
    let missing =
        text.is_empty() || text.eq_ignore_ascii_case("nan") || layout.missing.iter().any(|m| m == text);
    if missing {
        return Ok(None);
    }
    let wrong = |help: String| {
        let expected = match column.unit.name {
            "" => "a number such as 0.85".into(),
            unit => format!("a number such as 12.5, in {unit}"),
        };
        Diagnostic::error("not a reading").expected(expected).found(format!("{text:?}")).help(help)
    };
    let number = parse(text, NUMBER).map_err(|error| {
        // what is likeliest meant, by how it looks
        let near = layout.missing.is_empty() && text.chars().all(|c| !c.is_ascii_digit());
        let unit = column.unit.name;
        wrong(if near {
            "leave the cell blank if the reading is missing".into()
        } else if text.contains(':') {
            "a time is a number, such as seconds since the start; a clock's time of day is not understood"
                .into()
        } else if text.ends_with(unit) && !unit.is_empty() {
            format!("write the unit into the heading, as [{unit}], and the number alone into the cell")
        } else {
            error.help(NUMBER)
        })
    })?;
    let si = column.unit.si(number);
    if !si.is_finite() {
        return Err(wrong("it is too large".into()));
    }
    column.step = column.step.min(line::step(text) * column.unit.factor);
    Ok(Some(si))
}

/// What is wrong with a time, and the latest of each group.
pub(super) fn backward(
    latest: &mut Vec<(String, f64)>,
    group: &str,
    now: Option<f64>,
    text: &str,
) -> Option<Diagnostic> {
    let Some(now) = now else {
        let error = Diagnostic::error("a time is missing").expected("a time in every row");
        return text.is_empty().then_some(error);
    };
    match latest.iter_mut().find(|(name, _)| name == group) {
        None => latest.push((group.into(), now)),
        Some((_, before)) if now >= *before => *before = now,
        Some((_, before)) => {
            let seconds = |t: f64| format!("{t} {}", TIME.si);
            let error = Diagnostic::error("the time runs backward")
                .expected(format!("at least {}", seconds(*before)));
            return Some(
                error.found(seconds(now)).help("separate runs need a column with the names of groups"),
            );
        }
    }
    None
}
