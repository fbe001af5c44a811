//! Orders of merit, and where they disagree.

use super::super::frame::{Frame, Merit};
use super::candidates::Candidates;
use super::table::Table;

/// Candidates in an order of merit.
pub struct Ranked {
    pub merit: Merit,
    /// Place of the deciding column among those read.
    pub place: usize,
    /// Candidates, best first; those without a value are left out.
    pub order: Vec<usize>,
}

/// A choice made beforehand that is not the best on the day.
pub struct Disagreement {
    /// Places among the orders of merit.
    pub beforehand: usize,
    pub on_the_day: usize,
    /// Where the choice made beforehand stands on the day, from 1; `None` if it fails.
    pub stands: Option<usize>,
    /// Its value there and the best one's.
    pub value: f64,
    pub best: f64,
    /// Share of pairs of candidates that the two put in the same order (Kendall's tau,
    /// brought to 0 to 1), over those that both can judge.
    pub agreement: Option<f64>,
}

/// Candidates in each order of merit.
pub fn ranked(table: &Table, candidates: &Candidates, frame: &Frame) -> Vec<Ranked> {
    let of = |merit: &Merit| {
        let place = table.place(&merit.column)?;
        let value = |&i: &usize| candidates.value(i, place);
        let mut order: Vec<usize> = (0..candidates.len()).filter(|i| value(i).is_finite()).collect();
        // ties keep the order of the table
        order.sort_by(|a, b| {
            let by = value(a).total_cmp(&value(b));
            if merit.highest { by.reverse() } else { by }
        });
        (!order.is_empty()).then(|| Ranked { merit: merit.clone(), place, order })
    };
    frame.merits.iter().filter_map(of).collect()
}

/// The order that decides: the last that is not one made beforehand.
pub fn foremost(ranked: &[Ranked]) -> Option<&Ranked> {
    ranked.iter().rev().find(|r| !r.merit.beforehand).or(ranked.last())
}

/// Where the best by what is known beforehand is not the best on the day.
pub fn disagreements(ranked: &[Ranked], candidates: &Candidates) -> Vec<Disagreement> {
    let mut found = Vec::new();
    for (b, before) in ranked.iter().enumerate().filter(|(_, r)| r.merit.beforehand) {
        for (d, day) in ranked.iter().enumerate().filter(|(_, r)| !r.merit.beforehand) {
            let (Some(&choice), Some(&best)) = (before.order.first(), day.order.first()) else { continue };
            let value = |i: usize| candidates.value(i, day.place);
            // another candidate of the same worth is no disagreement
            if value(choice) == value(best) {
                continue;
            }
            let stands = day.order.iter().position(|&i| i == choice).map(|p| p + 1);
            let (value, best) = (value(choice), value(best));
            let agreement = agreement(before, day, candidates);
            found.push(Disagreement { beforehand: b, on_the_day: d, stands, value, best, agreement });
        }
    }
    found
}

/// Most candidates that are compared pair by pair.
const COMPARED: usize = 2000;

fn agreement(a: &Ranked, b: &Ranked, candidates: &Candidates) -> Option<f64> {
    let merit = |r: &Ranked, i: usize| {
        let value = candidates.value(i, r.place);
        if r.merit.highest { value } else { -value }
    };
    let both: Vec<usize> = b.order.iter().copied().filter(|&i| merit(a, i).is_finite()).collect();
    let both = super::some(&both, COMPARED);
    let (mut same, mut all) = (0u64, 0u64);
    for (n, &i) in both.iter().enumerate() {
        for &j in &both[n + 1..] {
            let (x, y) = (merit(a, i) - merit(a, j), merit(b, i) - merit(b, j));
            if x != 0.0 && y != 0.0 {
                all += 1;
                same += u64::from((x > 0.0) == (y > 0.0));
            }
        }
    }
    (all > 0).then(|| same as f64 / all as f64)
}
