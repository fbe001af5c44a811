//! The propeller of a setup, as far as it can be cut.

use engine::analysis::Craft;
use engine::diagnostic::{Diagnostic, Diagnostics, suggest};
use engine::part::PartKind;
use engine::setup::describe;
use engine::units::{self, Dimension, LENGTH, NUMBER};

use super::WAYS;
use crate::nomenclature::THRUST;
use crate::steady::trim::owner;

/// What the setup says of its propeller.
pub struct Blades {
    /// Name of the part.
    pub part: String,
    /// The way it has been cut already, and how much, m.
    pub already: Option<(String, f64)>,
    /// K_T and K_Q factors, and exponents of the cut, as they stand.
    pub factors: [f64; 4],
    /// What to say of it.
    pub notes: Vec<String>,
}

/// Parameters that a draw changes, in the order of [`Blades::factors`].
pub const FACTORS: [&str; 4] =
    ["thrust_factor", "torque_factor", "cut_thrust_exponent", "cut_torque_exponent"];

impl Blades {
    /// # Errors
    /// There is not one propeller, or it is of a kind that cannot be cut.
    pub fn of(craft: &Craft, kinds: &[PartKind]) -> Result<Blades, Diagnostics> {
        let part = propeller(craft)?;
        let kind =
            craft.setup.instances().find(|(name, ..)| *name == part).map(|(_, kind, _)| kind.to_string());
        let cuts = |kind: &&PartKind| describe(kind).params.iter().any(|p| p.key == "cut");
        let able: Vec<&str> = kinds.iter().filter(cuts).map(|k| k.name).collect();
        let known = kind.as_deref().unwrap_or_default();
        if !able.contains(&known) {
            let error = Diagnostic::error(format!("{part} is a `{known}`, which has no blades to cut"));
            return Err(error.help(format!("describe it as one of: {}", able.join(", "))).into());
        }
        let whole = craft.setup.write(kinds)?;
        let word = |key: &str| value(&whole, &part, key).unwrap_or_default();
        let number = |key: &str, dimension: Dimension, default: f64| {
            units::parse(word(key), dimension).unwrap_or(default)
        };
        let removed = number("removed", LENGTH, 0.0);
        let already = (removed > 0.0).then(|| (word("cut").to_string(), removed));
        let factors = FACTORS.map(|key| number(key, NUMBER, if key.starts_with("cut") { 0.0 } else { 1.0 }));
        let notes = already.iter().map(|(way, removed)| {
            format!(
                "the setup's propeller has been cut already ({way}, {:.1} mm): metal does not grow back, so only this way \
                 goes on, counted from the whole blade",
                1e3 * removed
            )
        });
        Ok(Blades { notes: notes.collect(), part, already, factors })
    }

    /// Ways of cutting that are open, of those that were asked for; of all if none were.
    ///
    /// # Errors
    /// There is no such way, or it is not open any more.
    pub fn ways(&self, asked: &[&str]) -> Result<Vec<String>, Diagnostics> {
        let open: Vec<&str> = match &self.already {
            Some((way, _)) => vec![way],
            None => WAYS.into(),
        };
        let mut problems = Diagnostics::new();
        for way in asked.iter().filter(|way| !open.contains(way)) {
            let error = match (WAYS.contains(way), &self.already) {
                (true, Some((cut, _))) => Diagnostic::error(format!(
                    "{} has been cut another way already ({cut}): only this goes on",
                    self.part
                )),
                _ => Diagnostic::error("there is no such way of cutting")
                    .near(suggest(way, open.iter().copied())),
            };
            problems.push(error.expected(open.join(", ")).found(*way));
        }
        let looked_at = open.into_iter().filter(|way| asked.is_empty() || asked.contains(way));
        problems.or(looked_at.map(String::from).collect())
    }

    /// What is removed in all, m, rising: from where it is now, all that was asked for beyond.
    pub fn steps(&self, asked: &[f64]) -> Vec<f64> {
        let now = self.already.as_ref().map_or(0.0, |(_, removed)| *removed);
        let mut all: Vec<f64> = asked.iter().copied().filter(|x| *x > now).collect();
        all.push(now);
        all.sort_by(f64::total_cmp);
        all.dedup();
        all
    }
}

/// Name of the one part that thrusts.
///
/// # Errors
/// There are none or several.
pub fn propeller(craft: &Craft) -> Result<String, Diagnostics> {
    match craft.model.providers(THRUST.name)[..] {
        [one] => Ok(owner(&craft.model, one).to_string()),
        [] => {
            let error =
                Diagnostic::error("there is no propeller in this setup, so there are no blades to cut");
            Err(error
                .help("give a setup with a whole drive: battery, controller, motor, shaft and propeller")
                .into())
        }
        ref others => {
            let error = Diagnostic::error(format!("there are {} propellers in this setup", others.len()));
            Err(error.expected("one").help("remove the others, as in `part_name: ~`").into())
        }
    }
}

/// A value in a setup written out: `    key: value` below `  part:`.
pub(super) fn value<'a>(whole: &'a str, part: &str, key: &str) -> Option<&'a str> {
    let head = format!("  {part}:");
    let inside =
        whole.lines().skip_while(|line| **line != head).skip(1).take_while(|line| line.starts_with("    "));
    let mut values = inside.filter_map(|line| line.trim_start().strip_prefix(key)?.strip_prefix(':'));
    values.next().map(|text| text.trim().trim_matches(['"', '\'']))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_found_in_their_own_part() {
        let whole = "parts:\n  a:\n    removed: 3 mm\n  b:\n    removed_not: 1\n    removed: \"4 mm\"\n  c:\n    cut: tip\n";
        assert_eq!(value(whole, "b", "removed"), Some("4 mm"));
        assert_eq!(value(whole, "b", "cut"), None);
        assert_eq!(value(whole, "d", "cut"), None);
    }
}
