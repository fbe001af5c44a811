//! Cruise, for a person.

use engine::text_table::{figure, paragraph, table};

use super::{Cruise, Found, least};

/// Speeds that are told at most; the table in CSV has all.
const SHOWN: usize = 14;

pub fn tell(title: &str, found: &Found) -> String {
    let mut out = format!("{title}\n\nSteady flight\n");
    let levels = &found.levels;
    let (Some(slowest), Some(fastest)) = (levels.first(), levels.last()) else {
        out.push_str(&paragraph("There is no steady flight at any of these speeds."));
        for (speed, why) in found.without.iter().take(3) {
            out.push_str(&paragraph(&format!("{} m/s: {why}", figure(*speed))));
        }
        attempts(&mut out, found);
        return out;
    };
    let mut line = |text: String| out.push_str(&paragraph(&text));
    let under = |found: &Found, fine: bool, c: &Cruise| {
        let mut beyond =
            found.without.iter().filter(|(v, _)| if fine { *v < c.level.speed } else { *v > c.level.speed });
        let next = if fine { beyond.next_back() } else { beyond.next() };
        next.map_or(String::new(), |(v, why)| format!("; at {} m/s: {why}", figure(*v)))
    };
    line(format!(
        "Slowest that still flies: {} m/s{}",
        figure(slowest.level.speed),
        under(found, true, slowest)
    ));
    line(format!("Fastest: {} m/s{}", figure(fastest.level.speed), under(found, false, fastest)));
    if let Some(c) = least(levels, |c| c.level.power) {
        line(format!("Least power: {}", flight(c)));
    }
    if let Some(c) = least(levels, |c| -c.range()) {
        line(format!("Best range: {}", flight(c)));
    }
    let step = levels.len().div_ceil(SHOWN).max(1);
    let rows = levels.iter().step_by(step).map(|c| {
        let l = &c.level;
        vec![
            figure(l.speed),
            format!("{:.0}", 100.0 * l.throttle),
            format!("{:.0}", l.power),
            format!("{:.1}", l.battery_current),
            format!("{:.1}", l.motor_current),
            format!("{:.0}", c.endurance.time / 60.0),
            format!("{:.1}", c.range() / 1000.0),
            format!("{:.2}", l.height),
            l.reach.map_or("-".into(), |r| format!("{:.0}", 100.0 * r)),
            steady(c, found, "winding"),
            steady(c, found, "controller"),
            steady(c, found, "cell"),
        ]
    });
    let heads = [
        "speed\n[m/s]",
        "throttle\n[%]",
        "power\n[W]",
        "battery\n[A]",
        "motor\n[A]",
        "riding\n[min]",
        "range\n[km]",
        "height\n[m]",
        "reach\n[%]",
        "winding\n[°C]",
        "contr.\n[°C]",
        "cells\n[°C]",
    ];
    out.push_str(&table(heads, rows));
    out.push_str(&paragraph(
        "Motor current is DC-equivalent. Temperatures are where steady flight tends to, `-` where nothing steady is \
         found; riding time is that of the present charge, cells as warm as at the start.",
    ));
    if levels.iter().any(|c| c.too_warm(&found.bearable).next().is_some()) {
        let most: Vec<String> = found.bearable.iter().map(|(name, t)| format!("{name} {t:.0} °C")).collect();
        out.push_str(&paragraph(&format!(
            "! warmer than may be borne ({}; for winding and controller, where current begins to be taken back): not to be \
             kept up, whatever the pack has.",
            most.join(", ")
        )));
    }
    full(&mut out, found);
    attempts(&mut out, found);
    out
}

fn flight(c: &Cruise) -> String {
    format!(
        "{} m/s with {:.0} W and {:.1} A from the pack, {:.0} min and {:.1} km ({:.1} A·h; {})",
        figure(c.level.speed),
        c.level.power,
        c.level.battery_current,
        c.endurance.time / 60.0,
        c.range() / 1000.0,
        c.endurance.charge / 3600.0,
        c.endurance.ends
    )
}

/// A steady temperature, marked where it is beyond what may be borne.
fn steady(c: &Cruise, found: &Found, what: &str) -> String {
    let told = c.steady.iter().flatten().find(|(name, _)| name.starts_with(what));
    let mark = if c.too_warm(&found.bearable).any(|name| name.starts_with(what)) { "!" } else { "" };
    told.map_or("-".into(), |(_, t)| format!("{mark}{t:.0}"))
}

fn full(out: &mut String, found: &Found) {
    let Some(heat) = &found.full else { return };
    out.push_str(&format!("\nFull throttle from cold, held at {} m/s\n", figure(heat.speed)));
    let mut line = |text: String| out.push_str(&paragraph(&text));
    if let Some((time, what)) = &heat.short {
        let by = if what.is_empty() { String::new() } else { format!(" ({what})") };
        line(format!(
            "After {time:.0} s it no longer holds this speed{by}; heat is told as if the speed were kept up all the same"
        ));
    }
    if let Some(why) = &heat.ended {
        line(format!("It ends after {:.0} s: {why}", heat.lasted));
    }
    for (limit, from) in &heat.limits {
        line(match from {
            Some(t) => format!("{limit}: takes current back after {t:.0} s"),
            None => format!("{limit}: takes nothing back in {:.0} s", heat.lasted),
        });
    }
    if heat.warnings.is_empty() {
        line("Cells and all else stay in the range of temperatures the model is made for".into());
    }
    for (what, t) in &heat.warnings {
        line(format!("{what}, from {t:.0} s on"));
    }
    let highest: Vec<String> =
        heat.highest.iter().map(|(name, t, at)| format!("{name} {t:.0} °C at {at:.0} s")).collect();
    line(format!("Warmest in {:.0} s: {}", heat.lasted, highest.join(", ")));
}

fn attempts(out: &mut String, found: &Found) {
    if found.attempts.is_empty() {
        return;
    }
    out.push_str("\nAttempts to take off at full throttle\n");
    let rows = found.attempts.iter().enumerate().map(|(i, a)| {
        let hot = |what: &str| {
            let found = a.hottest.iter().find(|(name, _)| name.starts_with(what));
            found.map_or("-".into(), |(_, t)| format!("{t:.0}"))
        };
        vec![
            (i + 1).to_string(),
            a.take_off.map_or("none".into(), |t| format!("{t:.2}")),
            a.charge.map_or("-".into(), |c| format!("{:.1}", 100.0 * c)),
            hot("winding"),
            hot("controller"),
            hot("cell"),
        ]
    });
    let heads = ["#", "take-off\n[s]", "charge left\n[%]", "winding\n[°C]", "contr.\n[°C]", "cells\n[°C]"];
    out.push_str(&table(heads, rows));
    for why in found.attempts.iter().filter_map(|a| a.broke_off.as_ref()) {
        out.push_str(&paragraph(&format!("It broke off: {why}")));
    }
}
