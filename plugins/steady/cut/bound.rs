//! Which cut is best, by what, and whether the answers agree.

use super::outlook::{Measure, Outlook, Stage};

/// The best cut by one measure.
#[derive(Debug, Clone, PartialEq)]
pub struct Best {
    pub measure: Measure,
    pub way: String,
    /// m; as the setup stands now where no cut is better.
    pub removed: f64,
    pub value: f64,
    /// Over the present.
    pub gain: f64,
    /// Gain at the best place of the yardstick, which no file makes.
    pub yardstick: Option<f64>,
    /// Whether it lies at the greatest cut that was looked at.
    pub at_end: bool,
}

/// By thrust at rest, and on the water by the margin at the hump and by the time to take-off.
pub fn best(nominal: &Outlook) -> Vec<Best> {
    [Measure::Thrust, Measure::HumpMargin, Measure::TakeOff]
        .into_iter()
        .filter_map(|measure| of(nominal, measure))
        .collect()
}

fn of(nominal: &Outlook, measure: Measure) -> Option<Best> {
    let top = |scaled: bool| {
        let all = nominal.stages.iter().filter(|s| (s.way == "scale") == scaled);
        let with = all.filter_map(|s| Some((s, s.mean(measure)?)));
        // the first of equals: the smaller cut
        with.reduce(|a, b| if measure.better() * (b.1 - a.1) > 0.0 { b } else { a })
    };
    let now = nominal.stages.first()?.mean(measure)?;
    let (stage, value): (&Stage, f64) = top(false).or_else(|| top(true))?;
    let last = nominal.along(&stage.way).last().map_or(0.0, |s| s.removed);
    Some(Best {
        measure,
        way: stage.way.clone(),
        removed: stage.removed,
        value,
        gain: measure.better() * (value - now),
        yardstick: top(true).map(|(_, best)| measure.better() * (best - now)),
        at_end: stage.removed == last && nominal.along(&stage.way).count() > 1,
    })
}

/// Tub and water want different cuts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Apart {
    /// By what on the water: the margin at the hump, or the time to take-off where no margin is told.
    pub by: Measure,
    /// What the best cut by the tub is worse by than the best cut there; none where it leaves nothing to be told.
    pub behind: Option<f64>,
    /// What it is better by than now.
    pub gain: Option<f64>,
}

/// Where the two disagree.
pub fn disagreement(best: &[Best], nominal: &Outlook) -> Option<Apart> {
    let of = |measure| best.iter().find(|b| b.measure == measure);
    let (tub, water) = (of(Measure::Thrust)?, of(Measure::HumpMargin).or(of(Measure::TakeOff))?);
    let nothing = |b: &Best| b.gain == 0.0;
    if (tub.removed, &tub.way) == (water.removed, &water.way) || (nothing(tub) && nothing(water)) {
        return None;
    }
    let by = water.measure;
    let there = nominal.along(&tub.way).find(|s| s.removed == tub.removed)?.mean(by);
    let now = nominal.stages.first()?.mean(by);
    Some(Apart {
        by,
        behind: there.map(|there| by.better() * (water.value - there)),
        gain: there.zip(now).map(|(there, now)| by.better() * (there - now)),
    })
}
