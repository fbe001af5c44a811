//! The stations of a curve: coming from below and coming from above.

use engine::balance::Point;
use engine::diagnostic::Diagnostic;
use engine::root::bracketed;

use super::station::{Gauges, Stability, Station};
use super::way::{Lost, Step, settled, walk};
use crate::steady::trim::Trim;

/// What was found at a speed.
pub type Outcome = Result<Station, Lost>;

/// A curve: equilibria over speed at one throttle.
pub struct Curve {
    /// The question.
    pub trim: Trim,
    /// Throttle, 0 to 1.
    pub throttle: f64,
    /// What is read.
    pub gauges: Gauges,
    /// Speeds over ground, m/s, ascending.
    pub speeds: Vec<f64>,
    /// At each speed, coming from below.
    pub below: Vec<Outcome>,
    /// At each speed, coming from above.
    pub above: Vec<Outcome>,
    /// Whether both ways lead to the same equilibrium, or to none.
    pub same: Vec<bool>,
    /// Weight, N.
    pub weight: f64,
    /// Evaluations of the model spent on the equilibria in it.
    pub evaluations: usize,
}

/// Closer than this in every quick state (m, rad, lift coefficient), two equilibria are one.
const SAME: f64 = 1e-5;
/// Speeds at which others are looked for where neither way has led.
const LOOKED_FOR: usize = 4;

/// Whether two equilibria are one.
fn alike(a: &Point, b: &Point) -> bool {
    a.free.iter().zip(&b.free).all(|(a, b)| (a - b).abs() < SAME)
}

impl Curve {
    /// Works out a curve at speeds, m/s, ascending, two at least.
    ///
    /// # Errors
    /// No equilibrium was found at the lowest speed nor at the highest.
    pub fn new(trim: &Trim, throttle: f64, speeds: &[f64]) -> Result<Curve, Diagnostic> {
        let trim = trim.at_throttle(throttle);
        let gauges = Gauges::of(trim.model());
        let (first, last) = match speeds {
            [first, .., last] => (*first, *last),
            _ => return Err(Diagnostic::error("a curve needs two speeds at least")),
        };
        let (others, why) = trim.all_at(last);
        let stable = |p: &&Point| Stability::of(&trim, p).is_some_and(|s| s.is_stable());
        let height = |p: &Point| gauges.clearance(p).unwrap_or(0.0);
        let higher = |a: &&Point, b: &&Point| height(a).total_cmp(&height(b));
        let high = others.iter().filter(stable).max_by(higher).or(others.iter().max_by(higher));
        // a craft brought to where it is unstable does not stay there
        let settled = settled(&trim, throttle, first);
        let low = match settled.as_ref().filter(stable) {
            Some(low) => Some(low.clone()),
            None => {
                let afloat = trim.starts().first().and_then(|start| trim.at(first, start).ok());
                afloat.filter(|p| stable(&p)).or(settled)
            }
        };
        if low.is_none() && high.is_none() {
            let why = why.map_or(String::new(), |why| format!(": {why}"));
            let error = Diagnostic::error(format!("no equilibrium from {first} to {last} m/s{why}"));
            return Err(error.help("see that the board floats: masses, volume, and the rider's place"));
        }
        let way = |begin: Option<&Point>, speeds: &[f64]| match begin {
            Some(begin) => walk(&trim, speeds, begin),
            None => speeds.iter().map(|_| Err(Lost::never())).collect(),
        };
        let falling: Vec<f64> = speeds.iter().rev().copied().collect();
        let mut below = way(low.as_ref(), speeds);
        let mut above = way(high, &falling);
        above.reverse();
        look_between(&trim, speeds, &mut below, &mut above);
        let mended = taken_up(&trim, speeds, &below, &above);
        let backwards = |way: &[Step]| way.iter().rev().cloned().collect::<Vec<Step>>();
        above = taken_up(&trim, &falling, &backwards(&above), &backwards(&below));
        above.reverse();
        below = mended;
        let pair = |(a, b): (&Step, &Step)| match (a, b) {
            (Ok(a), Ok(b)) => alike(a, b),
            (Err(_), Err(_)) => true,
            _ => false,
        };
        let same: Vec<bool> = below.iter().zip(&above).map(pair).collect();
        let spent = |all: &[Step]| all.iter().flatten().map(|p| p.evaluations).sum::<usize>();
        let mut curve = Curve {
            throttle,
            speeds: speeds.to_vec(),
            weight: low.iter().chain(high).next().map_or(0.0, |p| gauges.weight(p)),
            evaluations: spent(&below) + spent(&above),
            below: Vec::new(),
            above: Vec::new(),
            same,
            gauges,
            trim,
        };
        curve.read(below, above);
        Ok(curve)
    }

