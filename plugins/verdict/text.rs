//! The verdict for a person.

use std::fmt::Write;

use engine::scenario::Finished;

use super::facts::{Facts, Interval, Pull};
use super::hump::Shortfall;
use super::outcome::Reason;

/// What every verdict ends with: people get hurt by this hardware.
const CAUTIONS: &str = "\
Cautions: a model's answer, not a licence. Propellers cut: guard them and keep clear. Lithium packs burn when \
overloaded, flooded or hurt: keep to the maker's limits. High currents heat cables and contacts unseen. A fall at \
speed hurts: helmet, vest, leash cut-off, open water. Local codes, makers' limits and licensed practice come first.";

/// What the model leaves out, in a line.
const UNKNOWN: &str = "\
Not known: no published resistance of short, flat boards below planing exists; the drag hump carries -25 % to +50 % \
(68 %), take-off time some ±30 %. Waves, gusts, turns, balance and a tub's walls are outside the model.";

/// Puts the facts into words.
pub fn tell(
    finished: &Finished,
    facts: &Facts,
    reason: Option<Reason>,
    shortfall: Option<&Shortfall>,
) -> String {
    let mut out = String::new();
    let name = if finished.setup_title.is_empty() { "" } else { " | " };
    let _ = writeln!(out, "{}{name}{}", finished.title, finished.setup_title);
    headline(&mut out, finished, facts, reason);
    why(&mut out, facts, reason, shortfall);
    drive(&mut out, facts);
    limits(&mut out, facts);
    if let Some(reach) = facts.reach {
        let _ = writeln!(out, "  Rider's reach used: {:.0} %", 100.0 * reach);
    }
    if let Some(ledger) = &facts.ledger {
        let _ =
            writeln!(out, "  Energy ledger closes to {:.1e} of the energy that came in", ledger.relative());
    }
    warnings(&mut out, facts);
    let _ = writeln!(out, "  {}", wrapped(UNKNOWN));
    let _ = writeln!(out, "  {}", wrapped(CAUTIONS));
    out
}

fn headline(out: &mut String, finished: &Finished, facts: &Facts, reason: Option<Reason>) {
    if let Some(t) = &facts.take_off {
        let _ = writeln!(
            out,
            "  FOILBORNE after {:.1} s and {:.0} m, at {:.1} m/s ({:.1} km/h)",
            t.time,
            t.distance,
            t.speed,
            3.6 * t.speed
        );
        if let (Some(wh), Some(ah)) = (t.energy_wh, t.charge_ah) {
            let _ = writeln!(out, "  Take-off took {wh:.1} W·h ({ah:.2} A·h)");
        }
    }
    let ended = facts.duration;
    let after = match reason {
        None => return,
        Some(Reason::TouchedDown) => {
            format!("touched down again {:.1} s after take-off", since(facts, facts.touch_down))
        }
        Some(Reason::Breached) => {
            format!("a wing broke the surface {:.1} s after take-off", since(facts, facts.breached))
        }
        Some(Reason::Stalled) => {
            format!("a wing stalled {:.1} s after take-off", since(facts, facts.stalled))
        }
        Some(Reason::OnStand) => {
            if let Some(thrust) = facts.static_thrust {
                let _ = writeln!(
                    out,
                    "  STATIC THRUST {thrust:.0} N ({:.1} kgf) in still, open water",
                    thrust / crate::handbook::G
                );
            }
            return;
        }
        Some(Reason::NoEquilibrium) | Some(Reason::BrokeOff) => {
            let why = finished.error.as_ref().map(ToString::to_string).unwrap_or_default();
            let _ = writeln!(out, "  NO RESULT: {why}");
            return;
        }
        Some(Reason::Tripped) => "the pack's protection opened".into(),
        Some(Reason::Overheated) => "the drive was held back by its temperature".into(),
        Some(Reason::OutOfReach) => {
            let when = facts.trim_lost.unwrap_or(0.0);
            format!(
                "the rider ran out of reach and lost the trim at {when:.1} s; thrust far below him asks for a stance farther forward, or a gentler throttle"
            )
        }
        Some(Reason::OutOfDuty) => "the drive ran out of voltage: full duty, and no more speed in it".into(),
        Some(Reason::StuckBelowHump) => "stuck: thrust met resistance below flying speed".into(),
        Some(Reason::TimeRanOut) => "still accelerating when the time was up".into(),
        Some(Reason::NoThrottle) => "the throttle was never opened".into(),
    };
    if facts.take_off.is_some() {
        let _ = writeln!(out, "  BUT {after}");
    } else {
        let speed = facts.speed_at_end.unwrap_or(0.0);
        let _ = writeln!(out, "  {}", wrapped(&format!("NOT FOILBORNE within {ended:.1} s: {after}")));
        let _ =
            writeln!(out, "  Speed at the end {speed:.1} m/s after {:.0} m", facts.distance.unwrap_or(0.0));
    }
}

