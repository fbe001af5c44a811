//! A study in a script's hands: what is varied, what is tried at each point.

use std::cell::RefCell;
use std::rc::Rc;

use rhai::{Array, Dynamic, Engine, EvalAltResult, FnPtr, NativeCallContext};

use super::Shared;
use super::craft::Handle;
use super::spread::Spread;
use super::stage;
use super::told::here;
use super::trial::Plan;
use crate::diagnostic::Place;
use crate::sampling::Scheme;
use crate::setup::Change;
use crate::study::{Axis, Merit, Points};

type Fallible<T> = Result<T, Box<EvalAltResult>>;

/// How a value that is varied changes the craft.
#[derive(Clone)]
pub(super) enum How {
    /// The axis is named as the parameter it sets.
    Parameter,
    /// Each alternative changes what it says.
    Choices(Vec<Vec<(String, Change)>>),
    /// A function of the script says what changes.
    Function(FnPtr),
}

/// Something a study varies.
#[derive(Clone)]
pub(super) struct Varied {
    pub axis: Axis,
    pub how: How,
    pub at: Place,
}

/// What is tried at each point.
#[derive(Clone)]
pub(super) enum What {
    /// A trial planned beforehand, with the craft as it is at the point.
    Planned(Plan),
    /// A trial that a function plans for the craft and the point.
    Made(Handle, FnPtr),
}

#[derive(Clone)]
pub(super) struct Entry {
    pub name: String,
    pub what: What,
    /// Columns the script asks for; all if it does not.
    pub columns: Option<Vec<String>>,
}

/// A condition that points must meet.
#[derive(Clone)]
pub(super) struct Need {
    pub label: String,
    pub met: FnPtr,
    pub at: Place,
}

/// A study as the script states it.
#[derive(Clone)]
pub(super) struct StudyPlan {
    pub title: String,
    pub trials: Vec<Entry>,
    pub axes: Vec<Varied>,
    pub uncertain: Vec<Varied>,
    pub needs: Vec<Need>,
    pub points: Points,
    pub draws: Option<Scheme>,
    pub merits: Vec<Merit>,
    pub front: Vec<String>,
    pub response: Option<String>,
}

impl StudyPlan {
    /// All that is varied, in the order of coordinates.
    pub fn varied(&self) -> impl Iterator<Item = &Varied> {
        self.axes.iter().chain(&self.uncertain)
    }
}

/// A script's handle on a study.
#[derive(Clone)]
pub(super) struct Study {
    pub plan: Rc<RefCell<StudyPlan>>,
    session: Shared,
}

impl Study {
    fn new(title: &str, session: Shared) -> Study {
        let plan = StudyPlan {
            title: title.into(),
            trials: Vec::new(),
            axes: Vec::new(),
            uncertain: Vec::new(),
            needs: Vec::new(),
            points: Points::Grid,
            draws: None,
            merits: Vec::new(),
            front: Vec::new(),
            response: None,
        };
        Study { plan: Rc::new(RefCell::new(plan)), session }
    }

    fn tries(&self, name: &str, what: What) -> Fallible<()> {
        let plan = &mut *self.plan.borrow_mut();
        let plain = !name.is_empty() && name.chars().all(|c| c.is_alphanumeric() || c == '_' || c == ' ');
        if !plain {
            return Err(format!("a trial of a study is called by a word or two, not \"{name}\"").into());
        }
        if plan.trials.iter().any(|entry| entry.name == name) {
            return Err(format!("this study has a trial called \"{name}\" already").into());
        }
        plan.trials.push(Entry { name: name.into(), what, columns: None });
        Ok(())
    }

    fn reports(&self, name: &str, columns: Array) -> Fallible<()> {
        let plan = &mut *self.plan.borrow_mut();
        let columns: Fallible<Vec<String>> = columns.into_iter().map(text).collect();
        let entry = plan.trials.iter_mut().find(|entry| entry.name == name);
        entry.ok_or_else(|| format!("this study has no trial called \"{name}\""))?.columns = Some(columns?);
        Ok(())
    }

