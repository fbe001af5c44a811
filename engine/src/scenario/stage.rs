//! What happens when a script has come to the point of running its study.

use std::rc::Rc;

use rhai::{Dynamic, EvalAltResult, NativeCallContext, Position};
use serde_json::{Map, Value};

use super::Shared;
use super::caller::Caller;
use super::point::Performer;
use super::study::Study;
use super::told::raise;
use super::values::to_script;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::study::Frame;

/// Gets a study's points looked at and tells what came out.
pub trait Conduct {
    /// Does it. `None` where only a part of the points was wanted: the script ends there.
    ///
    /// # Errors
    /// What stands in the way; the script ends there too.
    fn conduct(&self, frame: Frame) -> Result<Option<Map<String, Value>>, Diagnostics>;
}

/// What a script is run for.
#[derive(Clone)]
pub(crate) enum Stage {
    /// Its trials. A study is refused.
    Trials,
    /// Its trials, and its study at the first and last point only.
    Rehearsal,
    /// Its study, which this one conducts.
    Lead(Rc<dyn Conduct>),
    /// Some points of its study: the script is stopped there, and its study kept.
    Work,
}

/// Called where a script says that its study is to be run.
pub(super) fn reached(
    study: &Study,
    session: &Shared,
    context: &NativeCallContext,
) -> Result<Dynamic, Box<EvalAltResult>> {
    if session.borrow().study.is_some() {
        return Err("a scenario has one study, and this is a second".into());
    }
    session.borrow_mut().study = Some(study.clone());
    let stage = session.borrow().stage.clone();
    let ends = || -> Box<EvalAltResult> {
        session.borrow_mut().ended = true;
        EvalAltResult::Exit(Dynamic::UNIT, Position::NONE).into()
    };
    match stage {
        Stage::Trials => {
            let error = Diagnostic::error("this scenario holds a study of many points");
            Err(raise(error.help("`sweep` runs it; `run` is for single trials")))
        }
        Stage::Work => Err(ends()),
        Stage::Rehearsal => {
            let caller = Caller::Within(context);
            let frame = super::prepare::frame(study, session, caller)?;
            let tried = rehearse(study, session, &frame, caller)?;
            session.borrow_mut().outcome.rehearsed = Some(tried);
            Err(ends())
        }
        Stage::Lead(conductor) => {
            let caller = Caller::Within(context);
            let frame = super::prepare::frame(study, session, caller)?;
            rehearse(study, session, &frame, caller)?;
            let Some(found) = conductor.conduct(frame).map_err(raise)? else {
                return Err(ends());
            };
            let values = to_script(&Value::Object(found.clone()));
            session.borrow_mut().outcome.study = Some(found);
            Ok(values)
        }
    }
}

/// Tries the first and the last point: where neither can be tried, the study is at fault.
fn rehearse(
    study: &Study,
    session: &Shared,
    frame: &Frame,
    caller: Caller,
) -> Result<u64, Box<EvalAltResult>> {
    let rows = frame.rows();
    if rows == 0 {
        let told = frame.skipped.iter().map(|s| format!("\"{}\" leaves out {}", s.because, s.points));
        let told: Vec<String> = told.collect();
        return Err(format!("no point of this study is left: {}", told.join(", ")).into());
    }
    let mut performer = Performer::new(study, session, frame, caller)?;
    let mut rows = vec![0, rows - 1];
    rows.dedup();
    let tried = rows.len() as u64;
    let mut refused = Vec::new();
    for row in rows {
        // a part that panics spoils its own point, here as in the table
        match super::panics::caught(|| performer.attempt(row)) {
            Ok(Ok(_)) => {}
            Ok(Err(error)) => refused.push(error),
            Err(message) => refused.push(raise(Diagnostic::error(format!("a fault in a part: {message}")))),
        }
    }
    if refused.len() as u64 == tried { Err(refused.swap_remove(0)) } else { Ok(tried) }
}
