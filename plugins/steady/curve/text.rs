//! A curve for a person.

use engine::text_table::{paragraph, table};

use super::findings::Findings;
use super::station::Station;
use super::stretches::{IN_FLIGHT, PORPOISING};
use super::sweep::{Curve, Outcome};
use super::words::words;

/// Rows of a table on the screen; the CSV has them all.
const ROWS: usize = 16;
/// Parts that resist told in columns of their own; the others are put together.
const PARTS: usize = 7;

/// A column: its heading, and the cell of a station.
type Column<'a> = (String, Box<dyn Fn(&Station) -> String + 'a>);

/// Everything told: for each throttle what it comes to, and tables.
pub fn tell(title: &str, curves: &[(Curve, Findings)]) -> String {
    let mut out = format!("{title}\n");
    for (curve, found) in curves {
        out.push_str(&format!("\n{}\n", at_throttle(curve)));
        for line in words(curve, found) {
            out.push_str(&paragraph(&line));
        }
    }
    for (curve, _) in curves {
        out.push_str(&format!("\n{}: thrust and resistance\n", at_throttle(curve)));
        let pull: Vec<Column> = vec![
            ("resistance\n[N]".into(), cell(|s| Some(s.resistance), 0)),
            ("net thrust\n[N]".into(), cell(|s| Some(s.thrust), 0)),
            ("margin\n[N]".into(), cell(|s| Some(s.margin), 0)),
            ("it gives\n[m/s²]".into(), cell(|s| Some(s.acceleration), 2)),
            ("\nlimits".into(), Box::new(|s| s.limits.join(", "))),
        ];
        section(&mut out, curve, pull);
        out.push_str("\n  Resistance by part [N]\n");
        section(&mut out, curve, parts(curve));
        out.push_str("\n  Trim and rider\n");
        let trim: Vec<Column> = vec![
            ("pitch\n[deg]".into(), cell(|s| Some(s.pitch.to_degrees()), 2)),
            ("clearance\n[mm]".into(), cell(|s| s.clearance.map(|c| 1e3 * c), 0)),
            ("weight on\nboard [%]".into(), cell(|s| s.on_board.map(|x| 100.0 * x), 0)),
            ("wings\n[%]".into(), cell(|s| s.on_wings.map(|x| 100.0 * x), 0)),
            ("reach\nused [%]".into(), cell(|s| s.reach.map(|x| 100.0 * x), 0)),
            ("shift\n[mm]".into(), cell(|s| s.shift.map(|x| 1e3 * x), 0)),
            ("its pace\n[mm/s]".into(), cell(|s| s.shift_pace.map(|x| 1e3 * x), 0)),
        ];
        section(&mut out, curve, trim);
        out.push_str("\n  Small disturbances, speed held\n");
        let stability: Vec<Column> = vec![
            ("slowest\ndecay [s]".into(), cell(|s| s.stability.as_ref()?.slowest, 2)),
            ("least damped\n[Hz]".into(), cell(|s| Some(s.stability.as_ref()?.least_damped?.0), 2)),
            ("damping\nratio".into(), cell(|s| Some(s.stability.as_ref()?.least_damped?.1), 2)),
            ("\ngrowing".into(), Box::new(growing)),
        ];
        section(&mut out, curve, stability);
    }
    out
}

fn at_throttle(curve: &Curve) -> String {
    format!("At {} % throttle", in_full(100.0 * curve.throttle))
}

/// As it was asked for: 37.8 % is not 38 %.
fn in_full(percent: f64) -> String {
    let text = format!("{percent:.6}");
    text.trim_end_matches('0').trim_end_matches('.').into()
}

fn cell<'a>(
    read: impl Fn(&Station) -> Option<f64> + 'a,
    digits: usize,
) -> Box<dyn Fn(&Station) -> String + 'a> {
    Box::new(move |s| read(s).map_or("-".into(), |x| rounded(x, digits)))
}

/// A number with some decimals; none has no sign.
pub(super) fn rounded(x: f64, digits: usize) -> String {
    let text = format!("{x:.digits$}");
    let nil = text.bytes().all(|b| matches!(b, b'-' | b'0' | b'.'));
    if nil { text.trim_start_matches('-').into() } else { text }
}