fn since(facts: &Facts, t: Option<f64>) -> f64 {
    t.unwrap_or(0.0) - facts.take_off.as_ref().map_or(0.0, |t| t.time)
}

fn why(out: &mut String, facts: &Facts, reason: Option<Reason>, shortfall: Option<&Shortfall>) {
    if reason == Some(Reason::OnStand) {
        return;
    }
    let weight = facts.weight.unwrap_or(f64::NAN);
    let mut tell = |what: &str, p: &Pull| {
        let share = 100.0 * p.margin / weight;
        let line = format!(
            "{what} {:.1} m/s ({:.1} s): thrust {:.0} N against resistance {:.0} N, margin {:+.0} N ({share:+.1} % of the weight)",
            p.speed, p.time, p.thrust, p.resistance, p.margin
        );
        let _ = writeln!(out, "  {}", wrapped(&line));
    };
    if let Some(hump) = &facts.hump {
        tell("Drag hump at", hump);
    }
    if let Some(tightest) = &facts.tightest {
        tell("Tightest with the throttle open at", tightest);
    }
    if let Some(s) = shortfall {
        let then =
            if s.clears { "beyond that it would fly" } else { "and it does not fly within 4 m/s more" };
        let _ = writeln!(
            out,
            "  Short by {:.0} N of thrust at {:.1} m/s ({:.0} N more than the {:.0} N it has there); {then}",
            s.force, s.speed, s.force, s.thrust
        );
    }
}

fn drive(out: &mut String, facts: &Facts) {
    let shown: Vec<String> = facts
        .peaks
        .iter()
        .filter(|p| !matches!(p.quantity.as_str(), "surge_speed" | "pitch" | "thrust"))
        .map(|p| {
            let (value, unit) = (p.shown(), p.shown_unit());
            let unit = match unit {
                "1" => "",
                "degC" => " °C",
                other => &format!(" {other}"),
            };
            let digits = if p.unit == "1" { 2 } else { 0 };
            let lowest = if p.lowest { "lowest " } else { "" };
            format!("{lowest}{} {value:.digits$}{unit}", p.quantity.replace('_', " "))
        })
        .collect();
    if !shown.is_empty() {
        let _ = writeln!(out, "  {}", wrapped(&format!("Peaks: {}", shown.join(", "))));
    }
    if let (Some(wh), Some(ah)) = (facts.energy_wh, facts.charge_ah) {
        let _ = writeln!(out, "  Whole run: {:.1} s, {wh:.1} W·h, {ah:.2} A·h from the pack", facts.duration);
    }
}

fn limits(out: &mut String, facts: &Facts) {
    if facts.limits.is_empty() {
        let _ = writeln!(out, "  No limit of the drive was reached");
        return;
    }
    let _ = writeln!(out, "  What held the drive back, when:");
    for Interval { limit, from, to } in &facts.limits {
        let _ = writeln!(out, "    {from:5.1} to {to:5.1} s  {limit}");
    }
}

fn warnings(out: &mut String, facts: &Facts) {
    for w in &facts.warnings {
        let range = match (w.low, w.high) {
            (Some(low), Some(high)) => format!("{low:.3} to {high:.3}"),
            (Some(low), None) => format!("at least {low:.3}"),
            (None, Some(high)) => format!("at most {high:.3}"),
            (None, None) => String::new(),
        };
        let unit = if w.unit == "1" { "" } else { &format!(" {}", w.unit) };
        let line = format!(
            "Warning: {}: {} ({} reached {:.3}{unit}, range {range}{unit}, first at {:.1} s)",
            w.quantity.split('.').next().unwrap_or(""),
            w.message,
            w.quantity,
            w.worst,
            w.first
        );
        let _ = writeln!(out, "  {}", wrapped(&line));
    }
    for advice in &facts.advice {
        let _ = writeln!(out, "  {}", wrapped(&format!("Note: {advice}")));
    }
}

/// Breaks a long line at words, indented.
fn wrapped(text: &str) -> String {
    const WIDTH: usize = 100;
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let full = lines
            .last()
            .is_some_and(|l| !l.is_empty() && l.chars().count() + word.chars().count() + 1 > WIDTH);
        if full {
            lines.push(String::new());
        }
        if let Some(line) = lines.last_mut() {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines.join("\n    ")
}
