//! The words a scenario is written in.

use std::cell::RefCell;
use std::rc::Rc;

use rhai::{Dynamic, Engine, EvalAltResult, FnPtr, NativeCallContext};

use super::craft::{Craft, Handle};
use super::expect::Must;
use super::host::{ACTION, READING};
use super::told::{Told, here, of_setup, raise};
use super::trial::{Passing, Plan};
use super::values::{number, seconds};
use super::{Shared, calibration, spread, study};
use crate::model::Crossing;
use crate::setup::{Change, Setup, files, named_here};

type Call<'a> = NativeCallContext<'a>;
type Fallible<T> = Result<T, Box<EvalAltResult>>;

/// Registers everything and returns the forms, for messages.
pub(super) fn register(engine: &mut Engine, session: &Shared) -> Vec<String> {
    engine
        .register_type_with_name::<Handle>("setup")
        .register_type_with_name::<Plan>("trial")
        .register_type_with_name::<Passing>("passing")
        .register_type_with_name::<Must>("condition")
        .register_type_with_name::<Told>("mistake")
        .register_fn("to_string", |told: &mut Told| told.0.to_string());
    heading(engine, session);
    setups(engine, session);
    plans(engine);
    results(engine);
    expectations(engine, session);
    spread::register(engine);
    study::register(engine, session);
    calibration::register(engine, session);
    let forms = FORMS.iter().chain(spread::FORMS).chain(study::FORMS).chain(calibration::FORMS);
    let inquiries = session.borrow().catalogue.practice.inquiries;
    let asked = inquiries.iter().map(|inquiry| format!("{}(fitted, map of what is asked)", inquiry.name));
    forms.map(ToString::to_string).chain(asked).collect()
}

/// The forms in which the words are used.
pub(super) const FORMS: &[&str] = &[
    "title(text)",
    "purpose(text)",
    "seed(whole number)",
    "setup(file)",
    "change(setup, key, value)",
    "copy(setup)",
    "trial(title, setup)",
    "lasts(trial, time)",
    "tolerance(trial, number)",
    "start_as_set(trial)",
    "start(trial, quantity, value)",
    "set(trial, quantity, value)",
    "step(trial, quantity, value, at)",
    "step(trial, quantity, value)",
    "ramp(trial, quantity, value, at, taking)",
    "ramp(trial, quantity, value, taking)",
    "pulse(trial, quantity, value, at, lasting)",
    "pulse(trial, quantity, value, lasting)",
    "hold(trial, quantity, value)",
    "once(trial, quantity, passing, action)",
    "whenever(trial, quantity, passing, action)",
    "stop_when(trial, quantity, passing)",
    "rises_above(value)",
    "falls_below(value)",
    "record(trial, list of quantities)",
    "every(trial, time)",
    "run(trial)",
    "value(trial, quantity)",
    "time(trial)",
    "at(trial, quantity, time)",
    "at_end(trial, quantity)",
    "highest(trial, quantity)",
    "lowest(trial, quantity)",
    "expect(label, value, condition)",
    "between(low, high)",
    "above(value)",
    "below(value)",
    "near(value, tolerance)",
    "is_true()",
    "is_false()",
    "reads(text)",
    "is_none()",
    "seconds(number)",
];

fn heading(engine: &mut Engine, session: &Shared) {
    let s = session.clone();
    engine.register_fn("title", move |text: &str| s.borrow_mut().outcome.title = text.into());
    let s = session.clone();
    engine.register_fn("purpose", move |text: &str| s.borrow_mut().outcome.purpose = text.into());
    let s = session.clone();
    engine.register_fn("seed", move |seed: i64| -> Fallible<()> {
        s.borrow_mut().outcome.seed =
            u64::try_from(seed).map_err(|_| format!("a seed is a whole number from 0, not {seed}"))?;
        Ok(())
    });
}

