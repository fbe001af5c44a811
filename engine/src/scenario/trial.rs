//! One trial: a craft, what is done to it over time, and the run.

use std::cell::RefCell;
use std::rc::Rc;

use rhai::{Dynamic, EvalAltResult, FnPtr, NativeCallContext};

use super::craft::Handle;
use super::values::{number, seconds};
use super::{Finished, Judged, Shared};
use crate::diagnostic::Diagnostics;
use crate::model::{Crossing, Model, Probe};
use crate::profile::Profile;
use crate::run::{Condition, Options, Pause, Run, RunError, Sampler};

type Fallible<T> = Result<T, Box<EvalAltResult>>;

/// Longest trial, s: an hour on the water.
const LONGEST: f64 = 3600.0;

/// A level that a quantity passes.
#[derive(Clone)]
pub(super) struct Passing {
    pub crossing: Crossing,
    pub level: Dynamic,
}

#[derive(Clone)]
enum Deed {
    Change { quantity: String, from: f64, duration: f64, value: Dynamic },
    Hold { quantity: String, value: Dynamic },
    Start { quantity: String, value: Dynamic },
}

#[derive(Clone)]
struct Watch {
    quantity: String,
    passing: Passing,
    then: Option<FnPtr>,
    again: bool,
}

pub(super) struct Trial {
    title: String,
    craft: Handle,
    duration: f64,
    options: Options,
    deeds: Vec<Deed>,
    watches: Vec<Watch>,
    record: Vec<String>,
    interval: f64,
    /// The run while script code is called in the middle of it.
    run: Option<Run>,
    /// Place among the session's trials once it has been run.
    done: Option<usize>,
}

/// A script's handle on a trial.
#[derive(Clone)]
pub(super) struct Plan {
    trial: Rc<RefCell<Trial>>,
    session: Shared,
}

fn unknown(model: &Model, name: &str) -> Box<EvalAltResult> {
    format!("there is no quantity {name} in this setup{}", model.near(name)).into()
}

