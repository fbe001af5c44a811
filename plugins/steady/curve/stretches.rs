//! Where, over the speeds of a curve, something holds.

use engine::balance::Point;

use super::station::{Gauges, Stability, Station};
use super::sweep::{Curve, Outcome};

/// How closely the ends of a stretch and the places of extremes are told, m/s.
pub(super) const CLOSE: f64 = 0.005;

/// What an instability on the water is called.
///
/// The board's lift answers to the motion of one place only, ¾ of the wetted length: turning about that
/// place is not damped by it. A bare planing board therefore porpoises at far less trim than in
/// Savitsky's chart (`tests/steady/porpoising.rs` has the figures).
pub const PORPOISING: &str = "porpoising";
/// What an instability off the water is called.
pub const IN_FLIGHT: &str = "heave/pitch in flight";

/// A stretch of speeds, m/s, in which something holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// What: a limit, or a kind of instability.
    pub what: String,
    /// From.
    pub from: f64,
    /// To.
    pub to: f64,
    /// Which way it was met: whether coming from below.
    pub from_below: bool,
    /// Of an instability: greatest growth, 1/s, and the frequency there, Hz.
    pub growth: Option<(f64, f64)>,
}

/// Speeds, m/s, at which neither way has led to an equilibrium.
#[derive(Debug, Clone, PartialEq)]
pub struct Gap {
    /// The first.
    pub from: f64,
    /// The last.
    pub to: f64,
    /// Whether the rider is at the end of his reach beside it.
    pub out_of_reach: bool,
    /// What the search says, coming from below and from above.
    pub why: [String; 2],
}

/// Where station `k` of a way begins to have what the one before it has not; its own speed if there is none before.
pub(super) fn edge(curve: &Curve, way: &[&Station], k: usize, has: impl Fn(&Point) -> bool) -> Option<f64> {
    let with = way.get(k)?;
    let Some(without) = k.checked_sub(1).and_then(|i| way.get(i)) else {
        return Some(with.speed);
    };
    Some(halved(curve, without, with, has))
}

/// Speed nearest to `without` that was found to have it.
fn halved(curve: &Curve, without: &Station, with: &Station, has: impl Fn(&Point) -> bool) -> f64 {
    let (mut no, mut yes) = (without.speed, with.speed);
    while (yes - no).abs() > CLOSE {
        let middle = 0.5 * (no + yes);
        match curve.between(without, with, middle) {
            Some(point) if has(&point) => yes = middle,
            _ => no = middle,
        }
    }
    yes
}

/// The first that has it, coming from one that has not: a station found between two.
pub(super) fn cross_over(
    curve: &Curve,
    without: &Station,
    with: &Station,
    has: impl Fn(&Point) -> bool,
) -> Option<Station> {
    let speed = halved(curve, without, with, has);
    let point = curve.between(without, with, speed)?;
    Some(curve.gauges.station(speed, point, None))
}

/// Stretches of speed, both ways; what the way from above repeats is told once.
pub(super) fn stretches(curve: &Curve, what: &str, has: impl Fn(&Gauges, &Point) -> bool) -> Vec<Stretch> {
    let holds = |p: &Point| has(&curve.gauges, p);
    between(curve, what, |s| holds(&s.point), holds)
}

/// Stretches told from stations, their ends from equilibria between them.
fn between(
    curve: &Curve,
    what: &str,
    marked: impl Fn(&Station) -> bool,
    holds: impl Fn(&Point) -> bool + Copy,
) -> Vec<Stretch> {
    let mut all = Vec::new();
    for (way, from_below) in [(&curve.below, true), (&curve.above, false)] {
        let at = |i: usize| way.get(i).and_then(|o| o.as_ref().ok());
        for (a, b) in runs(way.len(), |i| at(i).is_some_and(&marked)) {
            let (Some(first), Some(last)) = (at(a), at(b)) else { continue };
            // a repetition is not worked out
            if !from_below && (a..=b).all(|i| curve.same[i]) {
                continue;
            }
            let end = |station: &Station, beside: Option<&Station>| {
                beside.map_or(station.speed, |without| halved(curve, without, station, holds))
            };
            let (from, to) = (end(first, a.checked_sub(1).and_then(at)), end(last, at(b + 1)));
            all.push(Stretch { what: what.into(), from, to, from_below, growth: None });
        }
    }
    all
}

