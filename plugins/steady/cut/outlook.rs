//! What a craft would do with its blades cut, for each of a list of draws.

use engine::analysis::Craft;
use engine::diagnostic::{Diagnostic, Diagnostics};
use engine::part::PartKind;
use rayon::prelude::*;

use super::blades::propeller;
use super::states::{Shape, State};

/// What is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Measure {
    /// At rest, N.
    Thrust,
    /// rpm.
    ShaftSpeed,
    /// DC-equivalent, A.
    MotorCurrent,
    /// A.
    BatteryCurrent,
    /// Least margin of thrust on the way over the hump, N.
    HumpMargin,
    /// Time to take-off from rest, s.
    TakeOff,
    /// m/s.
    TopSpeed,
}

impl Measure {
    /// All, those at rest first.
    pub const ALL: [Measure; 7] = [
        Measure::Thrust,
        Measure::ShaftSpeed,
        Measure::MotorCurrent,
        Measure::BatteryCurrent,
        Measure::HumpMargin,
        Measure::TakeOff,
        Measure::TopSpeed,
    ];
    /// Those at rest.
    pub const AT_REST: usize = 4;

    /// Name and unit.
    pub fn name(self) -> (&'static str, &'static str) {
        match self {
            Measure::Thrust => ("static_thrust", "N"),
            Measure::ShaftSpeed => ("shaft_speed", "rpm"),
            Measure::MotorCurrent => ("motor_current_dc_equivalent", "A"),
            Measure::BatteryCurrent => ("battery_current", "A"),
            Measure::HumpMargin => ("least_margin_over_hump", "N"),
            Measure::TakeOff => ("take_off_time", "s"),
            Measure::TopSpeed => ("top_speed", "m/s"),
        }
    }

    /// 1 where more is better, −1 where less is.
    pub fn better(self) -> f64 {
        if self == Measure::TakeOff { -1.0 } else { 1.0 }
    }

    fn place(self) -> usize {
        Measure::ALL.iter().position(|m| *m == self).unwrap_or(0)
    }
}

/// One way of cutting, by one amount.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Stage {
    /// `tip`, `outline` or `scale`.
    pub way: String,
    /// Taken off in all, m.
    pub removed: f64,
    /// Of the first draw.
    pub shape: Shape,
    /// What holds the drive at rest, in the first draw.
    pub held: &'static str,
    /// Blade area that Keller's criterion asks for at rest over what there is, in the first draw.
    pub area_needed: f64,
    /// By draw, what was found of each measure.
    pub told: Vec<[Option<f64>; 7]>,
}

/// Stages of all ways.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Outlook {
    /// Ways of cutting.
    pub ways: Vec<String>,
    /// Way after way, each by what is removed, rising.
    pub stages: Vec<Stage>,
    /// Whether the craft moves; if not there is nothing but rest to be told.
    pub moves: bool,
    /// What to say of it.
    pub notes: Vec<String>,
}

impl Stage {
    /// What each draw gives; none where a draw gives nothing.
    pub fn each(&self, measure: Measure) -> Option<Vec<f64>> {
        self.told.iter().map(|draw| draw[measure.place()]).collect()
    }

    /// Draws that give something.
    pub fn given(&self, measure: Measure) -> usize {
        self.told.iter().filter(|draw| draw[measure.place()].is_some()).count()
    }

    /// Mean over the draws.
    pub fn mean(&self, measure: Measure) -> Option<f64> {
        self.each(measure).map(|x| mean(&x))
    }

    /// Standard uncertainty over the draws, which come in pairs; 0 of a single draw.
    pub fn sd(&self, measure: Measure) -> Option<f64> {
        self.each(measure).map(|x| covariance(&x, &x).sqrt())
    }

    /// Covariance with another stage over the same draws, which come in pairs.
    pub fn covariance(&self, other: &Stage, measure: Measure) -> Option<f64> {
        Some(covariance(&self.each(measure)?, &other.each(measure)?))
    }
}

fn mean(x: &[f64]) -> f64 {
    x.iter().sum::<f64>() / x.len().max(1) as f64
}

