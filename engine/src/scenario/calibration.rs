//! Readings and fits in a script's hands.

use std::cell::RefCell;
use std::rc::Rc;

use rhai::{Dynamic, Engine, EvalAltResult, Map, NativeCallContext};

use super::course::apply;
use super::craft::{Craft as Edited, Handle};
use super::host::{READING, TRIAL};
use super::spread::{Spread, changed};
use super::told::{here, of_setup, raise};
use super::trial::Plan;
use super::values::{number, to_script};
use super::{Fitting, Shared};
use crate::analysis::{Answer, Craft};
use crate::calibration::{
    Calibrated, Course, Problem, Set, Sought, Table, Taken, Telling, Uncertainty, drive,
};
use crate::diagnostic::{Diagnostic, Diagnostics, suggest};
use crate::fit::FitError;
use crate::inquiry::{Inquiry, Said};
use crate::model::Probe;
use crate::profile::Profile;
use crate::readings::Layout;
use crate::run::{Pause, Run};
use crate::setup::{Change, Setup, files, named_here};
use crate::study::Values;
use crate::units;

type Call<'a> = NativeCallContext<'a>;
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
    sought: Vec<(Sought, crate::diagnostic::Place)>,
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
    tables(engine, session);
    plans(engine, session);
    answers(engine, session);
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

