//! What a curve tells: hump, take-off, top speed, and where something is amiss.

use engine::root::bracketed;

use super::station::{Gauges, Stability, Station};
use super::sweep::{Curve, Outcome};
use engine::balance::Point;

/// Share of the weight on the board below which its hump is behind: as in a verdict.
const AFLOAT: f64 = 0.2;
/// How closely the ends of a stretch and the places of extremes are told, m/s.
const CLOSE: f64 = 0.005;

/// What an instability on the water is called.
///
/// The board's lift answers to the motion of one place only, ¾ of the wetted length: turning about that
/// place is not damped by it. A bare planing board therefore porpoises at far less trim than in
/// Savitsky's chart (`tests/steady/porpoising.rs` has the figures).
pub const PORPOISING: &str = "porpoising";
/// What an instability off the water is called.
pub const IN_FLIGHT: &str = "heave/pitch in flight";

/// Pull at a speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mark {
    /// Speed, m/s.
    pub speed: f64,
    /// Net thrust, N.
    pub thrust: f64,
    /// Resistance, N.
    pub resistance: f64,
}

impl Mark {
    /// Net thrust less resistance, N.
    pub fn margin(&self) -> f64 {
        self.thrust - self.resistance
    }
}

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

/// What is told.
#[derive(Debug, Clone, PartialEq)]
pub struct Findings {
    /// At the lowest speed.
    pub slowest: Option<Mark>,
    /// Greatest resistance while the board carries a fifth of the weight or more, coming from below.
    pub hump: Option<Mark>,
    /// Least margin up to the hump.
    pub to_hump: Option<Mark>,
    /// Least margin before take-off, coming from below.
    pub tightest: Option<Mark>,
    /// Speed at which the board comes clear, m/s; none where flight is not come to from the water.
    pub take_off: Option<f64>,
    /// Slowest speed that still flies, m/s.
    pub slowest_flight: Option<f64>,
    /// Highest speed at which the margin falls through nil, m/s; none where it is never positive, or to the last.
    pub top_speed: Option<f64>,
    /// Whether the margin is still positive at the last speed.
    pub faster: bool,
    /// Limits that bind at full throttle.
    pub limits: Vec<Stretch>,
    /// Speeds that full throttle cannot hold.
    pub short: Vec<Stretch>,
    /// Where disturbances grow.
    pub unstable: Vec<Stretch>,
    /// Where the rider is at the end of his reach.
    pub out_of_reach: Vec<Stretch>,
    /// Where two equilibria were found.
    pub twofold: Vec<(f64, f64)>,
    /// Where neither way has led to one.
    pub none: Vec<Gap>,
}

impl Findings {
    /// Reads a curve. More equilibria are looked for where a place has to be told closely.
    pub fn of(curve: &Curve) -> Findings {
        let gauges = &curve.gauges;
        let below: Vec<&Station> = Curve::found(&curve.below).collect();
        let above: Vec<&Station> = Curve::found(&curve.above).collect();
        let clear = below.iter().position(|s| s.flying);
        // flight that begins beyond a gap is not come to from the water
        let first = curve.below.iter().position(|o| o.as_ref().is_ok_and(|s| s.flying));
        let led_up = first.is_some_and(|i| i == 0 || curve.below.get(i - 1).is_some_and(Result::is_ok));
        let on_water = match clear {
            Some(first) => &below[..first],
            None => &below[..],
        };
        let carries = |p: &Point| gauges.on_board(p).is_none_or(|share| share > AFLOAT);
        let humped: Vec<&Station> = on_water.iter().copied().filter(|s| carries(&s.point)).collect();
        let resistance = |p: &Point| gauges.pull(p).1;
        let flies = |p: &Point| gauges.flying(p);
        let mark = |s: &&Station| Mark { speed: s.speed, thrust: s.thrust, resistance: s.resistance };
        let last_down = above.windows(2).rfind(|w| w[0].margin >= 0.0 && w[1].margin < 0.0);
        let flight =
            above.iter().rposition(|s| !s.flying).map_or(Some(0), |i| (i + 1 < above.len()).then_some(i + 1));
        let hump = extreme(curve, &humped, resistance);
        let up_to: Vec<&Station> =
            on_water.iter().copied().filter(|s| hump.is_some_and(|hump| s.speed <= hump.speed)).collect();
        let least = extreme(curve, &up_to, |p| -gauges.margin(p));
        let less = |a: &Mark, b: &Mark| a.margin().total_cmp(&b.margin());
        Findings {
            slowest: below.first().map(mark),
            hump,
            to_hump: least.into_iter().chain(hump).min_by(less),
            tightest: extreme(curve, on_water, |p| -gauges.margin(p)),
            take_off: clear.filter(|_| led_up).and_then(|k| edge(curve, &below, k, flies)),
            slowest_flight: flight
                .and_then(|k| edge(curve, &above, k, flies))
                .filter(|_| above.last().is_some_and(|s| s.flying)),
            top_speed: last_down.and_then(|w| crossing(curve, w[0], w[1])),
            faster: above.last().is_some_and(|s| s.margin >= 0.0),
            limits: limits(curve),
            short: stretches(curve, "short of thrust", |g, p| g.margin(p) < 0.0),
            unstable: unstable(curve),
            out_of_reach: stretches(curve, "out of reach", Gauges::out_of_reach),
            twofold: twofold(curve),
            none: none(curve),
        }
    }
}

