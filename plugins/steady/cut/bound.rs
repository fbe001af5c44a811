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

/// By thrust at rest, and on the water by the margin at the hump.
pub fn best(nominal: &Outlook) -> Vec<Best> {
    [Measure::Thrust, Measure::HumpMargin].into_iter().filter_map(|measure| of(nominal, measure)).collect()
}

fn of(nominal: &Outlook, measure: Measure) -> Option<Best> {
    let top = |scaled: bool| {
        let all = nominal.stages.iter().filter(|s| (s.way == "scale") == scaled);
        let with = all.filter_map(|s| Some((s, s.mean(measure)?)));
        // the first of equals: the smaller cut
        with.reduce(|a, b| if b.1 > a.1 { b } else { a })
    };
    let now = nominal.stages.first()?.mean(measure)?;
    let (stage, value): (&Stage, f64) = top(false).or_else(|| top(true))?;
    let last = nominal.along(&stage.way).last().map_or(0.0, |s| s.removed);
    Some(Best {
        measure,
        way: stage.way.clone(),
        removed: stage.removed,
        value,
        gain: value - now,
        yardstick: top(true).map(|(_, best)| best - now),
        at_end: stage.removed == last && nominal.along(&stage.way).count() > 1,
    })
}

/// Tub and hump want different cuts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Apart {
    /// What the best cut by the tub leaves at the hump against the best cut there, N; none where it leaves nothing to be
    /// told.
    pub behind: Option<f64>,
    /// The same against now, N.
    pub gain: Option<f64>,
}

/// Where the two disagree.
pub fn disagreement(best: &[Best], nominal: &Outlook) -> Option<Apart> {
    let [tub, hump] = best else { return None };
    let nothing = |b: &Best| b.gain == 0.0;
    if (tub.removed, &tub.way) == (hump.removed, &hump.way) || (nothing(tub) && nothing(hump)) {
        return None;
    }
    let there = nominal.along(&tub.way).find(|s| s.removed == tub.removed)?.mean(Measure::HumpMargin);
    let now = nominal.stages.first()?.mean(Measure::HumpMargin);
    Some(Apart {
        behind: there.map(|there| there - hump.value),
        gain: there.zip(now).map(|(there, now)| there - now),
    })
}
