//! The run of a trial: what was planned is done, conditions pause it, the judge ends it.

use rhai::{Dynamic, EvalAltResult, NativeCallContext};

use super::caller::Caller;
use super::host::{ACTION, RECORDED, TRIAL};
use super::told::{self, of_setup, raise};
use super::trial::{Deed, How, Plan, Watch};
use super::values::number;
use super::{Finished, Judged};
use crate::diagnostic::Diagnostic;
use crate::model::{Model, Probe};
use crate::profile::Profile;
use crate::run::{Condition, Pause, Run, RunError, Sampler};

type Fallible<T> = Result<T, Box<EvalAltResult>>;

/// Most rows of a trace: a trial of an hour at 0.01 s.
const ROWS: f64 = 400_000.0;

/// A condition and all that waits for it, in the order it was stated.
type Waiting = (Condition, Vec<Watch>);

impl Plan {
    /// A run with all that was planned in advance.
    fn prepared(&self) -> Fallible<Run> {
        let trial = self.trial.borrow();
        if trial.run.is_some() {
            return Err("this trial is under way: it cannot be run within itself".into());
        }
        self.session.borrow_mut().charge(TRIAL).map_err(raise)?;
        let rows = trial.duration / trial.interval;
        if rows > ROWS {
            return Err(format!(
                "a trace of {} s with a row every {} s has more than {ROWS} rows",
                trial.duration, trial.interval
            )
            .into());
        }
        let catalogue = self.session.borrow().catalogue;
        let model =
            trial.craft.borrow_mut().model(&catalogue).map_err(|told| of_setup(&self.session, told))?;
        for name in &trial.record {
            find(&model, name)?;
        }
        let mut run = Run::new(model, trial.options.clone());
        for deed in &trial.deeds {
            apply(&mut run, deed).map_err(|error| told::at(&error, &deed.at))?;
        }
        Ok(run)
    }

    /// Conditions, each once: several watches may wait for the same.
    fn conditions(&self, model: &Model) -> Fallible<Vec<Waiting>> {
        let mut waiting: Vec<Waiting> = Vec::new();
        for watch in &self.trial.borrow().watches {
            let condition = || -> Fallible<Condition> {
                let quantity = find(model, &watch.quantity)?;
                let level = number(&watch.passing.level, model.unit(quantity))?;
                Ok(Condition { quantity, crossing: watch.passing.crossing, level })
            };
            let condition = condition().map_err(|error| told::at(&error, &watch.at))?;
            match waiting.iter_mut().find(|(known, _)| *known == condition) {
                Some((_, watches)) => watches.push(watch.clone()),
                None => waiting.push((condition, vec![watch.clone()])),
            }
        }
        Ok(waiting)
    }

    /// Runs the trial, keeps it for the outcome and returns the findings.
    pub fn run(&self, context: &NativeCallContext) -> Fallible<Dynamic> {
        let mut finished = self.fly(Caller::Within(context))?;
        finished.setup_hash = self.trial.borrow().craft.borrow().setup.hash();
        let judge = self.session.borrow().catalogue.judge;
        let findings = judge(&finished);
        let values = super::values::to_script(&serde_json::Value::Object(findings.values.clone()));
        let outcome = &mut self.session.borrow_mut().outcome;
        self.trial.borrow_mut().done = Some(outcome.trials.len());
        outcome.trials.push(Judged { trial: finished, findings });
        Ok(values)
    }

    /// Runs the trial to its end. The hash of its setup is left empty: it takes time, and
    /// not everyone wants it.
    pub fn fly(&self, caller: Caller) -> Fallible<Finished> {
        let mut run = self.prepared()?;
        let duration = self.trial.borrow().duration;
        let mut waiting = self.conditions(run.model())?;
        let error = loop {
            let conditions: Vec<Condition> = waiting.iter().map(|(condition, _)| *condition).collect();
            match run.advance(duration, &conditions) {
                Err(error) => break Some(error),
                Ok(Pause::Time | Pause::Ended) => break None,
                Ok(Pause::Condition(i)) => {
                    let watches = waiting[i].1.clone();
                    waiting[i].1.retain(|watch| watch.again);
                    if waiting[i].1.is_empty() {
                        waiting.remove(i);
                    }
                    let stops = watches.iter().any(|watch| watch.then.is_none());
                    for watch in watches {
                        run = self.act(run, &watch, caller)?;
                    }
                    if stops {
                        break None;
                    }
                }
            }
        };
        self.finish(run, error)
    }

