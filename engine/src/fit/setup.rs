//! Parameters of a setup from readings, and the setup that results.

use super::{FitError, Fitted, Observation, Options, Unknown, fit};
use crate::diagnostic::{Diagnostic, Diagnostics, suggest};
use crate::part::PartKind;
use crate::setup::{Setup, Sort, describe};
use crate::text_table::figure;
use crate::units::{self, Dimension, Unit};
use std::fmt::Write;

/// A setup in, what would be read out, in the order of the observations.
pub type PredictSetup<'a> = dyn FnMut(&Setup) -> Result<Vec<f64>, String> + 'a;

/// The same setup with these parameters, such as `shaft.inertia`, at these SI values (temperatures in °C).
///
/// # Errors
/// As [`Setup::change`], and where the part does not take the value.
pub fn changed(setup: &Setup, kinds: &[PartKind], values: &[(&str, f64)]) -> Result<Setup, Diagnostics> {
    let mut changed = setup.clone();
    let mut problems = Diagnostics::new();
    for (name, value) in values {
        if let Err(more) = changed.change(name, *value, "fit") {
            problems.extend(more);
        }
    }
    for (name, _) in values {
        if let Err(more) = changed.check_value(name, kinds) {
            problems.extend(more);
        }
    }
    problems.or(changed)
}

/// Finds parameters of a setup, named `part.parameter`, in SI units (temperatures in °C). A value
/// that a part refuses is a trial without prediction.
///
/// # Errors
/// As [`fit()`], and for names that are no numeric parameters of the setup.
pub fn fit_setup(
    setup: &Setup,
    kinds: &[PartKind],
    unknowns: &[Unknown],
    observations: &[Observation],
    predict: &mut PredictSetup,
    options: &Options,
) -> Result<Fitted, FitError> {
    let names: Vec<&str> = unknowns.iter().map(|unknown| unknown.name.as_str()).collect();
    let mut problems = Diagnostics::new();
    for name in &names {
        if let Err(error) = dimension(setup, kinds, name) {
            problems.push(error);
        }
    }
    problems.or(()).map_err(|told| FitError::Setup(Box::new(told)))?;
    let mut of_values = |x: &[f64]| {
        let values: Vec<(&str, f64)> = names.iter().copied().zip(x.iter().copied()).collect();
        let setup = changed(setup, kinds, &values).map_err(|told| one_line(&told))?;
        predict(&setup)
    };
    fit(unknowns, observations, &mut of_values, options)
}

fn one_line(problems: &Diagnostics) -> String {
    problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}

/// What kind of number a parameter is.
///
/// # Errors
/// There is no such part or parameter, or it is no number with a unit.
pub fn dimension(setup: &Setup, kinds: &[PartKind], name: &str) -> Result<Dimension, Diagnostic> {
    let Some((part, key)) = name.split_once('.').filter(|(part, key)| !part.is_empty() && !key.contains('.'))
    else {
        let error = Diagnostic::error(format!("`{name}` is no parameter"));
        return Err(error.expected("a name such as `part.parameter`"));
    };
    let Some((_, kind, _)) = setup.instances().find(|(known, _, _)| *known == part) else {
        let near = suggest(part, setup.instances().map(|(known, _, _)| known));
        return Err(Diagnostic::error(format!("`{name}`: there is no part `{part}`")).near(near));
    };
    let Some(kind) = kinds.iter().find(|known| known.name == kind) else {
        return Err(Diagnostic::error(format!("`{name}`: there is no kind of part called `{kind}`")));
    };
    let doc = describe(kind);
    let Some(param) = doc.params.iter().find(|param| param.key == key) else {
        let near = suggest(key, doc.params.iter().map(|param| param.key));
        let error = Diagnostic::error(format!("`{name}`: `{part}` has no parameter `{key}`"));
        return Err(error.near(near));
    };
    match param.sort {
        Sort::Value(dimension) => Ok(dimension),
        _ => {
            let error = Diagnostic::error(format!("`{name}` cannot be found by a fit"));
            Err(error.expected("a number with a unit").found(param.expected()))
        }
    }
}

/// Range that a part takes for a parameter, SI; none where it says none, or where there is no such parameter.
pub fn range(setup: &Setup, kinds: &[PartKind], name: &str) -> Option<(f64, f64)> {
    let (part, key) = name.split_once('.')?;
    let (_, kind, _) = setup.instances().find(|(known, _, _)| *known == part)?;
    let doc = describe(kinds.iter().find(|known| known.name == kind)?);
    doc.params.iter().find(|param| param.key == key)?.within
}

/// A small setup on top of another one, `based_on` as that file is named from where this one
/// will lie: only what was found, each value to its last digit and its standard error beside it.
///
/// # Errors
/// A parameter that is none of this setup.
pub fn written(
    fitted: &Fitted,
    setup: &Setup,
    kinds: &[PartKind],
    based_on: &str,
) -> Result<String, Diagnostics> {
    let all = fitted.names.iter().enumerate();
    let lines: Vec<Line> = all.map(|(place, parameter)| Line { place, parameter, unit: None }).collect();
    written_with(fitted, &lines, "", setup, kinds, based_on)
}

