//! What somebody believes of the drive, held against what was found from the readings, and the
//! one reading that would decide.
//!
//! The probability of a belief is the share of draws of all parameters together, from the normal
//! distribution of the fit, in which it is true; the reading that would decide is the one, of those not taken,
//! after which the quantity is known best, by slopes at the best fit.
//!
//! Limits: what the model leaves out is in no probability. One that does not fit its readings is too sure of
//! itself.

mod claim;
pub(crate) mod measure;
mod text;

use engine::analysis::Answer;
use engine::calibration::Calibrated;
use engine::diagnostic::Diagnostics;
use engine::fit::Outlook;
use engine::inquiry::{Inquiry, Key, Said, not_told};
use serde_json::{Map, Value, json};

use claim::Claim;

/// The word of the script.
pub const INQUIRY: Inquiry = Inquiry {
    name: "believe",
    about: "whether the readings refute or support a belief, and what would decide",
    keys: &[
        key("says", "the belief in words", true),
        key("readings", "name of the readings it is about; not needed if there is one set", false),
        key("throttle", "throttle it is about, such as \"60 %\"; the highest read if left out", false),
        key("limit", "the limit believed to bind, such as \"battery current\"", false),
        key("quantity", "the quantity believed to be so much, such as \"shaft_speed\"", false),
        key("value", "how much, such as \"2400 rpm\"; how many times, with `ratio_to`", false),
        key("within", "how far off still counts as right, such as \"100 rpm\"", false),
        key("ratio_to", "name of the readings whose quantity it is so many times of", false),
    ],
    always: false,
    answer,
};

const fn key(name: &'static str, about: &'static str, required: bool) -> Key {
    Key { name, about, required }
}

/// Draws: a probability of 5 % is known to 1 %.
const DRAWS: u64 = 500;
/// Probability below which a belief is refuted.
const REFUTED: f64 = 0.05;
/// Probability above which it is supported.
const SUPPORTED: f64 = 0.95;

/// What the readings say of a belief.
struct Opinion {
    /// Probability that it is true.
    pub probability: f64,
    /// What it is about, with the standard deviation that the parameters give it.
    pub outlook: Outlook,
    /// The reading that would decide, with the standard deviation it leaves.
    pub deciding: Option<(&'static measure::Usual, measure::At, f64)>,
}

impl Opinion {
    /// In a word.
    pub fn word(&self) -> &'static str {
        match self.probability {
            p if p < REFUTED => "refuted",
            p if p > SUPPORTED => "supported",
            _ => "open",
        }
    }
}

/// Holds a belief against a fit.
///
/// # Errors
/// Nothing is predicted at the best fit or beside it, or a parameter that nothing tells leaves it without
/// a distribution; in words.
fn opinion(found: &Calibrated, claim: &Claim, seed: u64) -> Result<Opinion, String> {
    let (problem, fitted) = (&*found.problem, &found.fitted);
    let mut value = |x: &[f64]| claim.value(problem, x);
    let outlook = fitted.predict_with(&mut value).map_err(|error| error.to_string())?;
    let draws = fitted.samples(DRAWS, seed).map_err(|error| error.to_string())?;
    let values: Vec<f64> = draws.iter().filter_map(|x| claim.value(problem, x).ok()).collect();
    // a draw for which there is no steady state speaks neither for nor against
    if values.len() * 2 < draws.len() {
        return Err("for most values that the fit allows nothing is predicted".into());
    }
    let probability = values.iter().filter(|v| claim.holds(**v)).count() as f64 / values.len().max(1) as f64;
    let deciding = measure::deciding(problem, fitted, &claim.places(), &mut value, outlook);
    Ok(Opinion { probability, outlook, deciding })
}

fn answer(found: &Calibrated, said: &Said) -> Result<Answer, Diagnostics> {
    let claim = Claim::read(found, said)?;
    let opinion = match opinion(found, &claim, said.seed) {
        Ok(opinion) => opinion,
        Err(why) => {
            let help = "say more of the parameters beforehand, or read more";
            return Ok(not_told(&format!("Belief: {}", claim.says.trim()), &format!("{why}; {help}")));
        }
    };
    let finite = |x: f64| if x.is_finite() { json!(x) } else { Value::Null };
    let mut values = Map::new();
    values.insert("says".into(), json!(claim.says));
    values.insert("verdict".into(), json!(opinion.word()));
    values.insert("probability".into(), json!(opinion.probability));
    values.insert("mean".into(), finite(opinion.outlook.mean));
    values.insert("standard_deviation".into(), finite(opinion.outlook.sd));
    let deciding = opinion.deciding.map(|(usual, at, after)| {
        json!({"quantity": usual.kind, "readings": found.problem.sets[at.set].name,
               "throttle": at.throttle(&found.problem), "standard_deviation_after": finite(after)})
    });
    values.insert("deciding".into(), deciding.unwrap_or(Value::Null));
    Ok(Answer { text: text::text(found, &claim, &opinion), values, ..Answer::default() })
}
