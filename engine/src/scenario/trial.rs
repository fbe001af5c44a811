//! One trial: a craft, what is done to it over time, and the run.

use std::cell::RefCell;
use std::rc::Rc;

use rhai::{Dynamic, EvalAltResult, FnPtr, NativeCallContext};

use super::Shared;
use super::course::{apply, find};
use super::craft::Handle;
use super::host::READING;
use super::told::{here, raise};
use super::values::{number, seconds};
use crate::diagnostic::Place;
use crate::model::{Crossing, Probe};
use crate::run::{Options, Run, Sampler};

type Fallible<T> = Result<T, Box<EvalAltResult>>;

/// Longest trial, s: an hour on the water.
const LONGEST: f64 = 3600.0;

/// A level that a quantity passes.
#[derive(Clone)]
pub(super) struct Passing {
    pub crossing: Crossing,
    pub level: Dynamic,
}

/// What is done to the craft, and where the script says so.
#[derive(Clone)]
pub(super) struct Deed {
    pub quantity: String,
    pub value: Dynamic,
    pub how: How,
    pub at: Place,
}

#[derive(Clone, Copy)]
pub(super) enum How {
    Change { from: f64, duration: f64 },
    Pulse { from: f64, duration: f64 },
    Hold,
    Start,
}

#[derive(Clone)]
pub(super) struct Watch {
    pub quantity: String,
    pub passing: Passing,
    pub then: Option<FnPtr>,
    pub again: bool,
    pub at: Place,
}

pub(super) struct Trial {
    pub title: String,
    pub craft: Handle,
    pub duration: f64,
    pub options: Options,
    pub deeds: Vec<Deed>,
    pub watches: Vec<Watch>,
    pub record: Vec<String>,
    pub interval: f64,
    /// The run while script code is called in the middle of it.
    pub run: Option<Run>,
    /// Place among the session's trials once it has been run.
    pub done: Option<usize>,
    /// Where the script states what is being stated.
    stating: Place,
}

/// A script's handle on a trial.
#[derive(Clone)]
pub(super) struct Plan {
    pub trial: Rc<RefCell<Trial>>,
    pub session: Shared,
}

impl Plan {
    pub fn new(title: &str, craft: Handle, session: Shared) -> Plan {
        let trial = Trial {
            title: title.into(),
            craft,
            duration: 30.0,
            options: Options::default(),
            deeds: Vec::new(),
            watches: Vec::new(),
            record: Vec::new(),
            interval: 0.02,
            run: None,
            done: None,
            stating: Place::default(),
        };
        Plan { trial: Rc::new(RefCell::new(trial)), session }
    }

    /// The same plan for another craft.
    pub fn for_craft(&self, craft: Handle) -> Plan {
        let t = self.trial.borrow();
        let trial = Trial {
            title: t.title.clone(),
            craft,
            duration: t.duration,
            options: t.options.clone(),
            deeds: t.deeds.clone(),
            watches: t.watches.clone(),
            record: t.record.clone(),
            interval: t.interval,
            run: None,
            done: None,
            stating: t.stating.clone(),
        };
        Plan { trial: Rc::new(RefCell::new(trial)), session: self.session.clone() }
    }

    /// Notes where the next statement stands.
    pub fn stated(&self, context: &NativeCallContext) -> &Plan {
        let place = here(context, &self.session.borrow());
        self.trial.borrow_mut().stating = place;
        self
    }

    pub fn lasts(&self, time: &Dynamic) -> Fallible<()> {
        let t = seconds(time)?;
        if !(1e-3..=LONGEST).contains(&t) {
            return Err(format!("a trial lasts from 0.001 s to {LONGEST} s, not {t} s").into());
        }
        self.trial.borrow_mut().duration = t;
        Ok(())
    }

    pub fn tolerance(&self, value: &Dynamic) -> Fallible<()> {
        let t = number(value, "1")?;
        if !(1e-13..=1e-2).contains(&t) {
            return Err(format!("the tolerance lies between 1e-13 and 1e-2, not at {t}").into());
        }
        self.trial.borrow_mut().options.tolerance = t;
        Ok(())
    }

    pub fn afloat(&self, settle: bool) {
        self.trial.borrow_mut().options.settle = settle;
    }

    pub fn record(&self, names: rhai::Array) -> Fallible<()> {
        for name in names {
            let name = name
                .into_string()
                .map_err(|found| format!("expected the name of a quantity, found {found}"))?;
            self.trial.borrow_mut().record.push(name);
        }
        Ok(())
    }

