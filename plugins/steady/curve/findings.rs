//! What a curve tells: hump, take-off, top speed, and where something is amiss.

use super::over::{AFLOAT, Over};
use super::station::{Gauges, Station};
use super::stretches::{CLOSE, Gap, Stretch, edge, limits, none, stretches, twofold, unstable};
use super::sweep::Curve;
use engine::balance::Point;

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

/// What is told.
#[derive(Debug, Clone, PartialEq)]
pub struct Findings {
    /// At the lowest speed.
    pub slowest: Option<Mark>,
    /// Greatest resistance while the board carries a fifth of the weight or more, coming from below.
    pub hump: Option<Mark>,
    /// The way over it.
    pub over: Over,
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
        // a way that does not fly at its highest speed is none that a board comes down on
        let down = if above.last().is_some_and(|s| s.flying) { &above } else { &below };
        let last_down = down.windows(2).rfind(|w| w[0].margin >= 0.0 && w[1].margin < 0.0);
        let flight =
            above.iter().rposition(|s| !s.flying).map_or(Some(0), |i| (i + 1 < above.len()).then_some(i + 1));
        let hump = extreme(curve, &humped, resistance);
        Findings {
            slowest: below.first().map(mark),
            hump,
            over: Over::of(curve, hump),
            tightest: extreme(curve, on_water, |p| -gauges.margin(p)),
            take_off: clear.filter(|_| led_up).and_then(|k| edge(curve, &below, k, flies)),
            slowest_flight: flight
                .and_then(|k| edge(curve, &above, k, flies))
                .filter(|_| above.last().is_some_and(|s| s.flying)),
            top_speed: last_down.and_then(|w| curve.level(w[0], w[1])),
            faster: down.last().is_some_and(|s| s.margin >= 0.0),
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
pub(super) fn extreme(curve: &Curve, stations: &[&Station], of: impl Fn(&Point) -> f64) -> Option<Mark> {
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
