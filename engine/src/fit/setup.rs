//! Parameters of a setup from readings, and the setup that results.

use super::Fitted;
use crate::diagnostic::{Diagnostic, Diagnostics, suggest};
use crate::part::PartKind;
use crate::setup::{Difference, Setup, Sort, describe, word};
use crate::text_table::figure;
use crate::units::{self, Dimension, Unit};
use std::fmt::Write;
use std::path::Path;

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

/// Chance of so much being left over below which a model is said not to fit.
pub const UNLIKELY: f64 = 0.01;

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

/// A small setup on top of the file that a setup was read from, `named` as files are called from where it will lie: what
/// was changed in the setup since it was read, and some of what was found, each value to its last digit and its standard
/// error beside it. `addition` goes into the title.
///
/// # Errors
/// A parameter that is none of this setup.
pub fn written(
    fitted: &Fitted,
    found: &[Line],
    addition: &str,
    setup: &Setup,
    kinds: &[PartKind],
    named: &dyn Fn(&Path) -> String,
) -> Result<String, Diagnostics> {
    let mut problems = Diagnostics::new();
    let mut parts: Vec<(String, Vec<String>)> = Vec::new();
    let mut gone = String::new();
    for Difference { part, lines } in setup.differences(kinds, named) {
        let Some(lines) = lines else {
            _ = writeln!(gone, "  {}: ~", word(&part));
            continue;
        };
        let sought = |key: &str| found.iter().any(|line| line.parameter == format!("{part}.{key}"));
        let lines = lines.into_iter().filter(|(key, _)| !sought(key));
        let lines = lines.map(|(key, text)| format!("    {}: {text}", word(&key))).collect();
        parts.push((part, lines));
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
        let line = format!("    {}: {}  # {}", word(key), value.trim_end(), comment(fitted, line, dimension));
        match parts.iter_mut().find(|(known, _)| known == part) {
            Some((_, lines)) => lines.push(line),
            None => parts.push((part.into(), vec![line])),
        }
    }
    problems.or(())?;
    let title = match (setup.title(), addition) {
        ("", "") => "Fitted to readings".to_owned(),
        ("", addition) => format!("Fitted to readings, {addition}"),
        (title, "") => format!("{title}, fitted to readings"),
        (title, addition) => format!("{title}, fitted to readings, {addition}"),
    };
    let (n, chi2, dof) = (fitted.residuals.len(), fitted.chi2, fitted.dof);
    let based_on = setup.file().map(named).unwrap_or_default();
    let mut out = format!("setup: 1\ntitle: {}\nbased_on: {}\n", word(&title), word(&based_on));
    _ = writeln!(out, "# {n} readings; weighted squares left over {chi2:.4}, {dof} degrees of freedom");
    if fitted.chance().is_some_and(|chance| chance < UNLIKELY) {
        out.push_str(
            "# WARNING: the model does not fit these readings within their uncertainties; every error below is too small\n",
        );
    }
    for lost in &fitted.unidentified {
        _ = writeln!(out, "# {}", printable(&lost.to_string()));
    }
    out.push_str("parts:\n");
    for (part, lines) in parts {
        _ = match lines.is_empty() {
            true => writeln!(out, "  {}: {{}}", word(&part)),
            false => writeln!(out, "  {}:\n{}", word(&part), lines.join("\n")),
        };
    }
    out.push_str(&gone);
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
