//! Balances for a row of values of one quantity, each begun where the last one ended.

use nalgebra::{DMatrix, DVector};

use super::Balance;
use super::error::NoBalance;
use super::point::Point;
use super::solve::solution;
use crate::model::Probe;

impl Balance {
    /// Balances with `parameter`, a state or an input that is not free, held
    /// at each of `values` in turn; the first search begins at `start`, each
    /// later one on the line through the last two balances. One that fails
    /// leaves the next to begin at the last one found.
    ///
    /// Where two branches lie close, this may change from one to the other;
    /// [`Balance::follow`] does not.
    pub fn along(&self, parameter: Probe, values: &[f64], start: &[f64]) -> Vec<Result<Point, NoBalance>> {
        let mut desk = match self.desk(start) {
            Ok(desk) => desk,
            Err(why) => return values.iter().map(|_| Err(why.clone())).collect(),
        };
        let begin = desk.scaled(start);
        let mut slopes: Option<DMatrix<f64>> = None;
        // value and balance, the last one last
        let mut known: Vec<(f64, DVector<f64>)> = Vec::new();
        let mut answers = Vec::with_capacity(values.len());
        for &value in values {
            if !self.clone().hold(parameter, value) || self.free.iter().any(|u| u.probe == parameter) {
                let quantity = self.model.name(parameter).to_string();
                answers.push(Err(NoBalance::Refused { quantity, value }));
                continue;
            }
            desk.hold(parameter, value);
            let guess = match &known[..] {
                [.., (v, y), (w, z)] if v != w => z + (z - y) * ((value - w) / (w - v)),
                [.., (_, z)] => z.clone(),
                [] => begin.clone(),
            };
            let answer = solution(&mut desk, guess, slopes.take());
            answers.push(answer.map(|(point, beside)| {
                slopes = beside;
                known.push((value, desk.scaled(&point.free)));
                point
            }));
        }
        answers
    }
}