    /// Hands the run to the script and takes it back.
    fn act(&self, run: Run, watch: &Watch, caller: Caller) -> Fallible<Run> {
        let Some(then) = &watch.then else { return Ok(run) };
        self.session.borrow_mut().charge(ACTION).map_err(raise)?;
        self.trial.borrow_mut().run = Some(run);
        let called = caller.call(then, (self.clone(),));
        let back = self.trial.borrow_mut().run.take();
        let _ = called?;
        back.ok_or_else(|| "the run was lost".into())
    }

    fn finish(&self, run: Run, error: Option<RunError>) -> Fallible<Finished> {
        let recorded = run.trajectory().bytes() as u64;
        self.session.borrow_mut().charge(recorded / RECORDED).map_err(raise)?;
        let error = error.or_else(|| not_finite(&run));
        let trial = self.trial.borrow();
        let craft = trial.craft.borrow();
        Ok(Finished {
            title: trial.title.clone(),
            setup_title: craft.setup.title().to_string(),
            duration: trial.duration,
            error,
            setup_warnings: craft.warnings.clone(),
            record: trial.record.clone(),
            interval: trial.interval,
            setup_hash: String::new(),
            run,
        })
    }
}

/// The first quantity of a finished run that is no finite number at some step. Where a
/// rate is none the run stops by itself; this finds those that no rate depends on.
fn not_finite(run: &Run) -> Option<RunError> {
    let mut found = None;
    Sampler::new(run.model(), run.trajectory()).walk(f64::INFINITY, |time, sampler| {
        if found.is_none() {
            found = sampler.first_non_finite().map(|(equation, quantity)| (time, equation, quantity));
        }
    });
    found.map(|(time, equation, quantity)| RunError::NotFinite { time, equation, quantity })
}

pub(super) fn find(model: &Model, name: &str) -> Fallible<Probe> {
    model
        .find(name)
        .ok_or_else(|| format!("there is no quantity {name} in this setup{}", model.near(name)).into())
}

fn input<'a>(run: &'a mut Run, probe: Probe, name: &str) -> Fallible<&'a mut Profile> {
    let model = run.model().clone();
    run.input(probe).ok_or_else(|| {
        let inputs: Vec<&str> = model.inputs().into_iter().map(|p| model.name(p)).collect();
        let inputs = inputs.join(", ");
        format!("{name} follows from the model and cannot be prescribed; inputs are {inputs}").into()
    })
}

/// Refuses a value outside the range that a part allows for its quantity.
fn allowed(model: &Model, probe: Probe, value: f64, given: &Dynamic) -> Fallible<()> {
    if model.allows(probe, value) {
        return Ok(());
    }
    let range = model.range_in_words(probe).unwrap_or_default();
    let text = given.clone().into_string();
    let found = text.as_ref().map_or_else(|_| given.to_string(), |text| format!("\"{text}\""));
    let error = Diagnostic::error(format!("{} is out of range", model.name(probe)))
        .expected(format!("a value {range}"))
        .found(found);
    // a bare number that makes sense in a unit people use
    let bare = text.map_or(true, |text| text.trim().parse::<f64>().is_ok());
    let meant = match model.unit(probe) {
        "1" => Some((0.01, "%")),
        "rad" => Some((1f64.to_radians(), "°")),
        "rad/s" => Some((std::f64::consts::TAU / 60.0, "rpm")),
        _ => None,
    };
    Err(raise(match meant {
        Some((factor, unit)) if bare && model.allows(probe, value * factor) => {
            error.help(format!("did you mean \"{value} {unit}\"?"))
        }
        _ => error,
    }))
}

pub(super) fn apply(run: &mut Run, deed: &Deed) -> Fallible<()> {
    let model = run.model().clone();
    let name = &deed.quantity;
    let probe = find(&model, name)?;
    let value = number(&deed.value, model.unit(probe))?;
    allowed(&model, probe, value, &deed.value)?;
    let now = run.time();
    match deed.how {
        How::Change { from, duration } => match input(run, probe, name)? {
            start if now == 0.0 && from == 0.0 && duration == 0.0 => start.start_at(value),
            input => input.change(from, duration, value),
        },
        How::Pulse { from, duration } => input(run, probe, name)?.pulse(from, duration, value),
        How::Hold if !run.hold(probe, Profile::constant(value)) => {
            return Err(format!("{name} is not a state and cannot be held").into());
        }
        How::Start if !run.place(probe, value) => {
            return Err(format!("{name} is not a state and has no start").into());
        }
        How::Hold | How::Start => {}
    }
    Ok(())
}
