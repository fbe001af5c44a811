//! What a kind of part takes, for lists and documentation.

use super::param::{Param, Sort};
use super::params::Params;
use crate::diagnostic::Diagnostic;
use crate::part::PartKind;

/// A kind of part and its parameters.
#[derive(Debug, Clone)]
pub struct PartDoc {
    /// Name in a setup.
    pub name: &'static str,
    /// What it is.
    pub about: &'static str,
    /// Parameters, in the order they are read.
    pub params: Vec<Param>,
    /// What is wrong with the kind itself: a default that does not fit, a key asked for twice.
    pub faults: Vec<Diagnostic>,
}

/// Asks a kind of part for its parameters. Those that are read only for one
/// word of a choice are found by choosing each word in turn, and say so.
pub fn describe(kind: &PartKind) -> PartDoc {
    let list = |choose| {
        let mut params = Params::listing(kind.name, choose);
        (kind.read)(&mut params);
        params.finish(true)
    };
    let (mut params, mut faults, _) = list(None);
    for choice in params.clone() {
        let Sort::Choice(words) = &choice.sort else {
            continue;
        };
        for word in words {
            let (more, other_faults, _) = list(Some((choice.key, word)));
            faults
                .extend(other_faults.into_iter().filter(|fault| !faults.contains(fault)).collect::<Vec<_>>());
            for param in more {
                if !params.iter().any(|known| known.key == param.key) {
                    params.push(param);
                }
            }
        }
    }
    PartDoc { name: kind.name, about: kind.about, params, faults }
}
