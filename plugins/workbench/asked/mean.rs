//! Repeats of a step taken together.

use engine::statistics::uncertainty::Budget;

use super::super::row::READINGS;
use super::super::thrust::BalanceUnsure;
use super::super::{Row, Unsure};
use super::taken::{Step, Taken};

/// A step, its repeats taken together.
pub struct Mean {
    /// What was put, in words.
    pub label: String,
    /// Rows.
    pub readings: usize,
    /// Mean readings; the line is that of the first.
    pub row: Row,
    /// What is told of one of them, beside the scatter over √n.
    pub unsure: Unsure,
    /// Of the pull, if there is a lever.
    pub pull: Option<Budget>,
}

impl Mean {
    /// Takes the rows of a step together.
    pub fn of(taken: &Taken, step: &Step) -> Mean {
        let rows = &step.rows;
        let line = rows.first().map_or(0, |(row, _)| row.line);
        let (mut row, mut unsure) = (Row { line, ..Row::default() }, Unsure::default());
        for (name, _) in READINGS {
            let Some((middle, u)) = together(name, rows) else { continue };
            if let Some(place) = row.place(name) {
                *place = Some(middle);
            }
            if let Some(place) = unsure.place(name) {
                *place = u;
            }
        }
        let scale: Vec<f64> = rows.iter().filter_map(|(row, _)| row.scale_reading).collect();
        let told = rows.iter().filter_map(|(_, u)| u.scale_reading).reduce(f64::max).unwrap_or(0.0);
        let pull = taken.balance.as_ref().filter(|_| !scale.is_empty()).and_then(|(balance, arms)| {
            // of a single reading what is told is its own; of repeats it stands beside their scatter
            let arms = match scale.len() {
                1 => BalanceUnsure { reading: told, ..*arms },
                _ => BalanceUnsure { scale: told, ..*arms },
            };
            balance.thrust(&scale, &arms).ok()
        });
        if let Some(pull) = &pull {
            (row.thrust, unsure.thrust) = (Some(pull.value), Some(pull.u));
        }
        Mean { label: step.label.clone(), readings: rows.len(), row, unsure, pull }
    }
}

/// Mean of a reading and its standard uncertainty; none where it was not read.
fn together(name: &str, rows: &[(super::super::Row, super::super::Unsure)]) -> Option<(f64, Option<f64>)> {
    let read = |(row, unsure): &(Row, Unsure)| {
        let (mut row, mut unsure) = (*row, *unsure);
        Some((row.place(name).copied().flatten()?, unsure.place(name).copied().flatten()))
    };
    let each: Vec<(f64, Option<f64>)> = rows.iter().filter_map(read).collect();
    let n = each.len() as f64;
    if each.is_empty() {
        return None;
    }
    let middle = each.iter().map(|(x, _)| x).sum::<f64>() / n;
    let squares: f64 = each.iter().map(|(x, _)| (x - middle).powi(2)).sum();
    let scatter = if n > 1.0 { (squares / (n - 1.0) / n).sqrt() } else { 0.0 };
    let told = each.iter().filter_map(|(_, u)| *u).reduce(f64::max);
    Some((middle, told.map(|u| u.hypot(scatter))))
}
