//! `parts`: what a setup can hold.

use std::fmt::Write;

use super::Ending;
use super::output::Output;
use crate::diagnostic::{Diagnostic, Diagnostics, suggest};
use crate::scenario::Catalogue;
use crate::setup::describe;
use crate::setup::{Sort, range_text};

pub(super) fn parts(
    catalogue: &Catalogue,
    name: Option<&str>,
    output: &mut Output,
) -> Result<Ending, Diagnostics> {
    let chosen: Vec<_> =
        catalogue.parts.iter().filter(|kind| name.is_none_or(|name| kind.name == name)).collect();
    if let (Some(name), true) = (name, chosen.is_empty()) {
        let near = suggest(name, catalogue.parts.iter().map(|kind| kind.name));
        return Err(Diagnostic::error(format!("there is no kind of part called `{name}`")).near(near).into());
    }
    let mut text = String::new();
    for kind in chosen {
        let doc = describe(kind);
        let _ = writeln!(text, "{}: {}", kind.name, kind.about);
        for param in &doc.params {
            let _ = writeln!(text, "  {}: {}", param.key, param.about);
            let mut facts = vec![param.expected()];
            match (&param.default, param.required) {
                (Some(default), _) => facts.push(format!("default {default}")),
                (None, true) => facts.push("required".into()),
                (None, false) => facts.push("optional".into()),
            }
            if let Sort::Value(dimension) = param.sort {
                facts.extend(param.within.map(|range| format!("allowed {}", range_text(range, dimension))));
                facts.extend(param.usual.map(|range| format!("usual {}", range_text(range, dimension))));
            }
            facts.extend(param.when.as_ref().map(|when| format!("only with {when}")));
            if let Some(source) = param.source {
                facts.push(format!("source: {source}"));
            }
            let _ = writeln!(text, "      {}", facts.join("; "));
        }
        text.push('\n');
    }
    output.text(text.trim_end())?;
    Ok(Ending::Well)
}
