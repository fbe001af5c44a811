//! A tare that was not taken: the scale shows so much more, or less, at every pull. That is no change of a column but one more
//! number to be found. It explains a little of any readings; what a search for it costs is taken off before it is told.

use engine::calibration::{Calibrated, Role};

use super::cut;
use super::judge::{Judgement, THRESHOLD};
use crate::lever::SCALE_READING;

/// What a scale that was not put to nothing may show, a standard deviation, kg; an assumption: a hook, a wet line, a strut.
const SPREAD: f64 = 5.0;
/// Keys of a lever by which a script seeks it already.
const SOUGHT: [&str; 2] = ["scale_offset", "tare"];

/// What a scale seems to show at no pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zero {
    /// kg.
    pub shown: f64,
    /// Its standard error, kg.
    pub error: f64,
    /// Squares left over less, over what the better way of reading leaves over per degree of freedom where that is more than 1,
    /// less the price of the search: twice the logarithm of what was possible over what is left of it.
    pub gain: f64,
    /// Whether nothing else that was looked for explains more, by as much as makes a difference.
    pub likeliest: bool,
}

/// The zero of the scales of a fit, taken together, if the readings speak for one.
pub fn zero(found: &Calibrated, judgement: &Judgement) -> Option<Zero> {
    let problem = &*found.problem;
    let sites = problem.sites();
    let concerned: Vec<bool> = sites
        .iter()
        .map(|site| {
            let channel = &problem.sets[site.set].channels[site.spot.channel];
            channel.kind == SCALE_READING.name && channel.role == Role::Seen
        })
        .collect();
    let sought = problem.sought.iter().any(|s| SOUGHT.iter().any(|key| s.parameter.ends_with(key)));
    if sought || !concerned.contains(&true) {
        return None;
    }
    let as_read = &judgement.as_read;
    let with = cut::with_zero(problem, &concerned, SPREAD, Some(&as_read.fitted.values)).ok()?;
    let shown = *with.fitted.values.last()?;
    let error = *with.fitted.errors.last()?;
    if !(error > 0.0 && error.is_finite() && shown.is_finite()) {
        return None;
    }
    // as in the judgement: what no way of reading explains makes all of them less sure
    let dof = with.fitted.dof.max(1) as f64;
    let scatter = (with.squares / dof).max(1.0).min(judgement.scatter);
    let price = 2.0 * (SPREAD / error).max(1.0).ln();
    let gain = (as_read.squares - with.squares) / scatter - price;
    let others = judgement.diagnosed().map(|judged| judged.gain * judgement.scatter / scatter);
    let most = others.fold(0.0, f64::max);
    (gain > THRESHOLD && gain > most - THRESHOLD).then_some(Zero {
        shown,
        error,
        gain,
        likeliest: gain > most + THRESHOLD,
    })
}
