//! Script errors, told with the place where they arose.

use std::rc::Rc;
use std::sync::Arc;

use rhai::{Dynamic, EvalAltResult, NativeCallContext, Position};
use serde_json::Value;

use super::host::{OPERATIONS, RECORDED, TRIAL};
use super::{Session, Shared};
use crate::diagnostic::{Diagnostic, Diagnostics, Place, suggest};

/// Mistakes told in full, carried through the script by a script error.
#[derive(Debug, Clone)]
pub(super) struct Told(pub Rc<Diagnostics>);

/// Carries mistakes through a script error.
pub(super) fn raise(told: impl Into<Diagnostics>) -> Box<EvalAltResult> {
    EvalAltResult::ErrorRuntime(Dynamic::from(Told(Rc::new(told.into()))), Position::NONE).into()
}

/// The same error, placed where its cause was stated.
pub(super) fn at(error: &EvalAltResult, place: &Place) -> Box<EvalAltResult> {
    match innermost(error) {
        EvalAltResult::ErrorRuntime(value, _) => raise(runtime(value, place)),
        other => raise(Diagnostic::error(plain(other)).at(place.clone())),
    }
}

/// The property that a script asked for in vain.
pub(super) fn missing(error: &EvalAltResult) -> Option<&str> {
    match innermost(error) {
        EvalAltResult::ErrorPropertyNotFound(name, _) => Some(name),
        _ => None,
    }
}

/// The cause; the errors around it are the way there.
fn innermost(error: &EvalAltResult) -> &EvalAltResult {
    let mut cause = error;
    while let EvalAltResult::ErrorInFunctionCall(_, _, inner, _) | EvalAltResult::ErrorInModule(_, inner, _) =
        cause
    {
        cause = inner;
    }
    cause
}

/// Mistakes of a setup; those in a value that the script changed stand in the script.
pub(super) fn of_setup(session: &Shared, mut told: Diagnostics) -> Box<EvalAltResult> {
    let session = session.borrow();
    for place in told.0.iter_mut().filter_map(|d| d.place.as_deref_mut()) {
        if let Some(change) = session.changes.get(&place.file) {
            *place = Place { key: std::mem::take(&mut place.key), ..change.clone() };
        }
    }
    raise(told)
}

/// Where a script calls one of our functions.
pub(super) fn here(context: &NativeCallContext, session: &Session) -> Place {
    let file = context.call_source().map_or_else(|| session.script.display().to_string(), Into::into);
    session.place(&file, context.call_position())
}

impl Session {
    /// A place in the script or in one of its modules.
    pub fn place(&self, file: &str, position: Position) -> Place {
        match (position.line(), self.texts.get(file)) {
            (Some(line), Some(text)) => {
                Place::at(file, line, position.position().unwrap_or(1), Arc::clone(text))
            }
            _ => Place { file: file.into(), ..Place::default() },
        }
    }
}

/// What a thrown value says; our own mistakes say it in full.
fn runtime(value: &Dynamic, place: &Place) -> Diagnostics {
    match value.clone().try_cast::<Told>() {
        Some(told) => {
            let mut told = (*told.0).clone();
            for diagnostic in told.0.iter_mut().filter(|d| d.place.is_none()) {
                diagnostic.place = Some(Box::new(place.clone()));
            }
            told
        }
        // a script may throw a text of any length
        None => {
            let text = value.to_string();
            let lines: Vec<&str> = text.lines().take(5).collect();
            let short: String = lines.join("\n").chars().take(500).collect();
            Diagnostic::error(short).at(place.clone()).into()
        }
    }
}

/// An error on one line, without its place.
pub(super) fn brief(error: &EvalAltResult) -> String {
    match innermost(error) {
        EvalAltResult::ErrorRuntime(value, _) => {
            let told = runtime(value, &Place::default());
            told.in_short()
        }
        other => plain(other),
    }
}

/// A script error in the script language's words, without its position.
fn plain(error: &EvalAltResult) -> String {
    match error {
        EvalAltResult::ErrorPropertyNotFound(name, _) => return format!("there is no `{name}` in this"),
        // functions without a name have a made-up one
        EvalAltResult::ErrorFunctionNotFound(signature, _) if signature.starts_with("anon$") => {
            let given = signature.split_once(" (").map_or(0, |(_, kinds)| kinds.split(", ").count());
            return format!("this function is given another number of values than it takes: {given}");
        }
        _ => {}
    }
    let mut text = error.to_string();
    for trail in [" (line ", " @ '"] {
        if let Some(at) = text.find(trail) {
            text.truncate(at);
        }
    }
    text
}

