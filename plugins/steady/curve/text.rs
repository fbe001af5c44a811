//! A curve for a person.

use engine::text_table::{paragraph, table};

use super::findings::{Findings, IN_FLIGHT, Mark, PORPOISING, Stretch};
use super::station::Station;
use super::sweep::{Curve, Outcome};

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
        for line in findings(curve, found) {
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
    format!("At {:.0} % throttle", 100.0 * curve.throttle)
}

fn cell<'a>(
    read: impl Fn(&Station) -> Option<f64> + 'a,
    digits: usize,
) -> Box<dyn Fn(&Station) -> String + 'a> {
    Box::new(move |s| read(s).map_or("-".into(), |x| rounded(x, digits)))
}

/// A number with some decimals; none has no sign.
fn rounded(x: f64, digits: usize) -> String {
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

fn findings(curve: &Curve, found: &Findings) -> Vec<String> {
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
    let ends =
        found.none.iter().map(|gap| gap.from).find(|from| found.slowest.is_some_and(|s| s.speed < *from));
    match (found.take_off, found.tightest, ends) {
        (Some(off), Some(m), _) if m.margin() >= 0.0 && found.none.iter().any(|gap| gap.from < off) => {
            lines.push(format!(
                "THRUST ENOUGH TO TAKE OFF, with {}, but on the way there are speeds without an equilibrium (below)",
                spare(m)
            ))
        }
        (Some(_), Some(m), _) if m.margin() >= 0.0 => lines.push(format!("TAKES OFF, with {}", spare(m))),
        (_, Some(m), _) if m.margin() < 0.0 => lines.push(format!("DOES NOT TAKE OFF: {}", missing(m))),
        (_, _, Some(from)) => {
            lines.push(format!("NO STEADY WAY TO TAKE-OFF: coming from below, the equilibrium ends before {from:.2} m/s"))
        }
        (None, ..) => lines.push("Does not come clear of the water at any of these speeds".into()),
        _ => {}
    }
    match found.to_hump {
        Some(m) if m.margin() >= 0.0 => lines.push(format!("Passes the hump, with {}", spare(m))),
        Some(m) => lines.push(format!("Does not pass the hump: {}", missing(m))),
        None => {}
    }
    if let Some(hump) = found.hump {
        lines.push(format!("Hump (greatest resistance on the water): {}", pull(hump)));
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
            lines.push(format!("Top speed {speed:.2} m/s, where thrust and resistance meet"))
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

#[cfg(test)]
mod tests {
    use super::{rounded, thinned};

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
