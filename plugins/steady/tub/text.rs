//! Readings for a person.

use engine::text_table::{figure, paragraph, table};

use super::because;
use super::compare::Pair;
use super::differs;
use super::heat::Heat;
use super::reading::Reading;
use super::{Row, Told};
use crate::handbook::G;

/// What the model leaves out.
const UNKNOWN: &str = "\
Not known: a tub is not open water. Between its walls the water goes round and meets the propeller again, which \
changes thrust and current; none of it is in the model. At rest (J = 0) a propeller \
works at the edge of its chart, with its blades near stall: thrust and torque are least certain there. Heat is that of \
a drive in water that stays as cold as the setup says.";

/// What every answer about this hardware ends with: people get hurt by it.
const CAUTIONS: &str = "\
Cautions: a model's answer is no permission to try. A propeller in a tub cuts and throws: guard it, fix drive and tub, \
arm from a distance, keep hands, hair and cables away, take it off for motor tests. Full current at rest heats motor, \
cables and contacts faster than any ride. Lithium packs burn when overloaded, flooded or damaged, a wet one hours \
later; fuse them at the pack, test outdoors. Near 60 V DC wet skin is no insulation. Local codes, makers' limits and \
licensed practice come first.";

/// Said at the end.
pub fn closing() -> String {
    [UNKNOWN, CAUTIONS].map(paragraph).concat()
}

/// The answer in words and tables.
pub fn tell(this: &Told, other: Option<&Told>, pairs: &[Pair], lasting: f64) -> String {
    let mut out = match other {
        None if this.title.is_empty() => "At rest in still water\n".into(),
        None => format!("At rest in still water | {}\n", this.title),
        Some(other) => format!("At rest in still water | A: {} | B: {}\n", this.title, other.title),
    };
    let sets: Vec<(&str, &Told)> = match other {
        None => vec![("", this)],
        Some(other) => vec![("A", this), ("B", other)],
    };
    out.push_str("\nCold, and a fresh pack at its state of charge. Motor current is DC-equivalent.\n");
    out.push_str(&steady(&sets));
    out.push_str(&format!("\nPower, and after {} s at each throttle from cold\n", figure(lasting)));
    out.push_str(&power_and_heat(&sets));
    out.push('\n');
    for (which, told) in &sets {
        if let Some(row) = told.rows.last() {
            let name = if which.is_empty() { String::new() } else { format!("{which}: ") };
            out.push_str(&paragraph(&format!("{name}{}", because::alone(&row.reading))));
        }
    }
    if !pairs.is_empty() {
        out.push_str("\nWhy B differs from A\n");
        out.push_str(&explained(pairs));
    }
    for (which, told) in &sets {
        let of = if which.is_empty() { String::new() } else { format!(" ({which})") };
        for row in &told.rows {
            if let Some(why) = &row.heat.broke {
                let throttle = percent(row.reading.throttle);
                out.push_str(&paragraph(&format!(
                    "Warning{of}: no heat to tell at {throttle} throttle: {why}"
                )));
            }
        }
        for note in &told.notes {
            out.push_str(&paragraph(&format!("Note{of}: {note}")));
        }
    }
    out
}

/// Rows throttle by throttle, those of two setups under each other.
fn each<'a>(sets: &'a [(&'a str, &'a Told)]) -> impl Iterator<Item = (&'a str, &'a Row)> {
    let throttles = sets.iter().map(|(_, told)| told.rows.len()).max().unwrap_or(0);
    (0..throttles)
        .flat_map(move |i| sets.iter().filter_map(move |(name, told)| Some((*name, told.rows.get(i)?))))
}