    /// Reads the stations; what both ways share is worked out once.
    fn read(&mut self, below: Vec<Step>, above: Vec<Step>) {
        let (mut up, mut down) = (Vec::new(), Vec::new());
        let station = |speed: f64, point: Point| {
            let stability = Stability::of(&self.trim, &point);
            self.gauges.station(speed, point, stability)
        };
        for (((&speed, below), above), &same) in self.speeds.iter().zip(below).zip(above).zip(&self.same) {
            let one: Outcome = below.map(|point| station(speed, point));
            down.push(match above {
                Ok(_) if same => one.clone(),
                other => other.map(|point| station(speed, point)),
            });
            up.push(one);
        }
        pace_of_shift(&mut up);
        pace_of_shift(&mut down);
        (self.below, self.above) = (up, down);
    }

    /// Stations of one way, those without an equilibrium left out.
    pub fn found(way: &[Outcome]) -> impl DoubleEndedIterator<Item = &Station> + Clone {
        way.iter().filter_map(|outcome| outcome.as_ref().ok())
    }

    /// An equilibrium between two stations, at a speed, m/s.
    pub fn between(&self, a: &Station, b: &Station, speed: f64) -> Option<Point> {
        let span = b.speed - a.speed;
        let share = if span == 0.0 { 0.0 } else { (speed - a.speed) / span };
        let pairs = a.point.free.iter().zip(&b.point.free);
        let start: Vec<f64> = pairs.map(|(a, b)| a + share * (b - a)).collect();
        self.trim.at(speed, &start).ok()
    }

    /// Speed between two stations at which thrust and resistance are level, m/s.
    pub fn level(&self, a: &Station, b: &Station) -> Option<f64> {
        let margin = |u: f64| self.between(a, b, u).map_or(f64::NAN, |p| self.gauges.margin(&p));
        bracketed(margin, a.speed, b.speed)
    }
}

/// A way that was lost, taken up again wherever the other way has been.
fn taken_up(trim: &Trim, speeds: &[f64], way: &[Step], other: &[Step]) -> Vec<Step> {
    let mut whole = way.to_vec();
    for i in 0..speeds.len() {
        let (Some(Err(_)), Some(Ok(begin))) = (whole.get(i), other.get(i)) else { continue };
        let rest = walk(trim, &speeds[i..], begin);
        let empty = whole[i..].iter_mut().zip(rest).take_while(|(old, new)| old.is_err() && new.is_ok());
        for (old, new) in empty {
            *old = new;
        }
    }
    whole
}

/// Looks for equilibria at some of the speeds that neither way has come to, and goes both ways from
/// the stable ones.
fn look_between(trim: &Trim, speeds: &[f64], below: &mut [Step], above: &mut [Step]) {
    let empty: Vec<usize> = (0..speeds.len()).filter(|&i| below[i].is_err() && above[i].is_err()).collect();
    let mut some: Vec<usize> = (1..=LOOKED_FOR).map(|k| k * empty.len() / (LOOKED_FOR + 1)).collect();
    some.dedup();
    for &i in some.into_iter().filter_map(|k| empty.get(k)) {
        if below[i].is_ok() || above[i].is_ok() {
            continue;
        }
        // in flight only where something slower was found: a search in vain is costly
        let slower = (0..i).any(|k| below[k].is_ok() || above[k].is_ok());
        let starts = trim.starts().iter().take(if slower { usize::MAX } else { 1 });
        let mut found = starts.filter_map(|start| trim.at(speeds[i], start).ok());
        let stable = found.find(|p| Stability::of(trim, p).is_some_and(|s| s.is_stable()));
        let Some(point) = stable else { continue };
        let falling: Vec<f64> = speeds[..=i].iter().rev().copied().collect();
        let up = (i..speeds.len()).zip(walk(trim, &speeds[i..], &point));
        let down = (0..=i).rev().zip(walk(trim, &falling, &point));
        // both ways, as it is reached by neither
        for side in [up.collect::<Vec<_>>(), down.collect()] {
            let fits = |k: usize| below[k].is_err() && above[k].is_err() || k == i;
            let side: Vec<_> = side.into_iter().take_while(|(k, new)| fits(*k) && new.is_ok()).collect();
            for (k, new) in side {
                (below[k], above[k]) = (new.clone(), new);
            }
        }
    }
}

/// How fast the rider must move: d(shift)/du along the way times the acceleration that the margin gives.
fn pace_of_shift(way: &mut [Outcome]) {
    let place = |o: &Outcome| o.as_ref().ok().and_then(|s| Some((s.speed, s.shift?)));
    let places: Vec<Option<(f64, f64)>> = way.iter().map(place).collect();
    for (i, outcome) in way.iter_mut().enumerate() {
        let at = |k: usize| places.get(k).copied().flatten();
        let here = at(i);
        let (before, after) = (i.checked_sub(1).and_then(at).or(here), at(i + 1).or(here));
        if let (Ok(station), Some((u, s)), Some((v, t))) = (outcome, before, after) {
            station.shift_pace = (v > u).then(|| (t - s) / (v - u) * station.acceleration);
        }
    }
}
