//! `parts`: what a setup can hold.

use std::fmt::Write;

use super::Ending;
use super::output::Output;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::scenario::Catalogue;
use crate::setup::{describe, near_kind};

pub(super) fn parts(
    catalogue: &Catalogue,
    name: Option<&str>,
    output: &mut Output,
) -> Result<Ending, Diagnostics> {
    let chosen: Vec<_> =
        catalogue.parts.iter().filter(|kind| name.is_none_or(|name| kind.name == name)).collect();
    if let (Some(name), true) = (name, chosen.is_empty()) {
        let error = Diagnostic::error(format!("there is no kind of part called `{name}`"));
        let help = near_kind(name, catalogue.parts).unwrap_or("`parts` alone lists them all".into());
        return Err(error.help(help).into());
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
            facts.extend(param.within.map(|range| format!("allowed {}", param.range_text(range))));
            facts.extend(param.usual.map(|range| format!("usual {}", param.range_text(range))));
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
