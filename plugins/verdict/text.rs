//! The verdict for a person.

use std::fmt::Write;

use engine::scenario::Finished;

use super::facts::{Facts, Warning};
use super::hump::Shortfall;
use super::limits::Interval;
use super::outcome::{Reason, lately};
use super::pull::Pull;
use crate::handbook::G;

/// What every verdict ends with: people get hurt by this hardware.
const CAUTIONS: &str = "\
Cautions: a model's answer is no permission to try. Propellers cut: guard them, keep clear, take them off for motor \
tests. Lithium packs burn when overloaded, flooded or damaged, a wet one hours later; fuse them at the pack. Near 60 V \
DC wet skin is no insulation. High currents overheat cables and contacts unseen. A fall at speed hurts: helmet, vest, \
kill cord, open water. Local codes, makers' limits and licensed practice come first.";

/// What the model leaves out, in a line.
const UNKNOWN: &str = "\
Not known: no published resistance of short, flat boards below planing was found; the drag hump carries -25 % to \
+50 % (68 %), take-off time some ±30 %. Waves, gusts, turns, balance and a tub's walls are outside the model.";

/// Puts the facts into words.
pub fn tell(
    finished: &Finished,
    facts: &Facts,
    reason: Option<Reason>,
    shortfall: Option<&Shortfall>,
) -> String {
    let mut told = Told::default();
    let name = if finished.setup_title.is_empty() { "" } else { " | " };
    told.out = format!("{}{name}{}\n", finished.title, finished.setup_title);
    headline(&mut told, finished, facts, reason);
    why(&mut told, facts, shortfall);
    drive(&mut told, facts);
    limits(&mut told, facts);
    if let Some(reach) = facts.flight.reach {
        told.line(format!("Rider's reach used: {:.0} %", 100.0 * reach));
    }
    match &facts.ledger {
        Some(ledger) => {
            told.line(format!("Energy ledger closes to {:.1e} of the energy that came in", ledger.relative()))
        }
        None if finished.run.holds_a_state() => {
            told.line(
                "Energy ledger not kept: whatever was held took or gave energy that it does not know of"
                    .into(),
            );
        }
        None => {}
    }
    warnings(&mut told, facts);
    told.out
}

/// What the model does not know, and the cautions: once for a scenario.
pub fn closing() -> String {
    let mut told = Told::default();
    told.line(UNKNOWN.into());
    told.line(CAUTIONS.into());
    told.out
}

/// Text of indented lines, broken at words.
#[derive(Default)]
struct Told {
    out: String,
}

impl Told {
    fn line(&mut self, text: String) {
        const WIDTH: usize = 100;
        let mut column = 0;
        for word in text.split_whitespace() {
            let wide = word.chars().count();
            if column > 0 && column + wide + 1 > WIDTH {
                self.out.push_str("\n    ");
                column = 2;
            } else if column > 0 {
                self.out.push(' ');
                column += 1;
            } else {
                self.out.push_str("  ");
            }
            self.out.push_str(word);
            column += wide;
        }
        self.out.push('\n');
    }
}

fn headline(told: &mut Told, finished: &Finished, facts: &Facts, reason: Option<Reason>) {
    let flight = &facts.flight;
    if let Some(t) = &flight.take_off {
        let kmh = 3.6 * t.speed;
        told.line(format!(
            "FOILBORNE after {:.1} s and {:.0} m, at {:.1} m/s over ground ({kmh:.1} km/h)",
            t.time, t.distance, t.speed
        ));
        if let (Some(wh), Some(ah)) = (t.energy_wh, t.charge_ah) {
            told.line(format!("Take-off took {wh:.1} W·h ({ah:.2} A·h)"));
        }
    }
    if let Some(s) = facts.pulls.at_rest {
        told.line(format!(
            "STATIC THRUST {:.0} N ({:.1} kgf) in still, open water; net of thrust deduction and guard {:.0} N",
            s.thrust,
            s.thrust / G,
            s.net_thrust
        ));
    }
    if let Some(why) = reason.and_then(|r| in_words(r, finished, facts)) {
        if flight.take_off.is_some() {
            told.line(format!("BUT {why}"));
        } else if facts.on_stand {
            told.line(why);
        } else {
            told.line(format!("NOT FOILBORNE within {:.1} s: {why}", facts.duration));
            let (speed, distance) = (facts.speed_at_end.unwrap_or(0.0), facts.distance.unwrap_or(0.0));
            told.line(format!("Speed at the end {speed:.1} m/s after {distance:.0} m"));
        }
    }
    // whatever happened is told, whether or not it decided the outcome
    let later = [
        (flight.touch_down, Reason::TouchedDown, "It came down again"),
        (flight.breached, Reason::Breached, "A wing broke the surface"),
        (flight.stalled, Reason::Stalled, "A wing stalled"),
    ];
    for (time, decided, words) in later {
        if let (Some(after), true) = (flight.after_take_off(time), reason != Some(decided)) {
            told.line(format!("{words} {after:.1} s after take-off"));
        }
    }
    if let (Some(time), true) = (flight.tripped, reason != Some(Reason::Tripped)) {
        told.line(format!("The pack's protection opened at {time:.1} s"));
    }
}

