//! What a curve tells, in words.

use super::findings::{Findings, Mark};
use super::over::{Over, Passes, Unseen};
use super::stretches::{PORPOISING, Stretch};
use super::sweep::Curve;
use super::text::rounded;
use crate::verdict::afloat::Afloat;

/// Whether it gets over the hump, and if that is not known, why not.
fn over_the_hump(
    over: &Over,
    missing: impl Fn(Mark) -> String,
    spare: impl Fn(Mark) -> String,
) -> Option<String> {
    let least = over.least?;
    let more = if over.unseen.is_some() { ", and maybe more where nothing is seen" } else { "" };
    let stays =
        over.stays.map_or(String::new(), |speed| format!(". Coming from rest, it stays at {speed:.2} m/s"));
    match (over.passes(), over.top) {
        (Some(Passes::Over), _) => return Some(format!("Passes the hump, with {}", spare(least))),
        (Some(Passes::Top), Some(top)) => {
            return Some(format!(
                "Passes the top of the hump, with {}, but then {}{more}: thrust falls short before the board has \
                 come clear{stays}",
                spare(top),
                missing(least)
            ));
        }
        (Some(_), Some(top)) if top != least => {
            return Some(format!(
                "Does not pass the hump: at its top {}, further on {}{more}{stays}",
                missing(top),
                missing(least)
            ));
        }
        (Some(_), _) => return Some(format!("Does not pass the hump: {}{more}{stays}", missing(least))),
        (None, _) => {}
    }
    let why = match over.unseen? {
        Unseen::First(speed) => {
            return Some(format!(
                "Whether it passes the hump cannot be told: at {speed:.2} m/s, the lowest of these speeds, resistance \
                 falls already. Begin lower"
            ));
        }
        Unseen::Before(speed) => {
            return Some(format!(
                "Whether it passes the hump cannot be told: below {speed:.2} m/s no equilibrium was found. From there on \
                 {}",
                spare(least)
            ));
        }
        Unseen::Beyond { out_of_reach: true, .. } => {
            "there the rider is at the end of his reach and the equilibria end. A run through time tells what \
             becomes of it, and at less throttle there may be a steady way"
        }
        Unseen::Beyond { .. } => "there the equilibria end. A run through time tells what becomes of it",
        Unseen::Last(_) => "these speeds end there. Go further",
    };
    let speed = over.unseen.map_or(0.0, Unseen::speed);
    Some(format!(
        "Whether it passes the hump cannot be told beyond {speed:.2} m/s: {why}. Up to there {}",
        spare(least)
    ))
}