/// Turns a script error into a message with the place where it arose. `file` is
/// the script or module that was run, `known` the functions there are.
pub(super) fn explain(error: &EvalAltResult, file: &str, session: &Shared, known: &[String]) -> Diagnostics {
    let session = session.borrow();
    // the innermost error is the cause; those around it are the way there
    let (mut cause, mut source) = (error, file);
    let mut at = session.place(source, error.position());
    while let EvalAltResult::ErrorInFunctionCall(_, _, inner, _) | EvalAltResult::ErrorInModule(_, inner, _) =
        cause
    {
        if let EvalAltResult::ErrorInFunctionCall(_, from, ..) = cause
            && session.texts.contains_key(from)
        {
            source = from;
        }
        cause = inner;
        if !cause.position().is_none() {
            at = session.place(source, cause.position());
        }
    }
    let told = match cause {
        EvalAltResult::ErrorRuntime(value, _) => return runtime(value, &at),
        EvalAltResult::ErrorFunctionNotFound(signature, _) => no_function(signature, known),
        EvalAltResult::ErrorVariableNotFound(name, _) => {
            no_variable(name, session.texts.get(source).map_or("", |text| text))
        }
        EvalAltResult::ErrorDataRace(..) => {
            Diagnostic::error("this action uses a trial that is in use already")
                .help("use what the action is called with, as in `|now| now.value(…)`")
        }
        EvalAltResult::ErrorPropertyNotFound(name, _) => no_property(name, &session),
        EvalAltResult::ErrorTooManyOperations(_) => endless(),
        EvalAltResult::ErrorStackOverflow(_) => Diagnostic::error("functions call each other too deeply")
            .help("is there a recursion without an end?"),
        EvalAltResult::ErrorDataTooLarge(what, _) => {
            Diagnostic::error(format!("{what}: larger than a script may use"))
        }
        other => Diagnostic::error(plain(other)),
    };
    told.at(at).into()
}

/// The script has used up its allowance.
pub(super) fn endless() -> Diagnostic {
    Diagnostic::error("the script does not come to an end").help(format!(
        "a scenario may take {OPERATIONS} operations, a trial counts as {TRIAL} and one more for each \
         {RECORDED} bytes it records; is there an endless loop?"
    ))
}

fn no_function(signature: &str, known: &[String]) -> Diagnostic {
    let name = signature.split([' ', '(']).next().unwrap_or_default();
    let forms: Vec<&str> =
        known.iter().filter(|k| k.split('(').next() == Some(name)).map(String::as_str).collect();
    let told = Diagnostic::error(format!("there is no function {}", in_words(signature)));
    if forms.is_empty() {
        told.near(suggest(name, known.iter().filter_map(|k| k.split('(').next())))
    } else {
        told.help(format!("there is {}", forms.join(", ")))
    }
}

/// `ramp (trial, i64)` as `ramp(trial, whole number)`.
fn in_words(signature: &str) -> String {
    let Some((name, rest)) = signature.split_once(" (") else {
        return signature.into();
    };
    let kinds: Vec<&str> = rest
        .trim_end_matches(')')
        .split(", ")
        .map(|kind| match kind {
            "&str | ImmutableString | String" | "string" => "text",
            "i64" => "whole number",
            "f64" => "number",
            "bool" => "true or false",
            "()" => "nothing",
            other => other,
        })
        .collect();
    format!("{name}({})", kinds.join(", "))
}

/// Scripts ask hardly any map but results for their properties: those are suggested.
fn no_property(name: &str, session: &Session) -> Diagnostic {
    let mut keys: Vec<String> = Vec::new();
    for judged in &session.outcome.trials {
        collect("", &judged.findings.values, &mut keys);
    }
    let last = |key: &String| key.rsplit('.').next().unwrap_or_default().to_owned();
    let names: Vec<String> = keys.iter().map(last).collect();
    let near = suggest(name, names.iter().map(String::as_str));
    let shares = |key: &str| key.split('_').any(|word| word.len() > 2 && name.split('_').any(|w| w == word));
    let alike: Vec<&str> = keys
        .iter()
        .zip(&names)
        .filter(|(_, n)| Some(n.as_str()) != near && shares(n))
        .map(|(k, _)| &**k)
        .collect();
    let told = Diagnostic::error(format!("there is no `{name}` in this"));
    match near.and_then(|near| keys.iter().find(|key| last(key) == near)) {
        Some(near) if alike.is_empty() => told.near(Some(near)),
        Some(near) => told.help(format!("did you mean `{near}`? a result also has {}", short(&alike))),
        None if !alike.is_empty() => told.help(format!("a result has {}", short(&alike))),
        None if !keys.is_empty() => {
            let all: Vec<&str> = keys.iter().map(String::as_str).collect();
            told.help(format!("a result has {}", short(&all)))
        }
        None => told,
    }
}

fn short(keys: &[&str]) -> String {
    let shown: Vec<&str> = keys.iter().take(12).copied().collect();
    let more = if keys.len() > shown.len() { ", …" } else { "" };
    format!("{}{more}", shown.join(", "))
}

/// Names of all results, those within others behind a dot.
fn collect(within: &str, map: &serde_json::Map<String, Value>, keys: &mut Vec<String>) {
    for (key, value) in map {
        let name = format!("{within}{key}");
        if let Value::Object(inner) = value {
            collect(&format!("{name}."), inner, keys);
        }
        if !keys.contains(&name) {
            keys.push(name);
        }
    }
}

/// A mistake found before the script was run.
pub(super) fn unreadable(error: &rhai::ParseError, text: &str) -> Diagnostic {
    match error.err_type() {
        rhai::ParseErrorType::VariableUndefined(name) => no_variable(name, text),
        other => Diagnostic::error(other.to_string()),
    }
}

fn no_variable(name: &str, text: &str) -> Diagnostic {
    let words: Vec<&str> =
        text.split(|c: char| !c.is_alphanumeric() && c != '_').filter(|w| !w.is_empty()).collect();
    let names = words.windows(2).filter(|w| matches!(w[0], "let" | "const" | "for" | "as")).map(|w| w[1]);
    Diagnostic::error(format!("there is no variable {name}")).near(suggest(name, names))
}
