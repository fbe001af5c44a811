//! Which values of a setup a study varies, so that no two of them fight over one.

use super::study::Varied;
use super::told::raise;
use crate::diagnostic::Diagnostic;
use rhai::EvalAltResult;

/// Refuses two variations one of which would undo the other: the table would show a
/// value that the craft does not have.
///
/// `paths`: what each of `varied` sets, in the same order; a later one is done after.
pub(super) fn apart(varied: &[&Varied], paths: &[Vec<String>]) -> Result<(), Box<EvalAltResult>> {
    for (i, (later, sets)) in varied.iter().zip(paths).enumerate() {
        for (earlier, before) in varied.iter().zip(paths).take(i) {
            let undone = before.iter().find(|path| sets.iter().any(|own| undoes(own, path)));
            if let Some(path) = undone {
                let (a, b) = (&earlier.axis.name, &later.axis.name);
                let error =
                    Diagnostic::error(format!("{a} and {b} both set {path}, and the second would win"));
                let help = if sets.contains(path) {
                    "let one of them set it"
                } else {
                    "state first what exchanges a whole part"
                };
                return Err(raise(error.help(help).at(later.at.clone())));
            }
        }
    }
    Ok(())
}

/// Whether a change of `path` loses what was set at `before`: the same value, or the
/// whole that it belongs to.
fn undoes(path: &str, before: &str) -> bool {
    before.strip_prefix(path).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
}

#[cfg(test)]
mod tests {
    use super::undoes;

    #[test]
    fn a_whole_undoes_what_was_set_in_it() {
        assert!(undoes("a.b", "a.b") && undoes("a", "a.b"));
        assert!(!undoes("a.b", "a") && !undoes("a.b", "a.bc") && !undoes("a.b", "c"));
    }
}
