//! When which limit held the drive back.

use engine::model::{Model, Probe};
use engine::run::Sampler;

use super::facts::SPACING;
use crate::nomenclature::LIMIT_MARGIN;

/// A limit binds when it is this near, relative to itself.
pub const BINDING: f64 = 5e-3;

/// A stretch of time in which a limit held the drive back.
#[derive(Debug, Clone, PartialEq)]
pub struct Interval {
    pub limit: String,
    pub from: f64,
    pub to: f64,
}

/// Limits that bind at the sampler's time, by name.
pub fn binding(model: &Model, s: &Sampler) -> Vec<String> {
    let all = model.contributions(LIMIT_MARGIN.name);
    all.into_iter().filter(|&p| s.value(p) > -BINDING).map(|p| name(model, p)).collect()
}

/// `shaft.limit_margin.motor current` is told as `motor current`.
pub fn name(model: &Model, limit: Probe) -> String {
    model.name(limit).rsplit('.').next().unwrap_or_default().to_string()
}

/// Margins of all limits, by name.
pub fn margins(model: &Model) -> Vec<(String, Probe)> {
    model.contributions(LIMIT_MARGIN.name).into_iter().map(|p| (name(model, p), p)).collect()
}

/// Looks on and keeps the stretches.
pub struct Limits {
    watched: Vec<Probe>,
    since: Vec<Option<f64>>,
    last: f64,
    stretches: Vec<(usize, f64, f64)>,
}

impl Limits {
    pub fn new(model: &Model) -> Limits {
        let watched = model.contributions(LIMIT_MARGIN.name);
        Limits { since: vec![None; watched.len()], watched, last: 0.0, stretches: Vec::new() }
    }

    pub fn look(&mut self, t: f64, s: &Sampler) {
        for k in 0..self.watched.len() {
            match (s.value(self.watched[k]) > -BINDING, self.since[k]) {
                (true, None) => self.since[k] = Some(t),
                (false, Some(from)) => {
                    self.note(k, from);
                    self.since[k] = None;
                }
                _ => {}
            }
        }
        self.last = t;
    }

    /// Notes a stretch that has ended, joined to the one before if there is hardly a gap.
    fn note(&mut self, k: usize, from: f64) {
        let before = self.stretches.iter_mut().rev().find(|(limit, ..)| *limit == k);
        match before {
            Some((_, _, to)) if from - *to <= 2.5 * SPACING => *to = self.last,
            _ => self.stretches.push((k, from, self.last)),
        }
    }

    pub fn found(mut self, model: &Model) -> Vec<Interval> {
        for k in 0..self.watched.len() {
            if let Some(from) = self.since[k] {
                self.note(k, from);
            }
        }
        let interval = |&(k, from, to)| Interval { limit: name(model, self.watched[k]), from, to };
        let mut found: Vec<Interval> = self.stretches.iter().map(interval).collect();
        found.sort_by(|a, b| a.from.total_cmp(&b.from).then_with(|| a.limit.cmp(&b.limit)));
        found
    }
}