/// A parameter of a setup that was found.
#[derive(Debug, Clone, Copy)]
pub struct Line<'a> {
    /// Place among what was found.
    pub place: usize,
    /// Its name in the setup, `part.parameter`.
    pub parameter: &'a str,
    /// Unit in which it is told beside its exact value; SI if there is none.
    pub unit: Option<Unit>,
}

/// As [`written`], with only some of what was found, under a title with an addition. What was changed in the setup since it
/// was read is written too: the file it is based on does not have it.
///
/// # Errors
/// A parameter that is none of this setup.
pub fn written_with(
    fitted: &Fitted,
    found: &[Line],
    addition: &str,
    setup: &Setup,
    kinds: &[PartKind],
    based_on: &str,
) -> Result<String, Diagnostics> {
    let mut problems = Diagnostics::new();
    // parts in the order of their first parameter, each once
    let mut parts: Vec<(&str, Vec<String>)> = Vec::new();
    let mut put = |part, line: String| match parts.iter_mut().find(|(known, _)| *known == part) {
        Some((_, lines)) => lines.push(line),
        None => parts.push((part, vec![line])),
    };
    let mut whole = String::new();
    let last = |path: &str| setup.changes().iter().rev().find(|(known, _)| known == path);
    for (place, (path, _)) in setup.changes().iter().enumerate() {
        let again = setup.changes()[..place].iter().any(|(known, _)| known == path);
        if again || found.iter().any(|line| line.parameter == path) {
            continue;
        }
        let Some((_, text)) = last(path) else { continue };
        match path.split_once('.') {
            Some((part, key)) => put(part, format!("    {}: {}", quoted(key), printable(text))),
            None => whole.push_str(&format!("  {}: {}\n", quoted(path), printable(text))),
        }
    }
    for line in found {
        let dimension = match dimension(setup, kinds, line.parameter) {
            Ok(dimension) => dimension,
            Err(error) => {
                problems.push(error);
                continue;
            }
        };
        let (part, key) = line.parameter.split_once('.').unwrap_or((line.parameter, ""));
        let value = format!("{} {}", units::number(fitted.values[line.place]), dimension.si);
        put(
            part,
            format!("    {}: {}  # {}", quoted(key), value.trim_end(), comment(fitted, line, dimension)),
        );
    }
    problems.or(())?;
    let title = match (setup.title(), addition) {
        ("", "") => "Fitted to readings".to_owned(),
        ("", addition) => format!("Fitted to readings, {addition}"),
        (title, "") => format!("{title}, fitted to readings"),
        (title, addition) => format!("{title}, fitted to readings, {addition}"),
    };
    let (n, chi2, dof) = (fitted.residuals.len(), fitted.chi2, fitted.dof);
    let mut out = format!("setup: 1\ntitle: {}\nbased_on: {}\n", quoted(&title), quoted(based_on));
    _ = writeln!(out, "# {n} readings; weighted squares left over {chi2:.4}, {dof} degrees of freedom");
    for lost in &fitted.unidentified {
        _ = writeln!(out, "# {}", printable(&lost.to_string()));
    }
    out.push_str("parts:\n");
    out.push_str(&whole);
    for (part, lines) in parts {
        _ = writeln!(out, "  {}:\n{}", quoted(part), lines.join("\n"));
    }
    Ok(out)
}

fn comment(fitted: &Fitted, line: &Line, dimension: Dimension) -> String {
    let (name, error) = (&fitted.names[line.place], fitted.errors[line.place]);
    let bound = fitted.at_bound.iter().any(|(known, _)| known == name);
    let mut text = match (error.is_finite(), line.unit) {
        (true, Some(unit)) => {
            let (value, error) = (figure(unit.of(fitted.values[line.place])), figure(error / unit.factor));
            format!("{value} ± {error} {}", unit.name).trim_end().to_owned() + ", one standard error"
        }
        (true, None) => format!("± {}, one standard error", units::show(error, dimension)),
        (false, _) => "the readings do not tell it".to_owned(),
    };
    if bound {
        text.push_str("; on its bound");
    }
    text
}

/// A text on one line: what breaks lines would end a comment.
fn printable(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// A word as it is, or in double quotes, which JSON shares with YAML. A word that could be
/// read as something else than a text begins with one of few letters.
fn quoted(text: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '_';
    let first = text.chars().next().is_some_and(|c| c.is_ascii_lowercase());
    let odd = ["null", "true", "false", "yes", "no", "on", "off", "y", "n"].contains(&text);
    if first && text.chars().all(plain) && !odd {
        text.into()
    } else {
        serde_json::Value::from(text).to_string()
    }
}