fn in_words(reason: Reason, finished: &Finished, facts: &Facts) -> Option<String> {
    let flight = &facts.flight;
    let after = |t: Option<f64>| flight.after_take_off(t).unwrap_or(0.0);
    Some(match reason {
        Reason::OnStand => return None,
        Reason::TouchedDown => format!("touched down again {:.1} s after take-off", after(flight.touch_down)),
        Reason::Breached => {
            format!("a wing broke the surface {:.1} s after take-off", after(flight.breached))
        }
        Reason::Stalled => format!("a wing stalled {:.1} s after take-off", after(flight.stalled)),
        Reason::NoEquilibrium | Reason::BrokeOff => {
            let why = finished.error.as_ref().map(ToString::to_string).unwrap_or_default();
            match &facts.not_afloat {
                Some(words) => format!("no result: {words} ({why})"),
                None => format!("no result: {why}"),
            }
        }
        Reason::TurnedOver => "the craft turned over".into(),
        Reason::Tripped => format!("the pack's protection opened at {:.1} s", flight.tripped.unwrap_or(0.0)),
        Reason::BatteryEmpty => "the battery is empty".into(),
        Reason::Overheated => "the drive was held back by its temperature".into(),
        Reason::OutOfReach => format!(
            "the rider ran out of reach and lost the trim from {:.1} s on; another stance or a gentler throttle may keep \
             it",
            flight.trim_lost.unwrap_or(0.0)
        ),
        Reason::OutOfDuty if lately(facts, |l| l == "shaft speed") => {
            "the drive ran out of speed: the shaft-speed limit binds".into()
        }
        Reason::OutOfDuty if lately(facts, |l| l == "under-voltage") => {
            "the pack sags to the under-voltage limit, and there is no more speed in it".into()
        }
        Reason::OutOfDuty => "the drive ran out of voltage: full duty, and no more speed in it".into(),
        Reason::StuckBelowHump => {
            let throttle = facts.throttle_at_end.unwrap_or(1.0);
            let part = if lately(facts, |l| l == "throttle") && throttle < 0.99 {
                format!(", with the throttle at {:.0} % only", 100.0 * throttle)
            } else {
                String::new()
            };
            format!("stuck: thrust met resistance below flying speed{part}")
        }
        Reason::TimeRanOut => "still accelerating when the time was up".into(),
        Reason::NoThrottle => "the throttle was never opened".into(),
        Reason::ThrottleTakenBack => "the throttle was taken back before it flew".into(),
    })
}

fn why(told: &mut Told, facts: &Facts, shortfall: Option<&Shortfall>) {
    let weight = facts.weight.unwrap_or(f64::NAN);
    let mut tell = |what: &str, p: Pull| {
        // less than half a newton is told as none, and none has no sign
        let margin = if p.margin.abs() < 0.5 { 0.0 } else { p.margin };
        let share = 100.0 * margin / weight;
        told.line(format!(
            "{what} at {:.1} m/s ({:.1} s): net thrust {:.0} N against resistance {:.0} N, margin {:+.0} N ({share:+.1} % of \
             the weight)",
            p.speed, p.time, p.net_thrust, p.resistance, margin
        ));
    };
    if let Some(hump) = facts.hump() {
        // a craft that never got over it has not seen its hump
        let over = facts.flight.take_off.is_some();
        tell(if over { "Drag hump" } else { "Greatest resistance met" }, hump);
    }
    if let Some(tightest) = facts.tightest() {
        tell("Tightest with the throttle open", tightest);
    }
    if let Some(s) = shortfall {
        let then =
            if s.clears { "beyond that it would fly" } else { "and it does not fly within 4 m/s more" };
        told.line(format!(
            "Short by {:.0} N at {:.1} m/s, where its net thrust is {:.0} N; {then}",
            s.force, s.speed, s.net_thrust
        ));
    }
}

fn drive(told: &mut Told, facts: &Facts) {
    let shown: Vec<String> = facts
        .peaks
        .iter()
        .filter(|p| !matches!(p.quantity.as_str(), "surge_speed" | "pitch" | "thrust"))
        .map(|p| {
            let unit = match p.shown_unit() {
                "1" => String::new(),
                "degC" => " °C".into(),
                other => format!(" {other}"),
            };
            let digits = if p.unit == "1" { 2 } else { 0 };
            let lowest = if p.lowest { "lowest " } else { "" };
            let note = if p.quantity.ends_with("motor_current") { " (DC-equivalent)" } else { "" };
            format!("{lowest}{} {:.digits$}{unit}{note}", p.quantity.replace('_', " "), p.shown())
        })
        .collect();
    if !shown.is_empty() {
        told.line(format!("Peaks: {}", shown.join(", ")));
    }
    if let (Some(wh), Some(ah)) = (facts.energy_wh, facts.charge_ah) {
        told.line(format!("Whole run: {:.1} s, {wh:.1} W·h, {ah:.2} A·h from the pack", facts.duration));
    }
}

fn limits(told: &mut Told, facts: &Facts) {
    if facts.limits.is_empty() {
        told.line("No limit of the drive was reached".into());
        return;
    }
    told.line("What held the drive back, when:".into());
    for Interval { limit, from, to } in &facts.limits {
        let _ = writeln!(told.out, "    {from:5.1} to {to:5.1} s  {limit}");
    }
}

fn warnings(told: &mut Told, facts: &Facts) {
    for w in &facts.warnings {
        let Warning { quantity, message, worst, first, .. } = w;
        let range = match (w.low, w.high) {
            (Some(low), Some(high)) => format!("{low:.3} to {high:.3}"),
            (Some(low), None) => format!("at least {low:.3}"),
            (None, Some(high)) => format!("at most {high:.3}"),
            (None, None) => String::new(),
        };
        let unit = if w.unit == "1" { String::new() } else { format!(" {}", w.unit) };
        let instance = quantity.split('.').next().unwrap_or_default();
        told.line(format!(
            "Warning: {instance}: {message} ({quantity} reached {worst:.3}{unit}, range {range}{unit}, first at {first:.1} s)"
        ));
    }
    for advice in &facts.advice {
        told.line(format!("Note: {advice}"));
    }
}
