//! A reduced reading for a person.

use engine::statistics::uncertainty::Budget;
use engine::text_table::{figure, paragraph, table};

use super::{Limit, Reduced, Reduction};

/// Said with every reduction: what no budget holds.
pub const BIAS: &str = "\
Outside every uncertainty told here: a tub is not open water. The jet goes round between the walls and meets the propeller \
again: it then works with an inflow and with swirl, and at the same speed of rotation thrust, torque and currents read low; \
a wall close behind may make thrust read high; air drawn from the surface makes thrust fall and speed jump; the strut's drag \
in the returning water is part of the pull. No measurement of this for a propeller in a tub was found, so it is not corrected \
and no size is told: it may well be larger than the uncertainty of the reading. Compare drives in the same tub, at the same depth, \
water level and moment after the start.";

/// Value ± standard uncertainty of one quantity, or why there is none.
fn line(q: &Reduced) -> [String; 4] {
    match &q.result {
        Ok(b) => {
            let share =
                if b.value != 0.0 { format!("{:.1} %", 100.0 * (b.u / b.value).abs()) } else { "-".into() };
            let (u, share) = match (b.u, q.untold.is_empty()) {
                (0.0, false) => ("not told".to_string(), "-".to_string()),
                (u, true) => (figure(u), share),
                (u, false) => (format!("over {}", figure(u)), format!("over {share}")),
            };
            [format!("{} [{}]", q.name, q.unit), figure(b.value), u, share]
        }
        Err(_) => [format!("{} [{}]", q.name, q.unit), "-".into(), "-".into(), "-".into()],
    }
}

/// A reduced reading: quantities, limits, what was assumed, and what no budget holds.
pub fn text(title: &str, reduction: &Reduction) -> String {
    let mut out = match reduction.line {
        0 => format!("{title}\n"),
        n => format!("{title} (line {n})\n"),
    };
    out.push_str(&table(["quantity", "value", "u", "u, relative"], reduction.quantities.iter().map(line)));
    for q in &reduction.quantities {
        if let Err(why) = &q.result {
            out.push_str(&paragraph(&format!("No {}: {why}.", q.name)));
        }
    }
    out.push_str(&paragraph(&held(&reduction.limits)));
    let mut untold: Vec<&str> = reduction.quantities.iter().flat_map(|q| q.untold.iter().copied()).collect();
    untold.sort_unstable();
    untold.dedup();
    if !untold.is_empty() {
        let names = untold.join(", ");
        out.push_str(&paragraph(&format!("No uncertainty was told of: {names}. They count as exact.")));
    }
    for note in &reduction.notes {
        out.push_str(&paragraph(&format!("Note: {note}.")));
    }
    out.push_str(&paragraph(BIAS));
    out
}

fn held(limits: &[Limit]) -> String {
    let percent = |limit: &Limit| limit.margin.value().map(|m| format!("{} {:+.1} %", limit.name, 100.0 * m));
    let of = |binds: bool| -> Vec<String> {
        limits.iter().filter(|l| l.binds == binds).filter_map(percent).collect()
    };
    let missing: Vec<&str> = limits.iter().filter(|l| l.margin.result.is_err()).map(|l| l.name).collect();
    let mut out = match of(true) {
        none if none.is_empty() => "No limit binds in this reading".to_string(),
        some => format!("At its limit, as far as the reading can tell: {}", some.join(", ")),
    };
    match of(false) {
        none if none.is_empty() => {}
        some => out.push_str(&format!("; room left (used over allowed, less 1): {}", some.join(", "))),
    }
    if !missing.is_empty() {
        out.push_str(&format!("; cannot be told for want of readings: {}", missing.join(", ")));
    }
    out + "."
}

/// The lines of a budget: input, value, standard uncertainty, what it does to the result, share of the variance.
pub fn budget_table(budget: &Budget, unit: &str) -> String {
    let heads =
        ["input".into(), "value".into(), "u".into(), format!("contributes\n{unit}"), "share".to_string()];
    let (known, exact): (Vec<_>, Vec<_>) = budget.rows.iter().partition(|row| row.input.u > 0.0);
    let rows = known.into_iter().map(|row| {
        [
            row.input.name.clone(),
            figure(row.input.value),
            figure(row.input.u),
            figure(row.contribution),
            format!("{:.0} %", 100.0 * row.share),
        ]
    });
    let freedom = match budget.freedom {
        // more of them change no digit of an interval
        f if f < 1000.0 => format!(", {} degrees of freedom", f.floor()),
        _ => String::new(),
    };
    let expanded = match budget.expanded(0.95) {
        Ok(half) => format!("; 95 %: ± {} {unit}", figure(half)),
        Err(_) => String::new(),
    };
    let sum = format!(
        "{} {unit}, standard uncertainty {} {unit}{freedom}{expanded}",
        figure(budget.value),
        figure(budget.u)
    );
    let exact: Vec<&str> = exact.iter().map(|row| row.input.name.as_str()).collect();
    let taken = match exact.is_empty() {
        true => String::new(),
        false => paragraph(&format!("Taken for exact, as nothing was told of them: {}.", exact.join(", "))),
    };
    [table(heads, rows), paragraph(&sum), taken].concat()
}