fn tables(engine: &mut Engine, session: &Shared) {
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
    let mut told_in = None;
    let mut amount = |key: &str| -> Fallible<Option<f64>> {
        let Some(value) = how.get(key) else { return Ok(None) };
        let size = match value.clone().into_string() {
            Ok(text) => {
                let (number, unit, dimension) = units::parse_any(&text).map_err(|e| format!("{key}: {e}"))?;
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

fn plans(engine: &mut Engine, session: &Shared) {
    let s = session.clone();
    engine.register_fn("fit", move |title: &str, craft: Handle| Fit {
        plan: Rc::new(RefCell::new(FitPlan {
            title: title.into(),
            base: craft.borrow().setup.clone(),
            sets: Vec::new(),
            sought: Vec::new(),
        })),
        session: s.clone(),
    });
    engine.register_fn("steady", |fit: &mut Fit, name: &str, table: Stated| {
        fit.steady(name, &table, Map::new())
    });
    engine.register_fn("steady", |fit: &mut Fit, name: &str, table: Stated, changes: Map| {
        fit.steady(name, &table, changes)
    });
    engine.register_fn("in_time", |fit: &mut Fit, name: &str, table: Stated, plan: Plan| {
        fit.in_time(name, &table, plan)
    });
    engine.register_fn("find", |c: Call, fit: &mut Fit, name: &str, known: Spread| {
        fit.find(&c, name, known, None)
    });
    engine.register_fn("find", |c: Call, fit: &mut Fit, name: &str, known: Spread, set: &str| {
        fit.find(&c, name, known, Some(set))
    });
    engine.register_fn("run", |fit: &mut Fit| fit.run());
}

impl Fit {
    fn craft(&self, setup: Setup) -> Fallible<Craft> {
        let parts = self.session.borrow().catalogue.parts;
        Craft::new(setup, parts).map_err(|told| of_setup(&self.session, told))
    }

    fn add(&self, name: &str, craft: Craft, table: &Stated, taken: Taken) -> Fallible<()> {
        self.session.borrow_mut().charge(READING).map_err(raise)?;
        let conventions = self.session.borrow().catalogue.practice.conventions;
        let table = table.borrow();
        let (file, text, layout) = (&*table.file, &*table.text, &table.layout);
        let source = Table { file, text, layout, tellings: &table.tellings, conventions };
        let set = Set::read(name, craft, source, taken);
        let mut set = Set { leave_out: table.leave_out, ..set.map_err(raise)? };
        for (line, heading, reason) in &table.left_out {
            set.leave_out(*line, heading, reason).map_err(raise)?;
        }
        self.plan.borrow_mut().sets.push(set);
        Ok(())
    }

    fn steady(&self, name: &str, table: &Stated, changes: Map) -> Fallible<()> {
        let parts = self.session.borrow().catalogue.parts;
        let mut setup = self.plan.borrow().base.clone();
        for (path, change) in changed(changes)? {
            // written out with its unit, as a setup would have it
            let text = match change {
                Change::Text(text) => text,
                Change::Si(x) => {
                    let unit = crate::fit::setup::dimension(&setup, parts, &path).map_or("", |d| d.si);
                    format!("{} {unit}", units::number(x)).trim_end().to_owned()
                }
            };
            setup.change(&path, text, &path).map_err(raise)?;
        }
        self.add(name, self.craft(setup)?, table, Taken::Steady)
    }

    fn in_time(&self, name: &str, table: &Stated, plan: Plan) -> Fallible<()> {
        let setup = plan.trial.borrow().craft.borrow().setup.clone();
        if !plan.trial.borrow().watches.is_empty() {
            return Err(
                "a trial that readings are held against has no conditions: its inputs follow in time".into(),
            );
        }
        self.add(name, self.craft(setup)?, table, Taken::InTime(Rc::new(Planned(plan))))
    }

    fn find(&self, context: &Call, parameter: &str, known: Spread, set: Option<&str>) -> Fallible<()> {
        let parts = self.session.borrow().catalogue.parts;
        let Values::Drawn(distribution) = known.values else {
            let help = "normal, log_normal, uniform, log_uniform or triangular";
            return Err(raise(
                Diagnostic::error("what is known of a parameter is a distribution").expected(help),
            ));
        };
        let plan = &mut *self.plan.borrow_mut();
        // a parameter may belong to the craft of a set only
        let own = plan.sets.iter().filter(|s| set.is_none_or(|name| s.name == name)).map(|s| &s.craft.setup);
        let crafts: Vec<&Setup> = std::iter::once(&plan.base).chain(own).collect();
        let mut refused = None;
        for craft in crafts {
            match Sought::new(parameter, set, distribution, known.unit, craft, parts) {
                Ok(sought) => {
                    let place = here(context, &self.session.borrow());
                    plan.sought.push((sought, place));
                    return Ok(());
                }
                Err(told) => _ = refused.get_or_insert(told),
            }
        }
        Err(raise(refused.unwrap_or_default()))
    }

    fn run(&self) -> Fallible<Found> {
        let catalogue = self.session.borrow().catalogue;
        let plan = self.plan.borrow();
        let sought: Vec<Sought> = plan.sought.iter().map(|(sought, _)| sought.clone()).collect();
        self.session.borrow_mut().charge(TRIAL).map_err(raise)?;
        let practice = catalogue.practice;
        let problem =
            Problem::new(catalogue.parts, practice.rest, plan.base.clone(), plan.sets.clone(), sought);
        let found = Rc::new(problem.map_err(raise)?).fit().map_err(|error| raise(unfit(error)))?;
        let place = self.session.borrow().outcome.fits.len();
        let title = plan.title.clone();
        self.session.borrow_mut().outcome.fits.push(Fitting { title, found, asked: Vec::new() });
        let found = Found { place, session: self.session.clone() };
        for inquiry in practice.inquiries.iter().filter(|inquiry| inquiry.always) {
            let _ = found.ask(inquiry, Map::new())?;
        }
        Ok(found)
    }
}

/// Why there is no fit, with what can be done.
fn unfit(error: FitError) -> Diagnostics {
    match error {
        FitError::Setup(told) => *told,
        FitError::Empty { unknowns: 0, .. } => {
            let error = Diagnostic::error("nothing is to be found by this fit");
            error.help("say what: find(fit, \"part.parameter\", normal(…, …))").into()
        }
        FitError::Empty { .. } => {
            let error = Diagnostic::error("this fit has no readings");
            error.help("say which: steady(fit, name, readings) or in_time(fit, name, readings, trial)").into()
        }
        other => Diagnostic::error(format!("there is no fit: {other}")).into(),
    }
}

/// A trial whose inputs are overruled by what was read.
struct Planned(Plan);

impl Course for Planned {
    fn run(&self, craft: &Craft, driven: &[(Probe, Profile)], until: f64) -> Result<Run, Diagnostics> {
        let trial = self.0.trial.borrow();
        let mut run = Run::new(craft.model.clone(), trial.options.clone());
        for deed in &trial.deeds {
            apply(&mut run, deed)
                .map_err(|error| Diagnostic::error(super::told::brief(&error)).at(deed.at.clone()))?;
        }
        drive(&mut run, driven);
        match run.advance(until, &[]) {
            Ok(Pause::Ended) => {
                let why = run.happenings().last().map_or_else(String::new, |h| format!(": {}", h.event));
                Err(Diagnostic::error(format!("the run ends after {:.3} s{why}", run.time())).into())
            }
            Ok(_) => Ok(run),
            Err(error) => Err(Diagnostic::error(error.to_string()).into()),
        }
    }
}

fn answers(engine: &mut Engine, session: &Shared) {
    engine.register_fn("value", |found: &mut Found, name: &str| {
        found.with(|c| c.fitted.value(name).map_err(|e| Diagnostic::error(e.to_string()).into()))
    });
    engine.register_fn("error", |found: &mut Found, name: &str| {
        found.with(|c| c.fitted.error(name).map_err(|e| Diagnostic::error(e.to_string()).into()))
    });
    engine.register_fn("chance", |found: &mut Found| {
        found.with(|c| Ok(c.fitted.chance().map_or(Dynamic::UNIT, Dynamic::from)))
    });
    engine.register_fn("apply", |found: &mut Found, craft: Handle| found.apply(&craft, None));
    engine.register_fn("apply", |found: &mut Found, craft: Handle, set: &str| found.apply(&craft, Some(set)));
    let inquiries = session.borrow().catalogue.practice.inquiries;
    for inquiry in inquiries {
        engine.register_fn(inquiry.name, move |found: &mut Found| found.ask(inquiry, Map::new()));
        engine.register_fn(inquiry.name, move |found: &mut Found, said: Map| found.ask(inquiry, said));
    }
}

impl Found {
    fn with<T>(&self, ask: impl FnOnce(&Calibrated) -> Result<T, Diagnostics>) -> Fallible<T> {
        let session = self.session.borrow();
        let fitting = session.outcome.fits.get(self.place).ok_or("this fit is not there any more")?;
        ask(&fitting.found).map_err(raise)
    }

    /// Another setup with what was found in it.
    fn apply(&self, craft: &Handle, set: Option<&str>) -> Fallible<Handle> {
        let parts = self.session.borrow().catalogue.parts;
        let setup = craft.borrow().setup.clone();
        let changed = self.with(|c| {
            let setup = c.as_taken(&setup, set)?;
            let found = c.onto(&setup, set, &c.fitted.values)?;
            let found: Vec<(&str, f64)> = found.iter().map(|(name, x)| (name.as_str(), *x)).collect();
            crate::fit::setup::changed(&setup, parts, &found)
        })?;
        Ok(Rc::new(RefCell::new(Edited::new(changed))))
    }

    fn ask(&self, inquiry: &'static Inquiry, said: Map) -> Fallible<Dynamic> {
        self.session.borrow_mut().charge(TRIAL).map_err(raise)?;
        let seed = self.session.borrow().outcome.seed;
        let unasked = said.is_empty();
        let mut setups = std::collections::BTreeMap::new();
        let mut rest = Map::new();
        for (key, value) in said {
            match value.clone().try_cast::<Handle>() {
                Some(craft) => _ = setups.insert(key.to_string(), craft.borrow().setup.clone()),
                None => _ = rest.insert(key, value),
            }
        }
        let values = super::values::from_script(rest)?;
        let said = Said::new(inquiry, Said { values, setups, seed }).map_err(raise)?;
        let answer = match self.with(|c| Ok((inquiry.answer)(c, &said)))? {
            // nobody asked: the fit stands without it
            Err(told) if unasked && inquiry.always => {
                let why: Vec<String> = told.iter().map(Diagnostic::title).collect();
                let text = crate::text_table::paragraph(&format!("No {}: {}.", inquiry.name, why.join("; ")));
                Answer { text, ..Answer::default() }
            }
            told => told.map_err(raise)?,
        };
        let values = to_script(&serde_json::Value::Object(answer.values.clone()));
        if let Some(fitting) = self.session.borrow_mut().outcome.fits.get_mut(self.place) {
            // what is told of every fit anyway is not told twice
            let told = unasked && fitting.asked.iter().any(|(name, _)| *name == inquiry.name);
            if !told {
                fitting.asked.push((inquiry.name, answer));
            }
        }
        Ok(values)
    }
}
