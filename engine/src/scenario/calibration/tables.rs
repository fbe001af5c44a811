//! Words for tables of readings.

use std::cell::RefCell;
use std::rc::Rc;

use rhai::{Engine, EvalAltResult, Map};

use super::super::Shared;
use super::super::host::READING;
use super::super::told::raise;
use super::super::values::number;
use super::{Fallible, Sheet, Stated};
use crate::calibration::{Telling, Uncertainty};
use crate::diagnostic::{Diagnostic, Diagnostics, suggest};
use crate::readings::Layout;
use crate::setup::{files, named_here};
use crate::units::{self, Dimension};

pub(super) fn register(engine: &mut Engine, session: &Shared) {
    let s = session.clone();
    engine.register_fn("readings", move |name: &str| -> Fallible<Stated> {
        let (root, script) = {
            let session = s.borrow();
            (session.root.clone(), session.script.clone())
        };
        s.borrow_mut().charge(READING).map_err(raise)?;
        let path = files::resolve(&root, &script, name).map_err(raise)?;
        let text = crate::readings::text(&path, &root).map_err(|told| named(told, name))?;
        s.borrow_mut().note_input(&path, text.as_bytes());
        let file = path.display().to_string();
        let table = Sheet {
            file,
            text: text.into(),
            layout: Layout::default(),
            tellings: Vec::new(),
            leave_out: false,
            left_out: Vec::new(),
        };
        Ok(Rc::new(RefCell::new(table)))
    });
    engine.register_fn("column", |t: Stated, heading: &str, quantity: &str| {
        tell(&t, heading, quantity, Map::new())
    });
    engine.register_fn("column", |t: Stated, heading: &str, quantity: &str, how: Map| {
        tell(&t, heading, quantity, how)
    });
    engine.register_fn("time", |t: Stated, heading: &str| t.borrow_mut().layout.time = Some(heading.into()));
    engine
        .register_fn("group", |t: Stated, heading: &str| t.borrow_mut().layout.group = Some(heading.into()));
    engine.register_fn("missing", |t: Stated, word: &str| t.borrow_mut().layout.missing.push(word.into()));
    engine.register_fn("leave_out_odd", |t: Stated| t.borrow_mut().leave_out = true);
    engine.register_fn("leave_out", |t: Stated, line: i64, heading: &str, reason: &str| -> Fallible<()> {
        let line = usize::try_from(line).map_err(|_| format!("{line} is no line of a file"))?;
        t.borrow_mut().left_out.push((line, heading.into(), reason.into()));
        Ok(())
    });
    engine.register_fn("separator", |t: Stated, text: &str| -> Fallible<()> {
        let mut characters = text.chars();
        match (characters.next(), characters.next()) {
            (Some(one), None) => t.borrow_mut().layout.separator = one,
            _ => return Err(format!("cells are separated by one character, not by \"{text}\"").into()),
        }
        Ok(())
    });
}

/// A file's mistakes, told where the script names it.
fn named(told: Diagnostics, name: &str) -> Box<EvalAltResult> {
    match told.0.into_iter().next() {
        Some(first) if first.place.as_ref().is_none_or(|place| place.position.is_none()) => {
            raise(named_here(first, name))
        }
        Some(first) => raise(first),
        None => raise(Diagnostic::error(format!("\"{name}\" cannot be read"))),
    }
}

/// What may be told of a column.
const HOW: [&str; 6] = ["u", "within", "share", "unit", "counted", "times"];

fn tell(table: &Stated, heading: &str, quantity: &str, how: Map) -> Fallible<()> {
    if let Some(key) = how.keys().find(|key| !HOW.contains(&key.as_str())) {
        let error = Diagnostic::error(format!("a column has no `{key}`")).expected(HOW.join(", "));
        return Err(raise(error.near(suggest(key, HOW))));
    }
    let mut told_in: Option<Dimension> = None;
    let mut amount = |key: &str| -> Fallible<Option<f64>> {
        let Some(value) = how.get(key) else { return Ok(None) };
        let size = match value.clone().into_string() {
            Ok(text) => {
                let (number, unit, dimension) = units::parse_any(&text).map_err(|e| format!("{key}: {e}"))?;
                // which of them is that of the column shows when that is read
                if let Some(other) = told_in.filter(|other| *other != dimension) {
                    let error = Diagnostic::error("u and within are not of one kind");
                    let found = format!("{} and {}", other.name, dimension.name);
                    return Err(raise(error.expected("both in units of the column").found(found)));
                }
                told_in = Some(dimension);
                number * unit.factor
            }
            Err(_) => number(value, "1")?,
        };
        if size.is_finite() && size >= 0.0 {
            Ok(Some(size))
        } else {
            Err(format!("{key} is no uncertainty: {size}").into())
        }
    };
    // surely within ± a, anywhere equally likely: a/√3
    let (u, within) = (amount("u")?, amount("within")?.map(|a| a / 3f64.sqrt()));
    let share = how.get("share").map(|value| number(value, "1")).transpose()?;
    if let Some(wrong) = share.filter(|share| !(0.0..1.0).contains(share)) {
        let error = Diagnostic::error("share is no relative uncertainty").expected("0 to below 1");
        return Err(raise(error.found(units::number(wrong)).help("one per cent is 0.01 or \"1 %\"")));
    }
    let told = u.is_some() || within.is_some() || share.is_some();
    let uncertainty = told.then(|| Uncertainty {
        absolute: u.unwrap_or(0.0).hypot(within.unwrap_or(0.0)),
        share: share.unwrap_or(0.0),
    });
    let text = |key: &str| -> Fallible<Option<String>> {
        let value = how.get(key).map(|value| value.clone().into_string());
        value.transpose().map_err(|found| format!("{key} is a text, not {found}").into())
    };
    let times = how.get("times").map_or(Ok(1.0), |value| number(value, "1"))?;
    let telling = Telling {
        column: heading.into(),
        quantity: quantity.into(),
        unit: text("unit")?,
        counted: text("counted")?,
        times,
        uncertainty,
        told_in,
    };
    table.borrow_mut().tellings.push(telling);
    Ok(())
}