/// Where `of` is greatest: at a station, or between its neighbours.
fn extreme(curve: &Curve, stations: &[&Station], of: impl Fn(&Point) -> f64) -> Option<Mark> {
    let highest =
        |(_, a): &(usize, &&Station), (_, b): &(usize, &&Station)| of(&a.point).total_cmp(&of(&b.point));
    let (k, best) = stations.iter().enumerate().max_by(highest)?;
    let (mut speed, mut point) = (best.speed, best.point.clone());
    let beside = (k.checked_sub(1).and_then(|i| stations.get(i)), stations.get(k + 1));
    if let (Some(before), Some(after)) = beside
        && let Some((u, found)) = section(curve, before, best, after, &of)
        && of(&found) > of(&point)
    {
        (speed, point) = (u, found);
    }
    let (thrust, resistance) = curve.gauges.pull(&point);
    Some(Mark { speed, thrust, resistance })
}

/// Golden section between three stations, the middle one the greatest; none where an equilibrium is missing.
fn section(
    curve: &Curve,
    before: &Station,
    best: &Station,
    after: &Station,
    of: impl Fn(&Point) -> f64,
) -> Option<(f64, Point)> {
    const SHARE: f64 = 0.618_033_988_749_895;
    let (mut low, mut high) = (before.speed, after.speed);
    let at =
        |u: f64| if u < best.speed { curve.between(before, best, u) } else { curve.between(best, after, u) };
    let (mut a, mut b) = (high - SHARE * (high - low), low + SHARE * (high - low));
    let (mut p, mut q) = (at(a)?, at(b)?);
    while high - low > CLOSE {
        if of(&p) > of(&q) {
            (high, b, q) = (b, a, p);
            a = high - SHARE * (high - low);
            p = at(a)?;
        } else {
            (low, a, p) = (a, b, q);
            b = low + SHARE * (high - low);
            q = at(b)?;
        }
    }
    Some(if of(&p) > of(&q) { (a, p) } else { (b, q) })
}

/// Where the margin is nil between two stations.
fn crossing(curve: &Curve, a: &Station, b: &Station) -> Option<f64> {
    let margin = |u: f64| curve.between(a, b, u).map_or(f64::NAN, |p| curve.gauges.margin(&p));
    bracketed(margin, a.speed, b.speed)
}

/// Where station `k` of a way begins to have what the one before it has not; its own speed if there is none before.
fn edge(curve: &Curve, way: &[&Station], k: usize, has: impl Fn(&Point) -> bool) -> Option<f64> {
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

/// Stretches of speed, both ways; what the way from above repeats is told once.
fn stretches(curve: &Curve, what: &str, has: impl Fn(&Gauges, &Point) -> bool) -> Vec<Stretch> {
    let holds = |p: &Point| has(&curve.gauges, p);
    let mut all = Vec::new();
    for (way, from_below) in [(&curve.below, true), (&curve.above, false)] {
        let at = |i: usize| way.get(i).and_then(|o| o.as_ref().ok());
        for (a, b) in runs(way.len(), |i| at(i).is_some_and(|s| holds(&s.point))) {
            let (Some(first), Some(last)) = (at(a), at(b)) else { continue };
            let end = |station: &Station, beside: Option<&Station>| {
                beside.map_or(station.speed, |without| halved(curve, without, station, holds))
            };
            let (from, to) = (end(first, a.checked_sub(1).and_then(at)), end(last, at(b + 1)));
            if from_below || !(a..=b).all(|i| curve.same[i]) {
                all.push(Stretch { what: what.into(), from, to, from_below, growth: None });
            }
        }
    }
    all
}

/// Where each limit binds, in the order of speeds.
fn limits(curve: &Curve) -> Vec<Stretch> {
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
fn unstable(curve: &Curve) -> Vec<Stretch> {
    let mut all = Vec::new();
    for (flying, what) in [(false, PORPOISING), (true, IN_FLIGHT)] {
        let grows = |g: &Gauges, p: &Point| {
            g.flying(p) == flying && Stability::of(&curve.trim, p).is_some_and(|s| !s.is_stable())
        };
        all.extend(stretches(curve, what, grows));
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
fn twofold(curve: &Curve) -> Vec<(f64, f64)> {
    let two = |i: usize| !curve.same[i] && curve.below[i].is_ok() && curve.above[i].is_ok();
    runs(curve.speeds.len(), two).into_iter().map(|(a, b)| (curve.speeds[a], curve.speeds[b])).collect()
}

/// Speeds without an equilibrium.
fn none(curve: &Curve) -> Vec<Gap> {
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
