//! The model of a setup: its parts put together.

use std::sync::Arc;

use super::{Instance, Setup};
use crate::diagnostic::{Diagnostic, Diagnostics, Place};
use crate::model::{self, Model, Problem, Problems};
use crate::part::PartKind;

/// Readers named for one missing quantity; the first few say enough.
const READERS: usize = 4;

impl From<Instance> for model::Instance {
    fn from(i: Instance) -> Self {
        model::Instance { name: i.name, part: Arc::from(i.part), from: i.from }
    }
}

impl Setup {
    /// Reads all parts and puts them together.
    ///
    /// # Errors
    /// Everything wrong with any of them, or with how they fit.
    pub fn model(&self, kinds: &[PartKind]) -> Result<Model, Diagnostics> {
        self.fit(self.read_parts(kinds)?)
    }

    /// Puts parts together that have been read from this setup.
    ///
    /// # Errors
    /// Everything wrong with how they fit.
    pub fn fit(&self, parts: Vec<Instance>) -> Result<Model, Diagnostics> {
        Model::build(parts.into_iter().map(Into::into).collect()).map_err(|p| self.misfits(&p))
    }

    /// A model with one part read anew, as it stands in this setup now, and what is unusual about its values.
    ///
    /// # Errors
    /// Everything wrong with the part, or with how it fits.
    pub(crate) fn refit(
        &self,
        model: &Model,
        name: &str,
        kinds: &[PartKind],
    ) -> Result<(Arc<Model>, Vec<Diagnostic>), Diagnostics> {
        let part = self.read_part(name, kinds)?;
        let changed = model.with_part(name, Arc::from(part.part)).map_err(|p| self.misfits(&p))?;
        Ok((Arc::new(changed), part.warnings))
    }

    /// Mistakes in how parts fit together, told where the part in question stands.
    /// A quantity that nobody provides is told once, with all that read it.
    pub(crate) fn misfits(&self, problems: &Problems) -> Diagnostics {
        let mut told = Diagnostics::new();
        let mut missing: Vec<Missing> = Vec::new();
        for problem in &problems.0 {
            match problem {
                Problem::NobodyWrites { reader, kind, unit, hint } => {
                    match missing.iter_mut().find(|m| m.kind == kind && m.unit == unit) {
                        Some(known) => known.readers.push(reader),
                        None => missing.push(Missing { kind, unit, hint, readers: vec![reader] }),
                    }
                }
                other => {
                    let part = part_of(other);
                    let message = other.to_string();
                    // the place names the part already
                    let rest = message.strip_prefix(part).and_then(|rest| rest.strip_prefix(": "));
                    let error = Diagnostic::error(rest.unwrap_or(&message));
                    told.push(error.at(self.place_of(part)));
                }
            }
        }
        for Missing { kind, unit, hint, readers } in missing {
            let shown = readers[..readers.len().min(READERS)].join(", ");
            let more = match readers.len().saturating_sub(READERS) {
                0 => String::new(),
                n => format!(" and {n} more"),
            };
            let error = Diagnostic::error(format!(
                "no part of this setup provides {kind} [{unit}], which is read by {shown}{more}{hint}"
            ));
            // the readers are named in full: the place needs no key
            let place = Place { key: String::new(), ..self.place_of(first_word(readers[0])) };
            told.push(error.help("add the part that provides it").at(place));
        }
        told
    }
}

/// A quantity that nobody provides, and the equations that read it.
struct Missing<'a> {
    kind: &'a str,
    unit: &'a str,
    hint: &'a str,
    readers: Vec<&'a str>,
}

/// The part a mistake is about; readers are called `part: equation`.
fn part_of(problem: &Problem) -> &str {
    let name = match problem {
        Problem::NobodyWrites { reader, .. } | Problem::WrongSource { reader, .. } => reader,
        Problem::Ambiguous { instance, .. }
        | Problem::TwoWriters { instance, .. }
        | Problem::TwoEquations { instance, .. }
        | Problem::UnusedSource { instance, .. }
        | Problem::NoInstance { instance, .. }
        | Problem::OutOfRange { instance, .. }
        | Problem::NotOwned { instance, .. }
        | Problem::NoRate { instance, .. }
        | Problem::NotFinite { instance, .. } => instance,
        Problem::Ring { ring } => ring.first().map_or("", String::as_str),
        Problem::Clash { .. } => "",
    };
    first_word(name)
}

fn first_word(reader: &str) -> &str {
    reader.split(':').next().unwrap_or_default()
}
