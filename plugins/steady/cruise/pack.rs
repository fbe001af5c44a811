//! How long a pack keeps steady flight up.

use crate::nomenclature::*;
use crate::verdict::outcome::EMPTY;

use super::level::{Flight, Level};

/// Steps in which the charge is drawn.
const STEPS: usize = 24;
/// Bisections of the last step, to where flight can no longer be kept up.
const BISECTIONS: usize = 12;

/// What the pack gives at a level.
#[derive(Debug, Clone, PartialEq)]
pub struct Endurance {
    /// Time, s.
    pub time: f64,
    /// Charge, C.
    pub charge: f64,
    /// What ends it.
    pub ends: String,
    /// How it goes: time, s, state of charge and throttle.
    pub history: Vec<(f64, f64, f64)>,
}

impl Endurance {
    /// The charge is drawn in equilibrium: at each state of charge the throttle is sought
    /// that holds the speed, t = ∫ C ds / I. It ends when the pack is empty or no throttle
    /// holds the speed any more. Cells stay as warm as at the start: warmer ones give more.
    pub fn of(flight: &Flight, level: &Level) -> Endurance {
        let model = flight.trim.model();
        let packs = model.providers(STATE_OF_CHARGE.name);
        let drawn = model.providers(CHARGE_DRAWN.name);
        let (&[pack], &[drawn]) = (packs.as_slice(), drawn.as_slice()) else {
            return Endurance::none(f64::NAN, "told for one pack only");
        };
        let full = model.start_value(pack);
        if full <= EMPTY {
            return Endurance::none(0.0, "the pack is empty");
        }
        let at = |soc: f64, near: &Level| -> Option<Level> {
            let mut question = flight.balance.clone();
            (question.hold(flight.trim.speed(), level.speed) && question.hold(pack, soc)).then_some(())?;
            let point = question.solve(&near.point.free).ok().filter(|p| flight.flies(p))?;
            Some(flight.read(level.speed, point))
        };
        let step = (full - EMPTY) / STEPS as f64;
        let (mut time, mut soc, mut last) = (0.0, full, level.clone());
        let mut ends = "the pack is empty".to_string();
        let mut capacity = f64::NAN;
        let mut history = vec![(0.0, full, level.throttle)];
        for i in 1..=STEPS {
            let next_soc = full - step * i as f64;
            let (reached, next) = match at(next_soc, &last) {
                Some(next) => (next_soc, next),
                None => {
                    // as far as it goes
                    let (mut good, mut bad, mut found) = (soc, next_soc, None);
                    for _ in 0..BISECTIONS {
                        let middle = 0.5 * (good + bad);
                        match at(middle, found.as_ref().unwrap_or(&last)) {
                            Some(level) => (good, found) = (middle, Some(level)),
                            None => bad = middle,
                        }
                    }
                    let held_back = found.as_ref().unwrap_or(&last);
                    let what = held_back.limits.join(" + ");
                    ends = match what.as_str() {
                        "" => "full throttle no longer holds the speed".into(),
                        what => format!("no longer held: {what}"),
                    };
                    (good, found.unwrap_or_else(|| last.clone()))
                }
            };
            if reached < full {
                capacity = next.point.value(drawn) / (full - reached);
            }
            // trapezoid of C/I
            let currents = 0.5 * (last.battery_current.recip() + next.battery_current.recip());
            time += (soc - reached) * currents * if capacity.is_finite() { capacity } else { 0.0 };
            history.push((time, reached, next.throttle));
            let stopped = reached > next_soc;
            (soc, last) = (reached, next);
            if stopped {
                break;
            }
        }
        let charge = if capacity.is_finite() { capacity * (full - soc) } else { 0.0 };
        Endurance { time, charge, ends, history }
    }

    fn none(amount: f64, ends: &str) -> Endurance {
        Endurance { time: amount, charge: amount, ends: ends.into(), history: Vec::new() }
    }
}
