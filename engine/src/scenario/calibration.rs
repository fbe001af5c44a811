//! Readings and fits in a script's hands.

mod answers;
mod plans;
mod tables;

use std::cell::RefCell;
use std::rc::Rc;

use rhai::{Engine, EvalAltResult};

use super::Shared;
use crate::calibration::{Set, Sought, Telling};
use crate::readings::Layout;
use crate::setup::Setup;

type Fallible<T> = Result<T, Box<EvalAltResult>>;

/// A table of readings as a script states it.
#[derive(Clone)]
struct Sheet {
    file: String,
    text: Rc<str>,
    layout: Layout,
    tellings: Vec<Telling>,
    leave_out: bool,
    /// Line, heading, reason.
    left_out: Vec<(usize, String, String)>,
}

type Stated = Rc<RefCell<Sheet>>;

/// A fit as a script states it.
struct FitPlan {
    title: String,
    base: Setup,
    sets: Vec<Set>,
    sought: Vec<Sought>,
}

#[derive(Clone)]
struct Fit {
    plan: Rc<RefCell<FitPlan>>,
    session: Shared,
}

/// What was found, in a script's hands: its place among the session's fits.
#[derive(Clone)]
struct Found {
    place: usize,
    session: Shared,
}

/// Registers the words for readings, fits and what is asked of them.
pub(super) fn register(engine: &mut Engine, session: &Shared) {
    engine
        .register_type_with_name::<Stated>("readings")
        .register_type_with_name::<Fit>("fit")
        .register_type_with_name::<Found>("fitted");
    tables::register(engine, session);
    plans::register(engine, session);
    answers::register(engine, session);
}

/// The forms in which these words are used.
pub(super) const FORMS: &[&str] = &[
    "readings(file)",
    "column(readings, heading, quantity)",
    "column(readings, heading, quantity, map of how it was read)",
    "time(readings, heading)",
    "group(readings, heading)",
    "missing(readings, word)",
    "separator(readings, text)",
    "leave_out_odd(readings)",
    "leave_out(readings, line, heading, reason)",
    "fit(title, setup)",
    "steady(fit, name, readings)",
    "steady(fit, name, readings, map of changes)",
    "in_time(fit, name, readings, trial)",
    "find(fit, parameter, values)",
    "find(fit, parameter, values, name of readings)",
    "run(fit)",
    "value(fitted, parameter)",
    "error(fitted, parameter)",
    "chance(fitted)",
    "apply(fitted, setup)",
    "apply(fitted, setup, name of readings)",
];