fn steady(sets: &[(&str, &Told)]) -> String {
    let heads = [
        "throttle",
        "thrust\nN",
        "\nkgf",
        "net\nN",
        "\nkgf",
        "shaft\nrpm",
        "duty",
        "motor\nA",
        "battery\nA",
        "bus\nV",
        "held by",
    ];
    let row = |(name, row): (&str, &Row)| {
        let r = &row.reading;
        vec![
            format!("{name} {}", percent(r.throttle)),
            format!("{:.0}", r.thrust),
            format!("{:.1}", r.thrust / G),
            format!("{:.0}", r.net_thrust),
            format!("{:.1}", r.net_thrust / G),
            format!("{:.0}", r.rpm()),
            format!("{:.3}", r.duty),
            format!("{:.1}", r.motor_current),
            format!("{:.1}", r.battery_current),
            format!("{:.1}", r.bus_voltage),
            bound(r),
        ]
    };
    table(heads, each(sets).map(row))
}

fn power_and_heat(sets: &[(&str, &Told)]) -> String {
    let heads = [
        "throttle",
        "shaft\nW",
        "battery\nW",
        "thrust\nN/kW",
        "of ceiling\nshaft",
        "\nbattery",
        "winding\n°C",
        "case\n°C",
        "contr.\n°C",
        "cells\n°C",
        "limited by,\nafter",
    ];
    let row = |(name, row): (&str, &Row)| {
        let (r, h) = (&row.reading, &row.heat);
        let share = |x: Option<f64>| x.map_or("-".into(), |x| format!("{:.0} %", 100.0 * x));
        let degrees = |x: Option<f64>| x.map_or("-".into(), |x| format!("{x:.0}"));
        vec![
            format!("{name} {}", percent(r.throttle)),
            format!("{:.0}", r.shaft_power),
            format!("{:.0}", r.battery_power),
            r.thrust_per_watt().map_or("-".into(), |x| format!("{:.0}", 1000.0 * x)),
            share(r.merit),
            share(r.overall),
            degrees(h.winding),
            degrees(h.case),
            degrees(h.controller),
            degrees(h.cells),
            then(h),
        ]
    };
    let ceiling = "\"Of ceiling\": the least power that any disc of this diameter needs for this thrust, over the power \
                   at the shaft and from the battery.";
    [table(heads, each(sets).map(row)), paragraph(ceiling)].concat()
}

/// A throttle as one says it.
pub fn percent(throttle: f64) -> String {
    format!("{} %", figure(100.0 * throttle))
}

/// Names of the limits that bind.
fn bound(r: &Reading) -> String {
    if r.limits.is_empty() { "no limit".into() } else { r.limits.join(", ") }
}

/// What happened while the throttle was held.
fn then(h: &Heat) -> String {
    let mut told = Vec::new();
    if let Some((time, name)) = &h.reached {
        told.push(format!("{name} {time:.1} s"));
    }
    if let Some(time) = h.opened {
        told.push(format!("pack opened {time:.1} s"));
    }
    if h.broke.is_some() {
        told.push("broke off".into());
    }
    if told.is_empty() { "-".into() } else { told.join(", ") }
}

/// One explanation for all throttles at which the same limits hold and everything goes the same way, with
/// the numbers at the widest open of them.
fn explained(pairs: &[Pair]) -> String {
    let mut groups: Vec<Vec<&Pair>> = Vec::new();
    for pair in pairs {
        match groups.iter_mut().find(|group| group.iter().any(|first| first.sort() == pair.sort())) {
            Some(group) => group.push(pair),
            None => groups.push(vec![pair]),
        }
    }
    let mut out = String::new();
    for group in groups.iter().rev() {
        let Some((last, others)) = group.split_last() else { continue };
        let also = match others.iter().map(|p| percent(p.a.throttle)).collect::<Vec<_>>() {
            none if none.is_empty() => String::new(),
            others => format!(" (at {} it is the same with other numbers)", others.join(", ")),
        };
        out.push_str(&paragraph(&format!(
            "At {} throttle{also}: {}",
            percent(last.a.throttle),
            differs::in_words(last)
        )));
    }
    out
}
