//! Words for fits.

use std::cell::RefCell;
use std::rc::Rc;

use rhai::{Engine, Map};

use super::super::course::apply;
use super::super::craft::Handle;
use super::super::host::{READING, TRIAL};
use super::super::spread::{Spread, changed};
use super::super::told::{brief, of_setup, raise};
use super::super::trial::Plan;
use super::super::{Fitting, Shared};
use super::{Fallible, Fit, FitPlan, Found, Stated};
use crate::analysis::Craft;
use crate::calibration::{Course, Problem, Set, Sought, Table, Taken, drive, to_the_end};
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::fit::FitError;
use crate::model::Probe;
use crate::profile::Profile;
use crate::run::Run;
use crate::setup::{Change, Setup};
use crate::study::Values;
use crate::units;

pub(super) fn register(engine: &mut Engine, session: &Shared) {
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
    engine.register_fn("find", |fit: &mut Fit, name: &str, known: Spread| fit.find(name, known, None));
    engine.register_fn("find", |fit: &mut Fit, name: &str, known: Spread, set: &str| {
        fit.find(name, known, Some(set))
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

    fn find(&self, parameter: &str, known: Spread, set: Option<&str>) -> Fallible<()> {
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
                    plan.sought.push(sought);
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
        let sought = plan.sought.clone();
        self.session.borrow_mut().charge(TRIAL).map_err(raise)?;
        let practice = catalogue.practice;
        let problem =
            Problem::new(catalogue.parts, practice.rest, plan.base.clone(), plan.sets.clone(), sought);
        let found = Rc::new(problem.map_err(raise)?).fit().map_err(|error| raise(unfit(error)))?;
        let place = self.session.borrow().outcome.fits.len();
        let title = plan.title.clone();
        self.session.borrow_mut().outcome.fits.push(Fitting {
            title,
            found,
            asked: Vec::new(),
            unasked: Vec::new(),
        });
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
            apply(&mut run, deed).map_err(|error| Diagnostic::error(brief(&error)).at(deed.at.clone()))?;
        }
        drive(&mut run, driven);
        to_the_end(run, until)
    }
}