/// Where each limit binds, in the order of speeds.
pub(super) fn limits(curve: &Curve) -> Vec<Stretch> {
    let mut names: Vec<&String> =
        Curve::found(&curve.below).chain(Curve::found(&curve.above)).flat_map(|s| &s.limits).collect();
    names.sort_unstable();
    names.dedup();
    let mut all: Vec<Stretch> =
        names.iter().flat_map(|name| stretches(curve, name, |g, p| g.limits(p).contains(name))).collect();
    all.sort_by(|a, b| b.from_below.cmp(&a.from_below).then(a.from.total_cmp(&b.from)));
    all
}

/// Where disturbances grow, afloat and in flight.
pub(super) fn unstable(curve: &Curve) -> Vec<Stretch> {
    let mut all = Vec::new();
    for (flying, what) in [(false, PORPOISING), (true, IN_FLIGHT)] {
        let grows = |s: &Stability| !s.is_stable();
        let marked = |s: &Station| s.flying == flying && s.stability.as_ref().is_some_and(grows);
        let holds = |p: &Point| {
            curve.gauges.flying(p) == flying && Stability::of(&curve.trim, p).is_some_and(|s| grows(&s))
        };
        all.extend(between(curve, what, marked, holds));
    }
    for stretch in &mut all {
        let way: &[Outcome] = if stretch.from_below { &curve.below } else { &curve.above };
        let within = Curve::found(way).filter(|s| (stretch.from..=stretch.to).contains(&s.speed));
        let fastest = within.filter_map(|s| s.stability.as_ref()?.unstable.first().copied());
        stretch.growth = fastest.max_by(|a, b| a.0.total_cmp(&b.0));
    }
    all
}

/// Speeds where the two ways lead to two equilibria.
pub(super) fn twofold(curve: &Curve) -> Vec<(f64, f64)> {
    let two = |i: usize| !curve.same[i] && curve.below[i].is_ok() && curve.above[i].is_ok();
    runs(curve.speeds.len(), two).into_iter().map(|(a, b)| (curve.speeds[a], curve.speeds[b])).collect()
}

/// Speeds without an equilibrium.
pub(super) fn none(curve: &Curve) -> Vec<Gap> {
    let reached = |way: &[Outcome], i: Option<usize>| {
        let station = i.and_then(|i| way.get(i)).and_then(|o| o.as_ref().ok());
        station.is_some_and(|s| curve.gauges.out_of_reach(&s.point))
    };
    let why = |way: &[Outcome], i: usize| {
        way.get(i).and_then(|o| o.as_ref().err()).map_or(String::new(), ToString::to_string)
    };
    let neither = |i: usize| curve.below[i].is_err() && curve.above[i].is_err();
    let gap = |(a, b): (usize, usize)| Gap {
        from: curve.speeds[a],
        to: curve.speeds[b],
        out_of_reach: [&curve.below, &curve.above]
            .iter()
            .any(|way| reached(way, a.checked_sub(1)) || reached(way, Some(b + 1))),
        why: [why(&curve.below, a), why(&curve.above, b)],
    };
    runs(curve.speeds.len(), neither).into_iter().map(gap).collect()
}

/// First and last place of each run of places that have something.
fn runs(n: usize, has: impl Fn(usize) -> bool) -> Vec<(usize, usize)> {
    let mut all: Vec<(usize, usize)> = Vec::new();
    for i in (0..n).filter(|&i| has(i)) {
        match all.last_mut() {
            Some((_, last)) if *last + 1 == i => *last = i,
            _ => all.push((i, i)),
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::runs;

    #[test]
    fn runs_are_found_at_both_ends() {
        let has = [true, false, true, true, false, true];
        assert_eq!(runs(6, |i| has[i]), [(0, 0), (2, 3), (5, 5)]);
        assert_eq!(runs(0, |_| true), []);
    }
}
