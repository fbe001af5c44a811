//! Writing a setup out, complete: nothing inherited, nothing left to a default.

use super::param::{Param, Sort, Written};
use super::{Setup, head, yaml};
use crate::diagnostic::Diagnostics;
use crate::part::PartKind;
use crate::units;
use std::fmt::Write;

impl Setup {
    /// The setup as one file with all its defaults, so that it still means the
    /// same when a default or a setup it was based on has changed.
    ///
    /// # Errors
    /// Everything that stands in the way of reading it.
    pub fn write(&self, kinds: &[PartKind]) -> Result<String, Diagnostics> {
        let mut problems = Diagnostics::new();
        let mut out = format!("setup: {}\n", head::FORMAT);
        for key in ["title", "notes"] {
            if let Some(text) = self.tree.get(key).and_then(super::node::Node::text) {
                _ = writeln!(out, "{key}: {}", yaml::scalar(text));
            }
        }
        out.push_str("parts:\n");
        for (name, node) in self.parts() {
            match self.read(name, node, kinds) {
                Ok((instance, params)) => {
                    _ = writeln!(out, "  {name}:\n    part: {}", yaml::scalar(instance.kind));
                    if !instance.from.is_empty() {
                        out.push_str("    from:\n");
                    }
                    for (quantity, part) in &instance.from {
                        _ = writeln!(out, "      {}: {}", yaml::scalar(quantity), yaml::scalar(part));
                    }
                    params.iter().for_each(|param| write_param(&mut out, param));
                }
                Err(more) => problems.extend(more),
            }
        }
        problems.or(out)
    }
}

fn write_param(out: &mut String, param: &Param) {
    match (&param.written, &param.sort) {
        (Some(Written::Text(text)), _) => _ = writeln!(out, "    {}: {}", param.key, plain(text)),
        (Some(Written::Table(columns)), Sort::Table(headings)) => {
            _ = writeln!(out, "    {}:", param.key);
            for ((name, dimension), values) in headings.iter().zip(columns) {
                let heading = if dimension.si.is_empty() {
                    (*name).to_owned()
                } else {
                    format!("{name} [{}]", dimension.si)
                };
                let values: Vec<_> = values.iter().map(|x| units::number(*x)).collect();
                _ = writeln!(out, "      {}: [{}]", yaml::scalar(&heading), values.join(", "));
            }
        }
        _ => {}
    }
}

/// A number stays a number, in the one spelling it has when it is read back; other
/// text is quoted where it must be.
fn plain(text: &str) -> String {
    text.parse().map_or_else(|_| yaml::scalar(text), units::number)
}