    fn vary(
        &self,
        context: &NativeCallContext,
        name: &str,
        spread: Spread,
        by: Option<FnPtr>,
        uncertain: bool,
    ) -> Fallible<()> {
        let plan = &mut *self.plan.borrow_mut();
        if name.trim().is_empty() || name.len() > 200 {
            return Err("what is varied needs a name".into());
        }
        if plan.varied().any(|v| v.axis.name == name) {
            return Err(format!("this study varies {name} already").into());
        }
        let how = match by {
            Some(function) => How::Function(function),
            None if !spread.changes.is_empty() => How::Choices(spread.changes),
            None => How::Parameter,
        };
        let axis = Axis { name: name.into(), unit: spread.unit, values: spread.values };
        let varied = Varied { axis, how, at: here(context, &self.session.borrow()) };
        if uncertain {
            plan.uncertain.push(varied)
        } else {
            plan.axes.push(varied)
        }
        Ok(())
    }

    fn ranks(&self, name: &str, column: &str, highest: bool) {
        let order = Merit { name: name.into(), column: column.into(), highest, beforehand: false };
        self.plan.borrow_mut().merits.push(order);
    }
}

fn text(value: Dynamic) -> Fallible<String> {
    value.into_string().map_err(|found| format!("expected the name of a column, found {found}").into())
}

/// Registers the words a study is written in.
pub(super) fn register(engine: &mut Engine, session: &Shared) {
    engine.register_type_with_name::<Study>("study");
    let s = session.clone();
    engine.register_fn("study", move |title: &str| Study::new(title, s.clone()));
    engine.register_fn("trial", |study: &mut Study, name: &str, plan: Plan| {
        study.tries(name, What::Planned(plan))
    });
    engine.register_fn("trial", |study: &mut Study, name: &str, craft: Handle, make: FnPtr| {
        study.tries(name, What::Made(craft, make))
    });
    engine
        .register_fn("report", |study: &mut Study, name: &str, columns: Array| study.reports(name, columns));
    type Call<'a> = NativeCallContext<'a>;
    engine.register_fn("axis", |c: Call, study: &mut Study, name: &str, spread: Spread| {
        study.vary(&c, name, spread, None, false)
    });
    engine.register_fn("axis", |c: Call, study: &mut Study, name: &str, spread: Spread, by: FnPtr| {
        study.vary(&c, name, spread, Some(by), false)
    });
    engine.register_fn("uncertain", |c: Call, study: &mut Study, name: &str, spread: Spread| {
        study.vary(&c, name, spread, None, true)
    });
    engine.register_fn("uncertain", |c: Call, study: &mut Study, name: &str, spread: Spread, by: FnPtr| {
        study.vary(&c, name, spread, Some(by), true)
    });
    engine.register_fn("needs", |c: Call, study: &mut Study, label: &str, met: FnPtr| {
        let at = here(&c, &study.session.borrow());
        study.plan.borrow_mut().needs.push(Need { label: label.into(), met, at });
    });
    engine.register_fn("points", |study: &mut Study, points: Points| study.plan.borrow_mut().points = points);
    engine.register_fn("draws", |study: &mut Study, points: Points| -> Fallible<()> {
        match points {
            Points::Grid => Err("draws are random, latin_hypercube, sobol or indices, not a grid".into()),
            Points::Drawn(scheme) => {
                study.plan.borrow_mut().draws = Some(scheme);
                Ok(())
            }
        }
    });
    engine.register_fn("rank_highest", |study: &mut Study, name: &str, column: &str| {
        study.ranks(name, column, true)
    });
    engine.register_fn("rank_lowest", |study: &mut Study, name: &str, column: &str| {
        study.ranks(name, column, false)
    });
    engine.register_fn("trade_off", |study: &mut Study, columns: Array| -> Fallible<()> {
        let columns: Fallible<Vec<String>> = columns.into_iter().map(text).collect();
        study.plan.borrow_mut().front = columns?;
        Ok(())
    });
    engine.register_fn("explain", |study: &mut Study, column: &str| {
        study.plan.borrow_mut().response = Some(column.into());
    });
    engine.register_fn("run", |c: Call, study: Study| stage::reached(&study, &study.session, &c));
}

/// The forms in which these words are used.
pub(super) const FORMS: &[&str] = &[
    "study(title)",
    "trial(study, name, trial)",
    "trial(study, name, setup, function of craft and point)",
    "report(study, name of a trial, list of columns)",
    "axis(study, parameter, values)",
    "axis(study, name, values, function of the value)",
    "uncertain(study, parameter, values)",
    "uncertain(study, name, values, function of the value)",
    "needs(study, label, condition of a point)",
    "points(study, points)",
    "draws(study, points)",
    "rank_highest(study, name, column)",
    "rank_lowest(study, name, column)",
    "trade_off(study, list of columns)",
    "explain(study, column)",
    "run(study)",
];
