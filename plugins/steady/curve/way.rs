//! One way along a curve: each equilibrium begun at the last, as long as they hang together.

use std::fmt;

use engine::balance::Point;
use engine::model::Model;
use engine::profile::Profile;
use engine::run::{Options, Run};

use super::station::Stability;
use crate::steady::trim::Trim;

/// Why there is no equilibrium at a speed.
#[derive(Debug, Clone, PartialEq)]
pub struct Lost {
    /// Speed of the last one on this way, m/s; none where it never began.
    pub after: Option<f64>,
    /// What the search says.
    pub why: String,
}

/// An equilibrium, or none.
pub type Step = Result<Point, Lost>;

impl Lost {
    /// Where a way could not be begun.
    pub fn never() -> Lost {
        Lost { after: None, why: "no equilibrium to begin at".into() }
    }
}

impl fmt::Display for Lost {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.after {
            Some(after) => write!(f, "the equilibrium ends at {after:.2} m/s: {}", self.why),
            None => f.write_str(&self.why),
        }
    }
}

/// Speeds that are solved at a go; what came of them is looked at in between.
const AT_A_GO: usize = 8;
/// Change from one equilibrium to the next, in any quick state (m, rad, lift coefficient), that may be a jump.
const LEAP: f64 = 0.05;
/// Halvings of a step of speed that show whether a change is a jump.
const HALVINGS: usize = 6;
/// Halvings of a step of speed that show where an equilibrium ends; a search in vain is costly.
const SHORTEST: usize = 3;
/// Share of a change that is still there within the last of them, where it is a jump.
const SUDDEN: f64 = 0.3;

/// Equilibria at speeds, m/s, one after the other. A way ends where its equilibrium does; what lies
/// beyond a jump is taken only if it is stable, as a craft left to itself would come to rest there.
pub fn walk(trim: &Trim, speeds: &[f64], begin: &Point) -> Vec<Step> {
    let mut steps: Vec<Step> = Vec::with_capacity(speeds.len());
    let mut last = begin.clone();
    let mut since = begin.value(trim.speed());
    for go in speeds.chunks(AT_A_GO) {
        let lost = steps.last().and_then(|s| s.as_ref().err()).cloned();
        if let Some(lost) = lost {
            steps.extend(go.iter().map(|_| Err(lost.clone())));
            continue;
        }
        let found = trim.along(go, &last.free);
        for (k, (&speed, found)) in go.iter().zip(found).enumerate() {
            let next =
                found.map_err(|why| why.to_string()).and_then(|p| joined(trim, &last, since, p, speed));
            // where a long step fails, shorter ones may not
            match next.or_else(|why| {
                gradually(trim, &last, since, speed).map_err(|after| Lost { after: Some(after), why })
            }) {
                Ok(point) => {
                    (last, since) = (point.clone(), speed);
                    steps.push(Ok(point));
                }
                Err(lost) => {
                    steps.extend(go[k..].iter().map(|_| Err(lost.clone())));
                    break;
                }
            }
        }
    }
    steps
}

/// Farthest that any quick state has moved.
fn moved(a: &Point, b: &Point) -> f64 {
    a.free.iter().zip(&b.free).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
}

/// `next` if it hangs together with `last`, or is stable at least.
fn joined(trim: &Trim, last: &Point, since: f64, next: Point, speed: f64) -> Result<Point, String> {
    let whole = moved(last, &next);
    if whole < LEAP || Stability::of(trim, &next).is_some_and(|s| s.is_stable()) {
        return Ok(next);
    }
    let (mut a, mut u, mut b, mut v) = (last.clone(), since, next.clone(), speed);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (u + v);
        let start: Vec<f64> = a.free.iter().zip(&b.free).map(|(a, b)| 0.5 * (a + b)).collect();
        let Ok(point) = trim.at(middle, &start) else { break };
        if moved(&a, &point) < moved(&point, &b) {
            (a, u) = (point, middle);
        } else {
            (b, v) = (point, middle);
        }
    }
    if moved(&a, &b) < SUDDEN * whole {
        return Ok(next);
    }
    Err("what is found beyond is another equilibrium, which is unstable".into())
}

/// The equilibrium at `speed` by shorter and shorter steps from `last`.
///
/// # Errors
/// The speed at which it was lost.
fn gradually(trim: &Trim, last: &Point, since: f64, speed: f64) -> Result<Point, f64> {
    let (mut point, mut at, mut step) = (last.clone(), since, 0.5 * (speed - since));
    let least = step / f64::from(1u32 << SHORTEST);
    while (speed - at).abs() > 1e-9 * speed.abs() {
        let next = if (speed - at).abs() <= step.abs() { speed } else { at + step };
        // a step of speed this small moves an equilibrium that goes on by little
        match trim.at(next, &point.free) {
            Ok(found) if moved(&point, &found) < LEAP => (point, at) = (found, next),
            _ if step.abs() > least.abs() => step *= 0.5,
            _ => return Err(at),
        }
    }
    Ok(point)
}

/// The equilibrium of a craft that has floated at rest with the throttle shut, is brought to `speed` and
/// given throttle bit by bit.
pub fn settled(trim: &Trim, throttle: f64, speed: f64) -> Option<Point> {
    /// Openings of the throttle on the way; each moves the trim by a tenth of what the thrust does.
    const OPENINGS: usize = 10;
    let model: &Model = trim.model();
    let mut run = Run::new(trim.model().clone(), Options::default());
    run.hold(trim.speed(), Profile::constant(speed));
    for &input in trim.throttle() {
        if let Some(profile) = run.input(input) {
            *profile = Profile::constant(0.0);
        }
    }
    // settling comes first, and a run of no length does nothing else
    let floats = run.advance(0.0, &[]).is_ok();
    let unknowns = trim.balance().unknowns();
    let value = |p| if floats { run.value(p) } else { model.start_value(p) };
    let mut start: Vec<f64> = unknowns.into_iter().map(value).collect();
    let mut point = None;
    for k in 0..=OPENINGS {
        let opened = trim.at_throttle(throttle * k as f64 / OPENINGS as f64);
        let found = opened.at(speed, &start).ok()?;
        start.clone_from(&found.free);
        point = Some(found);
        if trim.throttle().is_empty() {
            break;
        }
    }
    point
}