fn growing(s: &Station) -> String {
    let Some(stability) = &s.stability else { return "unknown".into() };
    let kind = if s.flying { IN_FLIGHT } else { PORPOISING };
    match stability.unstable.first() {
        None => String::new(),
        Some((growth, hertz)) if *hertz > 0.0 => format!("{kind}, {growth:.2} 1/s at {hertz:.2} Hz"),
        Some((growth, _)) => format!("{kind}, {growth:.2} 1/s, no swing"),
    }
}

/// The parts that resist most, each in a column, and the rest.
fn parts(curve: &Curve) -> Vec<Column<'_>> {
    let names: Vec<&str> = curve.gauges.resisting().collect();
    let most = |k: usize| {
        let both = Curve::found(&curve.below).chain(Curve::found(&curve.above));
        both.filter_map(|s| s.by_part.get(k)).fold(0.0f64, |most, x| most.max(x.abs()))
    };
    let mut order: Vec<usize> = (0..names.len()).filter(|&k| most(k) >= 0.05).collect();
    order.sort_by(|&a, &b| most(b).total_cmp(&most(a)));
    let rest = order.split_off(order.len().min(PARTS));
    let mut columns: Vec<Column> = order
        .into_iter()
        .map(|k| (names[k].chars().take(12).collect(), cell(move |s| s.by_part.get(k).copied(), 1)))
        .collect();
    if !rest.is_empty() {
        let sum = move |s: &Station| Some(rest.iter().filter_map(|&k| s.by_part.get(k)).sum());
        columns.push(("others".into(), cell(sum, 1)));
    }
    columns
}

/// A table of one way, and of the other where it differs.
fn section(out: &mut String, curve: &Curve, columns: Vec<Column>) {
    let heads: Vec<String> = std::iter::once("speed\n[m/s]".to_string())
        .chain(columns.iter().map(|(head, _)| head.clone()))
        .collect();
    let speeds = &curve.speeds;
    let rows = |way: &[Outcome], places: Vec<usize>| -> Vec<Vec<String>> {
        let row = |i: usize| {
            let station = way.get(i)?.as_ref().ok()?;
            let cells = columns.iter().map(|(_, read)| read(station));
            Some(std::iter::once(format!("{:.2}", station.speed)).chain(cells).collect())
        };
        thinned(places).into_iter().filter_map(row).collect()
    };
    let differs = |i: &usize| curve.same.get(*i) == Some(&false);
    let has = |way: &[Outcome], i: &usize| way.get(*i).is_some_and(Result::is_ok);
    let all: Vec<usize> = (0..speeds.len()).filter(|i| has(&curve.below, i)).collect();
    let other: Vec<usize> = (0..speeds.len()).filter(|i| differs(i) && has(&curve.above, i)).collect();
    if !all.is_empty() {
        out.push_str(&table(heads.clone(), rows(&curve.below, all)));
    }
    if !other.is_empty() {
        out.push_str("  Coming from above:\n");
        out.push_str(&table(heads, rows(&curve.above, other)));
    }
}

/// Some of the places, the first and the last among them.
fn thinned(places: Vec<usize>) -> Vec<usize> {
    let n = places.len();
    if n <= ROWS {
        return places;
    }
    (0..ROWS).filter_map(|i| places.get((i * (n - 1) + (ROWS - 1) / 2) / (ROWS - 1)).copied()).collect()
}

#[cfg(test)]
mod tests {
    use super::{in_full, rounded, thinned};

    #[test]
    fn throttles_close_to_each_other_are_told_apart() {
        assert_eq!([0.378, 0.37654, 1.0, 0.0].map(|x| in_full(100.0 * x)), ["37.8", "37.654", "100", "0"]);
    }

    #[test]
    fn nil_has_no_sign() {
        assert_eq!(rounded(-0.004, 2), "0.00");
        assert_eq!(rounded(-0.006, 2), "-0.01");
    }

    #[test]
    fn thinning_keeps_both_ends() {
        let some = thinned((0..61).collect());
        assert_eq!((some.len(), some.first(), some.last()), (16, Some(&0), Some(&60)));
        assert!(some.windows(2).all(|w| w[0] < w[1]));
        assert_eq!(thinned(vec![3, 4]), [3, 4]);
    }
}