/// Covariance of two quantities from pairs of draws, each pair one standard uncertainty up and down in a direction that
/// does not depend on the others: Σ ½ΔX ½ΔY. Only what differs between up and down counts: a bend, which moves both alike,
/// is no doubt that comes from this direction to first order, and would be taken for much of it.
fn covariance(x: &[f64], y: &[f64]) -> f64 {
    let half = |pair: &[f64]| 0.5 * (pair[0] - pair[1]);
    // from 0: the sum of none is −0, and would be told so
    x.chunks_exact(2).zip(y.chunks_exact(2)).map(|(x, y)| half(x) * half(y)).fold(0.0, |sum, both| sum + both)
}

impl Outlook {
    /// Stages of one way, rising.
    pub fn along<'a>(&'a self, way: &'a str) -> impl Iterator<Item = &'a Stage> {
        self.stages.iter().filter(move |s| s.way == way)
    }
}

/// What is asked of one draw, one way, one amount.
struct Question<'a> {
    /// Cut this way.
    craft: &'a Craft,
    removed: f64,
    draw: &'a [(String, f64)],
}

/// A craft with its blades cut in `cuts` (`tip`, `outline`, `scale`) by `steps` (removed in all \[m\], rising, the
/// first as it is now), for each of the `draws`: lists of parameters (`propeller.thrust_factor`) with their values,
/// SI, for doubt two by two: a standard uncertainty up and down in each direction that does not depend on the others. The
/// same draws give the same answer on any number of threads. All at a `throttle` of 0 to 1.
///
/// # Errors
/// A change is refused, there is not one drive, or nothing can be read at rest. What fails on the water
/// only is left out and counted.
pub(crate) fn outlook(
    craft: &Craft,
    kinds: &[PartKind],
    cuts: &[String],
    steps: &[f64],
    throttle: f64,
    draws: &[Vec<(String, f64)>],
) -> Result<Outlook, Diagnostics> {
    let part = propeller(craft)?;
    if steps.is_empty() || draws.is_empty() || cuts.is_empty() {
        return Err(Diagnostic::error("there is nothing to cut, to remove or to draw").into());
    }
    // as it is now is the same whichever way it is cut next
    let mut crafts = Vec::new();
    for way in cuts {
        let mut setup = craft.setup.clone();
        setup.change(&format!("{part}.cut"), way.as_str(), "a cut")?;
        crafts.push(Craft::new(setup, kinds)?);
    }
    let mut questions = Vec::new();
    for (w, craft) in crafts.iter().enumerate() {
        for &removed in steps.iter().skip(usize::from(w > 0)) {
            questions.extend(draws.iter().map(|draw| Question { craft, removed, draw }));
        }
    }
    let off = format!("{part}.removed");
    // in the order of the questions, on all cores
    let answer = |q: &Question| {
        let drawn = q.draw.iter().map(|(path, value)| (path.as_str(), *value));
        State::of(&q.craft.changed(drawn.chain([(off.as_str(), q.removed)]), kinds)?, &part, throttle)
    };
    let states: Vec<Result<State, Diagnostics>> = questions.par_iter().map(answer).collect();
    // afterwards, so that of several faults it is always the first that is told
    let found: Vec<State> = states.into_iter().collect::<Result<_, _>>()?;
    let each: Vec<&[State]> = found.chunks(draws.len()).collect();
    let mut notes: Vec<String> = Vec::new();
    // what differs in its numbers only is said once
    let words = |note: &str| note.split(|c: char| c.is_ascii_digit()).next().unwrap_or_default().to_string();
    for note in found.iter().flat_map(|s| &s.notes) {
        if !notes.iter().any(|known| words(known) == words(note)) {
            notes.push(note.clone());
        }
    }
    let mut stages = Vec::new();
    for (w, way) in cuts.iter().enumerate() {
        for (k, &removed) in steps.iter().enumerate() {
            // the present once, then way after way what lies beyond it
            let at = if k == 0 { 0 } else { w * (steps.len() - 1) + k };
            let Some(all @ [head, ..]) = each.get(at) else { continue };
            let told = all.iter().map(|s| s.told).collect();
            stages.push(Stage {
                way: way.clone(),
                removed,
                shape: head.shape,
                held: head.held,
                area_needed: head.area_needed,
                told,
            });
        }
    }
    Ok(Outlook { ways: cuts.to_vec(), stages, moves: found.iter().any(|s| s.moves), notes })
}
