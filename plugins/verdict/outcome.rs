//! Why a run did not end in flight, or what went wrong in flight.

use engine::run::RunError;
use engine::scenario::Finished;

use super::facts::Facts;
use crate::nomenclature::*;

/// Acceleration below which the craft counts as no longer accelerating, m/s².
const STEADY: f64 = 0.05;
/// Share of the last seconds in which a limit must bind to be the reason.
const LATELY: f64 = 3.0;

/// Why it did not fly, or not for long.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reason {
    NoEquilibrium,
    BrokeOff,
    Tripped,
    Overheated,
    OutOfReach,
    OutOfDuty,
    StuckBelowHump,
    TimeRanOut,
    NoThrottle,
    TouchedDown,
    Breached,
    Stalled,
    /// A run on a stand has no take-off to miss.
    OnStand,
}

impl Reason {
    /// One word for machines.
    pub fn code(self) -> &'static str {
        match self {
            Reason::NoEquilibrium => "no_equilibrium",
            Reason::BrokeOff => "broke_off",
            Reason::Tripped => "tripped",
            Reason::Overheated => "overheated",
            Reason::OutOfReach => "out_of_reach",
            Reason::OutOfDuty => "out_of_duty",
            Reason::StuckBelowHump => "stuck_below_hump",
            Reason::TimeRanOut => "time_ran_out",
            Reason::NoThrottle => "no_throttle",
            Reason::TouchedDown => "touched_down",
            Reason::Breached => "breached",
            Reason::Stalled => "stalled",
            Reason::OnStand => "on_stand",
        }
    }

    /// Whether more thrust is what is missing.
    pub fn asks_for_thrust(self) -> bool {
        matches!(self, Reason::OutOfDuty | Reason::StuckBelowHump | Reason::TimeRanOut)
    }
}

/// One word on how the run ended.
pub fn name(facts: &Facts, reason: Option<Reason>) -> &'static str {
    match (reason, facts.take_off.is_some()) {
        (None, _) => "flew",
        (Some(reason), _) => reason.code(),
    }
}

/// `None` where it took off and kept flying.
pub fn reason(finished: &Finished, facts: &Facts) -> Option<Reason> {
    match &finished.error {
        Some(RunError::NoEquilibrium { .. }) => return Some(Reason::NoEquilibrium),
        Some(_) => return Some(Reason::BrokeOff),
        None => {}
    }
    let soon = |t: Option<f64>| match (t, &facts.take_off) {
        (Some(t), Some(take_off)) => t - take_off.time <= 5.0,
        _ => false,
    };
    if facts.take_off.is_some() {
        // what came first explains what came after
        return if facts.stalled.is_some() && facts.stalled <= facts.breached.or(Some(f64::INFINITY)) {
            Some(Reason::Stalled)
        } else if facts.breached.is_some() {
            Some(Reason::Breached)
        } else if soon(facts.touch_down) {
            Some(Reason::TouchedDown)
        } else {
            None
        };
    }
    if finished.run.model().providers(FOILBORNE.name).is_empty() {
        return Some(Reason::OnStand);
    }
    let lately = |what: &dyn Fn(&str) -> bool| {
        let since = facts.duration - LATELY.min(0.5 * facts.duration);
        facts
            .limits
            .iter()
            .any(|i| what(&i.limit) && i.to >= facts.duration - 0.1 && i.from <= since + LATELY * 0.5)
    };
    let reason = if facts.tripped {
        Reason::Tripped
    } else if lately(&|limit| limit.contains("temperature")) {
        Reason::Overheated
    } else if facts.trim_lost.is_some() {
        Reason::OutOfReach
    } else if !facts.throttle_opened {
        Reason::NoThrottle
    } else if facts.acceleration_at_end.is_some_and(|a| a > STEADY) {
        Reason::TimeRanOut
    } else if lately(&|limit| limit == "duty" || limit == "rpm" || limit == "under-voltage") {
        Reason::OutOfDuty
    } else {
        Reason::StuckBelowHump
    };
    Some(reason)
}