/// Lines of findings, one thing each.
pub(super) fn words(curve: &Curve, found: &Findings) -> Vec<String> {
    let weight = curve.weight;
    let share = |force: f64| if weight > 0.0 { 100.0 * force / weight } else { 0.0 };
    let pull = |m: Mark| {
        format!(
            "at {:.2} m/s net thrust {:.0} N, resistance {:.0} N, margin {} N ({} % of the weight)",
            m.speed,
            m.thrust,
            m.resistance,
            rounded(m.margin(), 0),
            rounded(share(m.margin()), 1)
        )
    };
    let mut lines = Vec::new();
    let missing = |m: Mark| {
        format!(
            "{:.0} N are missing at {:.2} m/s ({:.1} % of the weight)",
            -m.margin(),
            m.speed,
            -share(m.margin())
        )
    };
    let spare = |m: Mark| {
        format!(
            "{:.0} N to spare at {:.2} m/s ({:.1} % of the weight)",
            m.margin(),
            m.speed,
            share(m.margin())
        )
    };
    let lowest = curve.speeds.first().copied();
    let ends =
        found.none.iter().map(|gap| gap.from).find(|from| found.slowest.is_some_and(|s| s.speed < *from));
    // neither on the water nor come to from it
    let nowhere = found.hump.is_none() && found.none.first().is_some_and(|gap| Some(gap.from) == lowest);
    // no equilibrium at the lowest speed: it may not even float
    if found.none.first().is_some_and(|gap| Some(gap.from) == lowest)
        && let Some(afloat) = Afloat::of(curve.trim.model()).filter(Afloat::sinks)
    {
        lines.push(format!("NOT AFLOAT: {}. What to do: {}", afloat.words(), afloat.remedy()));
    }
    match (found.take_off, found.tightest, ends) {
        (Some(off), Some(m), _) if m.margin() >= 0.0 && found.none.iter().any(|gap| gap.from < off) => {
            lines.push(format!(
                "THRUST ENOUGH TO TAKE OFF, with {}, but on the way there are speeds without an equilibrium (below)",
                spare(m)
            ))
        }
        (Some(_), Some(m), _) if m.margin() >= 0.0 => lines.push(format!("TAKES OFF, with {}", spare(m))),
        (_, Some(m), _) if m.margin() < 0.0 => lines.push(format!("DOES NOT TAKE OFF: {}", missing(m))),
        (None, None, _) if nowhere => lines.push(
            "NO STEADY WAY TO TAKE-OFF: coming from below, there is no equilibrium to begin at, so nothing is told of \
             hump and take-off"
                .into(),
        ),
        (_, _, Some(from)) => {
            lines.push(format!("NO STEADY WAY TO TAKE-OFF: coming from below, the equilibrium ends before {from:.2} m/s"))
        }
        (None, ..) => {
            lines.push("Coming from below, it does not come clear of the water at any of these speeds".into())
        }
        _ => {}
    }
    lines.extend(over_the_hump(&found.over, missing, spare));
    if let Some(hump) = found.hump {
        let seen = if found.over.unseen.is_some() { ", as far as is seen" } else { "" };
        lines.push(format!("Hump (greatest resistance on the water{seen}): {}", pull(hump)));
    }
    if let Some(tightest) = found.tightest {
        lines.push(format!("Least margin before take-off: {}", pull(tightest)));
    }
    if let (Some(slow), Some(hump)) =
        (found.slowest, found.hump.filter(|_| found.slowest.is_some_and(|s| s.thrust > 0.0)))
    {
        lines.push(format!(
            "Of the net thrust at {:.2} m/s, {:.0} N, the hump leaves {:.0} %: a pull at rest does not tell which propeller passes the hump",
            slow.speed,
            slow.thrust,
            100.0 * hump.thrust / slow.thrust
        ));
    }
    if let Some(speed) = found.take_off {
        lines.push(format!("The board comes clear at {speed:.2} m/s"));
    }
    if let Some(speed) = found.slowest_flight {
        lines.push(format!("Coming from above, it still flies at {speed:.2} m/s"));
    }
    match (found.top_speed, found.faster) {
        (_, true) => lines.push("Thrust is left at the highest of these speeds: it goes faster still".into()),
        (Some(speed), false) => {
            let stays = found.over.stays.filter(|stays| speed - stays > 0.01);
            let only = stays.map_or("", |_| "; it comes there from above only");
            lines.push(format!("Top speed {speed:.2} m/s, where thrust and resistance meet{only}"))
        }
        (None, false) => {}
    }
    for s in &found.short {
        lines.push(format!("Too little thrust to hold {}", span(s)));
    }
    for s in &found.limits {
        lines.push(format!("Limit {}: {}", s.what, span(s)));
    }
    for s in &found.out_of_reach {
        lines.push(format!("The rider is at the end of his reach: {}", span(s)));
    }
    for s in &found.unstable {
        let how = match s.growth {
            Some((growth, hertz)) if hertz > 0.0 => {
                format!(", growing with {growth:.2} 1/s at {hertz:.2} Hz at most")
            }
            Some((growth, _)) => format!(", growing with {growth:.2} 1/s at most, without a swing"),
            None => String::new(),
        };
        lines.push(format!("UNSTABLE ({}): {}{how}", s.what, span(s)));
    }
    if found.unstable.iter().any(|s| s.what == PORPOISING) {
        lines.push(
            "Porpoising is told early rather than late: the bare board begins at a third or less of the trim \
             in Savitsky's chart (1964)"
                .into(),
        );
    }
    for (from, to) in &found.twofold {
        lines.push(format!("Two equilibria from {from:.2} to {to:.2} m/s: which it is depends on whether it comes from below or from above"));
    }
    for gap in &found.none {
        let why = if gap.out_of_reach {
            "the rider is at the end of his reach and trim and load do not come into balance"
        } else {
            "trim and load do not come into balance (the JSON document says what is left over)"
        };
        lines.push(format!("No equilibrium found from {:.2} to {:.2} m/s: {why}", gap.from, gap.to));
    }
    lines
}

fn span(s: &Stretch) -> String {
    let way = if s.from_below { "" } else { ", coming from above" };
    format!("{:.2} to {:.2} m/s{way}", s.from, s.to)
}