fn find(model: &Model, name: &str) -> Fallible<Probe> {
    model.find(name).ok_or_else(|| unknown(model, name))
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
        };
        Plan { trial: Rc::new(RefCell::new(trial)), session }
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
        let trial = &mut *self.trial.borrow_mut();
        let now = trial.run.as_ref().map_or(0.0, Run::time);
        let from = from.unwrap_or(now);
        if from < now {
            return Err(format!("{from} s has passed: it is {now:.3} s now").into());
        }
        let deed = Deed::Change { quantity: quantity.into(), from, duration, value: value.clone() };
        match &mut trial.run {
            Some(run) => apply(run, &deed),
            None => {
                trial.deeds.push(deed);
                Ok(())
            }
        }
    }

    /// A change there and back.
    pub fn pulse(&self, quantity: &str, value: &Dynamic, from: Option<f64>, duration: f64) -> Fallible<()> {
        let now = self.trial.borrow().run.as_ref().map_or(0.0, Run::time);
        let from = from.unwrap_or(now);
        let back = self.present(quantity, from)?;
        self.change(quantity, value, Some(from), 0.0)?;
        self.change(quantity, &back.into(), Some(from + duration), 0.0)
    }

    /// Value an input is planned to have just before time `t`.
    fn present(&self, quantity: &str, t: f64) -> Fallible<f64> {
        let trial = self.trial.borrow();
        if let Some(run) = &trial.run {
            let probe = find(run.model(), quantity)?;
            let mut run = run.clone();
            return run.input(probe).map(|p| p.at(t, t)).ok_or_else(|| not_an_input(run.model(), quantity));
        }
        drop(trial);
        let mut planned = self.prepared()?;
        let probe = find(planned.model(), quantity)?;
        let model = planned.model().clone();
        planned.input(probe).map(|p| p.at(t, t)).ok_or_else(|| not_an_input(&model, quantity))
    }

    pub fn hold(&self, quantity: &str, value: &Dynamic) -> Fallible<()> {
        let deed = Deed::Hold { quantity: quantity.into(), value: value.clone() };
        let trial = &mut *self.trial.borrow_mut();
        match &mut trial.run {
            Some(run) => apply(run, &deed),
            None => {
                trial.deeds.push(deed);
                Ok(())
            }
        }
    }

    pub fn start(&self, quantity: &str, value: &Dynamic) -> Fallible<()> {
        let trial = &mut *self.trial.borrow_mut();
        if trial.run.is_some() {
            return Err("a run that is under way cannot be given a start".into());
        }
        trial.deeds.push(Deed::Start { quantity: quantity.into(), value: value.clone() });
        Ok(())
    }

    pub fn watch(&self, quantity: &str, passing: Passing, then: Option<FnPtr>, again: bool) -> Fallible<()> {
        let trial = &mut *self.trial.borrow_mut();
        if trial.run.is_some() {
            return Err("conditions are stated before the run begins".into());
        }
        trial.watches.push(Watch { quantity: quantity.into(), passing, then, again });
        Ok(())
    }

    /// A run with all that was planned in advance.
    fn prepared(&self) -> Fallible<Run> {
        let trial = self.trial.borrow();
        let catalogue = self.session.borrow().catalogue;
        let model = trial.craft.borrow_mut().model(&catalogue).map_err(|told| raise(&self.session, told))?;
        let mut run = Run::new(model, trial.options.clone());
        for deed in &trial.deeds {
            apply(&mut run, deed)?;
        }
        Ok(run)
    }

    /// Runs the trial and returns the findings.
    pub fn run(&self, context: &NativeCallContext) -> Fallible<Dynamic> {
        let mut run = self.prepared()?;
        let (duration, mut watches) = {
            let trial = self.trial.borrow();
            for name in &trial.record {
                find(run.model(), name)?;
            }
            (trial.duration, trial.watches.clone())
        };
        let mut conditions = Vec::new();
        for watch in &watches {
            let quantity = find(run.model(), &watch.quantity)?;
            let level = number(&watch.passing.level, run.model().unit(quantity))?;
            conditions.push(Condition { quantity, crossing: watch.passing.crossing, level });
        }
        let error = loop {
            match run.advance(duration, &conditions) {
                Err(error) => break Some(error),
                Ok(Pause::Time | Pause::Ended) => break None,
                Ok(Pause::Condition(i)) => {
                    let watch = watches[i].clone();
                    if !watch.again {
                        watches.remove(i);
                        conditions.remove(i);
                    }
                    let Some(then) = watch.then else { break None };
                    // hand the run to the script and take it back
                    self.trial.borrow_mut().run = Some(run);
                    let called = then.call_within_context::<Dynamic>(context, (self.clone(),));
                    let back = self.trial.borrow_mut().run.take();
                    let _ = called?;
                    match back {
                        Some(back) => run = back,
                        None => return Err("the run was lost".into()),
                    }
                }
            }
        };
        self.finish(run, error)
    }

    fn finish(&self, run: Run, error: Option<RunError>) -> Fallible<Dynamic> {
        let mut trial = self.trial.borrow_mut();
        let craft = trial.craft.borrow();
        let finished = Finished {
            title: trial.title.clone(),
            setup_title: craft.setup.title().to_string(),
            duration: trial.duration,
            error,
            setup_warnings: craft.warnings.clone(),
            record: trial.record.clone(),
            interval: trial.interval,
            setup_hash: craft.setup.hash(),
            run,
        };
        drop(craft);
        let judge = self.session.borrow().catalogue.judge;
        let findings = judge(&finished);
        let values = super::values::to_script(&serde_json::Value::Object(findings.values.clone()));
        let outcome = &mut self.session.borrow_mut().outcome;
        trial.done = Some(outcome.trials.len());
        outcome.trials.push(Judged { trial: finished, findings });
        Ok(values)
    }

    /// Calls `ask` with a sampler over the finished run and the quantity.
    pub fn sampled<T>(
        &self,
        quantity: &str,
        ask: impl FnOnce(&mut Sampler, Probe, (f64, f64)) -> T,
    ) -> Fallible<T> {
        let trial = self.trial.borrow();
        let done = trial.done.ok_or("this trial has not been run yet")?;
        let session = self.session.borrow();
        let run = &session.outcome.trials[done].trial.run;
        let probe = find(run.model(), quantity)?;
        let mut sampler = Sampler::new(run.model(), run.trajectory());
        Ok(ask(&mut sampler, probe, run.trajectory().span()))
    }

    /// Present value of a quantity, within a condition's action.
    pub fn value(&self, quantity: &str) -> Fallible<f64> {
        let trial = &mut *self.trial.borrow_mut();
        let run = trial.run.as_mut().ok_or("present values exist only while a run is under way")?;
        let probe = find(run.model(), quantity)?;
        Ok(run.value(probe))
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

fn not_an_input(model: &Model, name: &str) -> Box<EvalAltResult> {
    let inputs: Vec<&str> = model.inputs().into_iter().map(|p| model.name(p)).collect();
    format!("{name} follows from the model and cannot be prescribed; inputs are {}", inputs.join(", ")).into()
}

fn apply(run: &mut Run, deed: &Deed) -> Fallible<()> {
    let (Deed::Change { quantity, .. } | Deed::Hold { quantity, .. } | Deed::Start { quantity, .. }) = deed;
    let model = run.model().clone();
    let probe = find(&model, quantity)?;
    let unit = model.unit(probe);
    match deed {
        Deed::Change { from, duration, value, .. } => {
            let value = number(value, unit)?;
            let now = run.time();
            let input = run.input(probe).ok_or_else(|| not_an_input(&model, quantity))?;
            if *from <= now && *duration == 0.0 && now == 0.0 {
                *input = Profile::constant(value);
            } else {
                input.change(*from, *duration, value);
            }
        }
        Deed::Hold { value, .. } => {
            let value = number(value, unit)?;
            if !run.hold(probe, Profile::constant(value)) {
                return Err(format!("{quantity} is not a state and cannot be held").into());
            }
        }
        Deed::Start { value, .. } => {
            let value = number(value, unit)?;
            if !run.place(probe, value) {
                return Err(format!("{quantity} is not a state and has no start").into());
            }
        }
    }
    Ok(())
}

/// Tells a setup's mistakes through a script error.
pub(super) fn raise(session: &Shared, told: Diagnostics) -> Box<EvalAltResult> {
    session.borrow_mut().pending = Some(told);
    "the setup cannot be used".into()
}
