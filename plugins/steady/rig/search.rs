//! Where margins end, between states that have been looked at.

use engine::root;

use super::super::tub::reading::Reading;
use super::turned::State;

/// Whether the end of a margin lies where it is said to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Where {
    /// The margin vanishes there.
    Found,
    /// It has ended before: at the lowest that was looked at, or below.
    Below,
}

/// The end of a margin.
#[derive(Debug, Clone)]
pub struct Crossing {
    pub name: String,
    /// Limit \[A\] or throttle.
    pub at: f64,
    pub place: Where,
    pub reading: Reading,
}

/// First end of each margin, rising; a margin that lasts has none.
///
/// A margin that ends and comes back between two neighbours is not seen: at rest loads rise with current and throttle.
pub fn crossings(names: &[String], states: &[State], state: impl Fn(f64) -> Option<State>) -> Vec<Crossing> {
    let mut all = Vec::new();
    for (k, name) in names.iter().enumerate() {
        let margin = |s: &State| s.margins.get(k).copied().unwrap_or(f64::NAN);
        let Some(first) = states.iter().position(|s| margin(s) <= 0.0) else { continue };
        let Some(beyond) = states.get(first) else { continue };
        let Some(before) = first.checked_sub(1).and_then(|i| states.get(i)) else {
            let reading = beyond.reading.clone();
            all.push(Crossing { name: name.clone(), at: beyond.at, place: Where::Below, reading });
            continue;
        };
        let along = |at: f64| state(at).map_or(f64::NAN, |s| margin(&s));
        // where nothing can be told between the two, the last that was sound is the end
        let at = root::bracketed(along, before.at, beyond.at).unwrap_or(before.at);
        let reading = state(at).map_or_else(|| before.reading.clone(), |s| s.reading);
        all.push(Crossing { name: name.clone(), at, place: Where::Found, reading });
    }
    all.sort_by(|a, b| a.at.total_cmp(&b.at).then_with(|| a.name.cmp(&b.name)));
    all
}
