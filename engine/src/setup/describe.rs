//! What a kind of part takes, for lists and documentation.

use super::param::{Param, Sort};
use super::params::Params;
use crate::diagnostic::{Diagnostic, suggest};
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

/// "did you mean …?" for the name of a kind: a slip, or a word that is part of the name.
pub(crate) fn near_kind(name: &str, kinds: &[PartKind]) -> Option<String> {
    let names = || kinds.iter().map(|kind| kind.name);
    let slip = suggest(name, names()).map(|near| format!("did you mean `{near}`?"));
    let among = |fits: &dyn Fn(&str) -> bool| -> Vec<String> {
        names().filter(|known| fits(known)).map(|known| format!("`{known}`")).collect()
    };
    let mut found = Vec::new();
    // one or two letters are part of nearly every name
    if name.len() > 2 {
        found = among(&|known| known.starts_with(name));
        if found.is_empty() {
            found = among(&|known| known.contains(name));
        }
    }
    if found.is_empty() { slip } else { Some(format!("did you mean {}?", found.join(" or "))) }
}
