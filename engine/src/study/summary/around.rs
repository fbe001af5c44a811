//! What lies on either side of the best: along each axis through it.

use super::super::frame::Frame;
use super::candidates::Candidates;

/// Values along one axis that are told.
const SHOWN: usize = 9;

/// The candidates along one axis through the best.
pub struct Profile {
    /// Place of the axis.
    pub axis: usize,
    /// Value as it stands in the table, and its candidate if it was tried.
    pub levels: Vec<(String, Option<usize>)>,
    /// Place of the best among them.
    pub best: usize,
}

/// Profiles through a candidate of a grid; of other designs there is none.
pub fn profiles(frame: &Frame, candidates: &Candidates, best: usize) -> Vec<Profile> {
    let design = &frame.design;
    if design.sampled().is_some() {
        return Vec::new();
    }
    let here = design.levels_of(candidates.get(best).design);
    let profile = |(axis, spread): (usize, &super::super::Axis)| {
        let levels = spread.levels().filter(|&n| n > 1)?;
        let shown = shown(levels, here[axis]);
        let at = |&level: &usize| {
            let mut place = here.clone();
            place[axis] = level;
            (spread.cell(spread.level(level)), candidates.find(design.design_at(&place)))
        };
        let best = shown.iter().position(|&level| level == here[axis])?;
        Some(Profile { axis, levels: shown.iter().map(at).collect(), best })
    };
    design.axes().iter().enumerate().filter_map(profile).collect()
}

/// Levels that are told: the best, its neighbours, and some of those farther away.
fn shown(levels: usize, best: usize) -> Vec<usize> {
    let all: Vec<usize> = (0..levels).collect();
    if levels <= SHOWN {
        return all;
    }
    // the best and its neighbours take three places
    let mut shown = super::some(&all, SHOWN - 3);
    shown.extend([best.saturating_sub(1), best, (best + 1).min(levels - 1)]);
    shown.sort_unstable();
    shown.dedup();
    shown
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_best_is_told_with_its_neighbours_and_the_ends() {
        assert_eq!(super::shown(1, 0), [0]);
        assert_eq!(super::shown(2, 1), [0, 1]);
        assert_eq!(super::shown(9, 0), [0, 1, 2, 3, 4, 5, 6, 7, 8]);
        let shown = super::shown(21, 7);
        assert!([0, 6, 7, 8, 20].iter().all(|level| shown.contains(level)) && shown.len() <= 9, "{shown:?}");
    }
}