    pub fn every(&self, interval: &Dynamic) -> Fallible<()> {
        let t = seconds(interval)?;
        if t < 1e-4 {
            return Err(format!("rows of a trace are at least 0.0001 s apart, not {t} s").into());
        }
        self.trial.borrow_mut().interval = t;
        Ok(())
    }

    /// A change of an input: before the run at a time of it, in the middle of a run from now on.
    pub fn change(&self, quantity: &str, value: &Dynamic, from: Option<f64>, duration: f64) -> Fallible<()> {
        let from = self.not_passed(from)?;
        self.does(quantity, value, How::Change { from, duration })
    }

    /// A value for a while, in place of whatever is planned.
    pub fn pulse(&self, quantity: &str, value: &Dynamic, from: Option<f64>, duration: f64) -> Fallible<()> {
        let from = self.not_passed(from)?;
        self.does(quantity, value, How::Pulse { from, duration })
    }

    pub fn hold(&self, quantity: &str, value: &Dynamic) -> Fallible<()> {
        self.does(quantity, value, How::Hold)
    }

    pub fn start(&self, quantity: &str, value: &Dynamic) -> Fallible<()> {
        if self.trial.borrow().run.is_some() {
            return Err("a run that is under way cannot be given a start".into());
        }
        self.does(quantity, value, How::Start)
    }

    fn not_passed(&self, from: Option<f64>) -> Fallible<f64> {
        let now = self.trial.borrow().run.as_ref().map_or(0.0, Run::time);
        match from {
            Some(from) if from < now => Err(format!("{from} s has passed: it is {now:.3} s now").into()),
            from => Ok(from.unwrap_or(now)),
        }
    }

    /// Does it now in a run under way, else notes it for the run.
    fn does(&self, quantity: &str, value: &Dynamic, how: How) -> Fallible<()> {
        if let Some(x) = value.as_float().ok().filter(|x| !x.is_finite()) {
            return Err(format!("{quantity} cannot be {x}: expected a finite number").into());
        }
        let trial = &mut *self.trial.borrow_mut();
        let deed = Deed { quantity: quantity.into(), value: value.clone(), how, at: trial.stating.clone() };
        match &mut trial.run {
            Some(run) => apply(run, &deed),
            None => {
                trial.deeds.push(deed);
                Ok(())
            }
        }
    }

    pub fn watch(&self, quantity: &str, passing: Passing, then: Option<FnPtr>, again: bool) -> Fallible<()> {
        let trial = &mut *self.trial.borrow_mut();
        if trial.run.is_some() {
            return Err("conditions are stated before the run begins".into());
        }
        let at = trial.stating.clone();
        trial.watches.push(Watch { quantity: quantity.into(), passing, then, again, at });
        Ok(())
    }

    /// Calls `ask` with a sampler over the finished run and the quantity;
    /// `()` where the run has nothing to say.
    pub fn sampled(
        &self,
        quantity: &str,
        ask: impl FnOnce(&mut Sampler, Probe, (f64, f64)) -> Option<f64>,
    ) -> Fallible<Dynamic> {
        self.session.borrow_mut().charge(READING).map_err(raise)?;
        let trial = self.trial.borrow();
        let done = trial.done.ok_or("this trial has not been run yet")?;
        let session = self.session.borrow();
        let run = &session.outcome.trials[done].trial.run;
        let probe = find(run.model(), quantity)?;
        let mut sampler = Sampler::new(run.model(), run.trajectory());
        if run.trajectory().is_empty() {
            return Ok(Dynamic::UNIT);
        }
        match ask(&mut sampler, probe, run.trajectory().span()) {
            Some(value) if !value.is_finite() => Err(format!("{quantity} is {value} in this run").into()),
            answer => Ok(answer.map_or(Dynamic::UNIT, Dynamic::from)),
        }
    }

    /// Present value of a quantity, within a condition's action.
    pub fn value(&self, quantity: &str) -> Fallible<f64> {
        let trial = &mut *self.trial.borrow_mut();
        let run = trial.run.as_mut().ok_or("present values exist only while a run is under way")?;
        let probe = find(run.model(), quantity)?;
        let value = run.value(probe);
        if value.is_finite() { Ok(value) } else { Err(format!("{quantity} is {value} now").into()) }
    }

    pub fn time(&self) -> Fallible<f64> {
        let trial = self.trial.borrow();
        trial
            .run
            .as_ref()
            .map(Run::time)
            .ok_or_else(|| "the time is known only while a run is under way".into())
    }
}
