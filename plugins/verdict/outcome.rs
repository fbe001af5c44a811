//! Why a run did not end in flight, or what went wrong in flight.

use engine::run::RunError;
use engine::scenario::Finished;

use super::facts::Facts;

/// Acceleration below which the craft counts as no longer accelerating, m/s².
const STEADY: f64 = 0.05;
/// Time at the end in which a limit must bind to be the reason, s.
const LATELY: f64 = 3.0;
/// Time after take-off in which coming to grief counts as not having flown, s.
const SOON: f64 = 5.0;
/// State of charge below which a pack counts as empty.
pub const EMPTY: f64 = 0.02;
/// Share of its highest value below which a throttle counts as taken back.
const TAKEN_BACK: f64 = 0.5;

/// Why it did not fly, or not for long.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reason {
    NoEquilibrium,
    BrokeOff,
    TurnedOver,
    Tripped,
    BatteryEmpty,
    Overheated,
    OutOfReach,
    OutOfDuty,
    StuckBelowHump,
    TimeRanOut,
    NoThrottle,
    ThrottleTakenBack,
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
            Reason::TurnedOver => "turned_over",
            Reason::Tripped => "tripped",
            Reason::BatteryEmpty => "battery_empty",
            Reason::Overheated => "overheated",
            Reason::OutOfReach => "out_of_reach",
            Reason::OutOfDuty => "out_of_duty",
            Reason::StuckBelowHump => "stuck_below_hump",
            Reason::TimeRanOut => "time_ran_out",
            Reason::NoThrottle => "no_throttle",
            Reason::ThrottleTakenBack => "throttle_taken_back",
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
    let flight = &facts.flight;
    let later = flight.touch_down.or(flight.breached).or(flight.stalled);
    match (reason, later) {
        (Some(reason), _) => reason.code(),
        (None, Some(_)) => "flew_for_a_while",
        (None, None) => "flew",
    }
}

/// `None` where it took off and did not come to grief soon after.
pub fn reason(finished: &Finished, facts: &Facts) -> Option<Reason> {
    match &finished.error {
        Some(RunError::NoEquilibrium { .. }) => return Some(Reason::NoEquilibrium),
        Some(_) => return Some(Reason::BrokeOff),
        None => {}
    }
    if facts.on_stand {
        return Some(if facts.flight.tripped.is_some() { Reason::Tripped } else { Reason::OnStand });
    }
    if facts.flight.take_off.is_some() {
        return in_flight(facts);
    }
    Some(if facts.flight.tripped.is_some() {
        Reason::Tripped
    } else if facts.flight.trim_lost.is_some() {
        Reason::OutOfReach
    } else if facts.turned_over {
        Reason::TurnedOver
    } else if lately(facts, |limit| limit.contains("temperature")) {
        Reason::Overheated
    } else if facts.charge_at_end.is_some_and(|left| left < EMPTY) {
        Reason::BatteryEmpty
    } else if facts.pulls.throttle <= 0.0 {
        Reason::NoThrottle
    } else if facts.throttle_at_end.is_some_and(|now| now < TAKEN_BACK * facts.pulls.throttle) {
        Reason::ThrottleTakenBack
    } else if facts.acceleration_at_end.is_some_and(|a| a > STEADY) {
        Reason::TimeRanOut
    } else if lately(facts, |limit| matches!(limit, "duty" | "shaft speed" | "under-voltage")) {
        Reason::OutOfDuty
    } else {
        Reason::StuckBelowHump
    })
}

/// What came first explains what came after.
fn in_flight(facts: &Facts) -> Option<Reason> {
    let flight = &facts.flight;
    let happenings = [
        (flight.tripped, Reason::Tripped),
        (flight.stalled, Reason::Stalled),
        (flight.breached, Reason::Breached),
        (flight.touch_down, Reason::TouchedDown),
    ];
    // a trip alone is no grief: the craft may glide on to the end of the run
    let grief = happenings[1..].iter().any(|(t, _)| flight.after_take_off(*t).is_some_and(|t| t <= SOON));
    let soon = |t: Option<f64>| flight.after_take_off(t).filter(|&after| after <= SOON);
    let first = happenings
        .into_iter()
        .filter_map(|(t, reason)| soon(t).map(|after| (after, reason)))
        .min_by(|a, b| a.0.total_cmp(&b.0));
    first.filter(|_| grief).map(|(_, reason)| reason)
}

/// Whether a limit has been binding to the end.
pub fn lately(facts: &Facts, which: impl Fn(&str) -> bool) -> bool {
    let window = LATELY.min(0.5 * facts.duration);
    let since = facts.duration - window;
    let binds = |from: f64, to: f64| to >= facts.duration - 0.1 && from <= since + 0.5 * window;
    facts.limits.iter().any(|i| which(&i.limit) && binds(i.from, i.to))
}