fn setups(engine: &mut Engine, session: &Shared) {
    let s = session.clone();
    engine.register_fn("setup", move |name: &str| -> Fallible<Handle> {
        let (root, script) = {
            let session = s.borrow();
            (session.root.clone(), session.script.clone())
        };
        s.borrow_mut().charge(READING).map_err(raise)?;
        let path = files::resolve(&root, &script, name).map_err(raise)?;
        // a file that cannot be read at all is told of where the script names it
        files::read(&path).map_err(|error| raise(named_here(error, name)))?;
        let setup = Setup::load(&path, &root).map_err(raise)?;
        for (file, text) in setup.texts() {
            s.borrow_mut().note_input(file, text.as_bytes());
        }
        Ok(Rc::new(RefCell::new(Craft::new(setup))))
    });
    let s = session.clone();
    engine.register_fn(
        "change",
        move |context: NativeCallContext, craft: Handle, key: &str, value: Dynamic| -> Fallible<()> {
            let change = match value.clone().into_string() {
                Ok(text) => Change::Text(text),
                // a bare number stands as it would in the file: a pure number
                Err(_) => Change::Text(
                    number(&value, "1").map(|n| value.as_int().map_or(n.to_string(), |i| i.to_string()))?,
                ),
            };
            let place = here(&context, &s.borrow());
            let position = place.position.map_or(String::new(), |p| format!(":{}:{}", p.line, p.column));
            let origin = format!("{}{position}", place.file);
            s.borrow_mut().charge(ACTION).map_err(raise)?;
            s.borrow_mut().changes.insert(origin.clone(), place);
            let catalogue = s.borrow().catalogue;
            let changed = craft.borrow_mut().change(key, change, &origin, &catalogue);
            changed.map_err(|told| of_setup(&s, told))
        },
    );
    engine.register_fn("copy", |craft: Handle| -> Handle { Rc::new(RefCell::new(craft.borrow().clone())) });
}

fn plans(engine: &mut Engine) {
    engine.register_fn("lasts", |p: &mut Plan, t: Dynamic| p.lasts(&t));
    engine.register_fn("tolerance", |p: &mut Plan, t: Dynamic| p.tolerance(&t));
    engine.register_fn("start_as_set", |p: &mut Plan| p.afloat(false));
    engine.register_fn("start", |c: Call, p: &mut Plan, q: &str, v: Dynamic| p.stated(&c).start(q, &v));
    engine.register_fn("set", |c: Call, p: &mut Plan, q: &str, v: Dynamic| {
        p.stated(&c).change(q, &v, None, 0.0)
    });
    engine.register_fn("step", |c: Call, p: &mut Plan, q: &str, v: Dynamic| {
        p.stated(&c).change(q, &v, None, 0.0)
    });
    engine.register_fn("step", |c: Call, p: &mut Plan, q: &str, v: Dynamic, at: Dynamic| -> Fallible<()> {
        p.stated(&c).change(q, &v, Some(seconds(&at)?), 0.0)
    });
    engine.register_fn(
        "ramp",
        |c: Call, p: &mut Plan, q: &str, v: Dynamic, taking: Dynamic| -> Fallible<()> {
            p.stated(&c).change(q, &v, None, seconds(&taking)?)
        },
    );
    engine.register_fn(
        "ramp",
        |c: Call, p: &mut Plan, q: &str, v: Dynamic, at: Dynamic, taking: Dynamic| -> Fallible<()> {
            p.stated(&c).change(q, &v, Some(seconds(&at)?), seconds(&taking)?)
        },
    );
    engine.register_fn(
        "pulse",
        |c: Call, p: &mut Plan, q: &str, v: Dynamic, lasting: Dynamic| -> Fallible<()> {
            p.stated(&c).pulse(q, &v, None, seconds(&lasting)?)
        },
    );
    engine.register_fn(
        "pulse",
        |c: Call, p: &mut Plan, q: &str, v: Dynamic, at: Dynamic, lasting: Dynamic| -> Fallible<()> {
            p.stated(&c).pulse(q, &v, Some(seconds(&at)?), seconds(&lasting)?)
        },
    );
    engine.register_fn("hold", |c: Call, p: &mut Plan, q: &str, v: Dynamic| p.stated(&c).hold(q, &v));
    engine.register_fn("rises_above", |level: Dynamic| Passing { crossing: Crossing::Rising, level });
    engine.register_fn("falls_below", |level: Dynamic| Passing { crossing: Crossing::Falling, level });
    engine.register_fn("once", |c: Call, p: &mut Plan, q: &str, passing: Passing, then: FnPtr| {
        p.stated(&c).watch(q, passing, Some(then), false)
    });
    engine.register_fn("whenever", |c: Call, p: &mut Plan, q: &str, passing: Passing, then: FnPtr| {
        p.stated(&c).watch(q, passing, Some(then), true)
    });
    engine.register_fn("stop_when", |c: Call, p: &mut Plan, q: &str, passing: Passing| {
        p.stated(&c).watch(q, passing, None, false)
    });
    engine.register_fn("record", |p: &mut Plan, names: rhai::Array| p.record(names));
    engine.register_fn("every", |p: &mut Plan, t: Dynamic| p.every(&t));
    engine.register_fn("run", |context: NativeCallContext, p: Plan| p.run(&context));
    engine.register_fn("seconds", |t: Dynamic| seconds(&t));
}

fn results(engine: &mut Engine) {
    // what a missing result has is missing too, so that an expectation of it fails and tells so
    engine.register_indexer_get(|_: &mut (), _: &str| ());
    engine.register_fn("value", |p: &mut Plan, q: &str| p.value(q));
    engine.register_fn("time", |p: &mut Plan| p.time());
    engine.register_fn("at", |p: &mut Plan, q: &str, t: Dynamic| -> Fallible<Dynamic> {
        let t = seconds(&t)?;
        p.sampled(q, |s, probe, (begin, end)| {
            // nothing is known of times that the run did not reach
            (begin <= t && t <= end + 1e-9).then(|| {
                s.go(t);
                s.value(probe)
            })
        })
    });
    engine.register_fn("at_end", |p: &mut Plan, q: &str| {
        p.sampled(q, |s, probe, (_, end)| {
            s.go(end);
            Some(s.value(probe))
        })
    });
    let extreme = |p: &mut Plan, q: &str, sign: f64| {
        p.sampled(q, |s, probe, _| {
            let mut best = f64::NEG_INFINITY;
            s.walk(0.01, |_, s| {
                let value = sign * s.value(probe);
                // one that is no number is the answer, which is then refused
                best = if best.is_nan() || value.is_nan() { f64::NAN } else { best.max(value) };
            });
            Some(sign * best)
        })
    };
    engine.register_fn("highest", move |p: &mut Plan, q: &str| extreme(p, q, 1.0));
    engine.register_fn("lowest", move |p: &mut Plan, q: &str| extreme(p, q, -1.0));
}

fn expectations(engine: &mut Engine, session: &Shared) {
    let s = session.clone();
    engine.register_fn("trial", move |title: &str, craft: Handle| Plan::new(title, craft, s.clone()));
    engine.register_fn("between", |low: Dynamic, high: Dynamic| -> Fallible<Must> {
        let (low, high) = (number(&low, "1")?, number(&high, "1")?);
        if low > high {
            Err(format!("between({low}, {high}) holds for nothing").into())
        } else {
            Ok(Must::Between(low, high))
        }
    });
    engine.register_fn("above", |low: Dynamic| -> Fallible<Must> { Ok(Must::Above(number(&low, "1")?)) });
    engine.register_fn("below", |high: Dynamic| -> Fallible<Must> { Ok(Must::Below(number(&high, "1")?)) });
    engine.register_fn("near", |value: Dynamic, by: Dynamic| -> Fallible<Must> {
        Ok(Must::Near(number(&value, "1")?, number(&by, "1")?))
    });
    engine.register_fn("is_true", || Must::Be(true));
    engine.register_fn("is_false", || Must::Be(false));
    engine.register_fn("reads", |text: &str| Must::Read(text.into()));
    engine.register_fn("is_none", || Must::BeNone);
    let s = session.clone();
    engine.register_fn(
        "expect",
        move |context: NativeCallContext, label: &str, value: Dynamic, must: Must| -> Fallible<bool> {
            let place = here(&context, &s.borrow());
            let check = must.check(label.into(), &value, &place)?;
            let holds = check.holds;
            s.borrow_mut().outcome.checks.push(check);
            Ok(holds)
        },
    );
}
