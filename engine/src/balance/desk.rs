//! Residuals and their slopes: the numbers of one question while it is worked on.

use nalgebra::{DMatrix, DVector};

use super::error::{LeftOver, NoBalance};
use crate::model::{Model, Probe};
use crate::run::per_second;

/// Step of one-sided differences, in usual sizes: half the digits of a number.
const STEP: f64 = 1e-7;
/// Step of second-order differences: truncation of some 1e-10 and round-off of
/// some 1e-11 in a function that changes by its own size over a usual size.
const FINE_STEP: f64 = 1e-5;

/// A quantity to be found, or the one that a branch is followed in.
#[derive(Debug, Clone, Copy)]
pub(super) struct Unknown {
    pub probe: Probe,
    pub low: f64,
    pub high: f64,
    pub size: f64,
}

impl Unknown {
    /// Bounds in usual sizes.
    pub fn scaled(&self) -> (f64, f64) {
        (self.low / self.size, self.high / self.size)
    }
}

/// What must come about.
#[derive(Debug, Clone, Copy)]
pub(super) enum Condition {
    Rest { state: Probe, rate: u32, nominal: f64 },
    Meet { quantity: Probe, value: f64, size: f64 },
}

/// How exact slopes have to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Slopes {
    /// One evaluation for each unknown; enough for Newton's method.
    Plain,
    /// Two for each, of second order.
    Fine,
}

/// The numbers of one question. Unknowns come in as `z`, in usual sizes;
/// residuals go out in usual sizes too.
pub(super) struct Desk<'b> {
    pub model: &'b Model,
    pub unknowns: Vec<Unknown>,
    conditions: &'b [Condition],
    /// Whether a condition may stand on something that only observers work out.
    looks: bool,
    /// One more condition, `normal · z = offset`, which closes the system on a branch.
    pub plane: Option<(DVector<f64>, f64)>,
    /// Whether unknowns are kept within their bounds.
    pub bounded: bool,
    slots: Vec<f64>,
    pub evaluations: usize,
}

impl<'b> Desk<'b> {
    pub fn new(
        model: &'b Model,
        held: &[(Probe, f64)],
        unknowns: Vec<Unknown>,
        conditions: &'b [Condition],
    ) -> Desk<'b> {
        let mut slots = model.start().to_vec();
        for &(probe, value) in held {
            slots[probe.0 as usize] = value;
        }
        let looks = conditions.iter().any(|c| matches!(c, Condition::Meet { .. }));
        Desk { model, unknowns, conditions, looks, plane: None, bounded: true, slots, evaluations: 0 }
    }

    /// Holds a quantity at another value from now on.
    pub fn hold(&mut self, probe: Probe, value: f64) {
        self.slots[probe.0 as usize] = value;
    }

    /// From values in their units to usual sizes, within bounds.
    pub fn scaled(&self, values: &[f64]) -> DVector<f64> {
        let inside = |(value, u): (&f64, &Unknown)| value.clamp(u.low, u.high) / u.size;
        DVector::from_iterator(self.unknowns.len(), values.iter().zip(&self.unknowns).map(inside))
    }

    /// The nearest `z` within bounds.
    pub fn inside(&self, mut z: DVector<f64>) -> DVector<f64> {
        if self.bounded {
            for (z, u) in z.iter_mut().zip(&self.unknowns) {
                let (low, high) = u.scaled();
                *z = z.clamp(low, high);
            }
        }
        z
    }

    /// Value of an unknown, in its unit. At a bound it is the bound itself, to the last digit.
    pub fn value(&self, z: f64, unknown: &Unknown) -> f64 {
        let value = z * unknown.size;
        let inside = value.clamp(unknown.low, unknown.high);
        if self.bounded || (inside - value).abs() < 1e-12 * unknown.size { inside } else { value }
    }

    fn place(&mut self, z: &DVector<f64>) {
        for (z, u) in z.iter().zip(&self.unknowns) {
            let value = self.value(*z, u);
            self.slots[u.probe.0 as usize] = value;
        }
        self.evaluations += 1;
    }

    /// The conditions at `z`, each with zero where it comes about; `None` where one has no value.
    pub fn residual(&mut self, z: &DVector<f64>) -> Option<DVector<f64>> {
        self.place(z);
        self.model.drive(&mut self.slots);
        if self.looks {
            self.model.observe(&mut self.slots);
        }
        let mut r = DVector::zeros(self.rows());
        for (r, condition) in r.iter_mut().zip(self.conditions) {
            *r = match *condition {
                Condition::Rest { rate, nominal, .. } => self.slots[rate as usize] / nominal,
                Condition::Meet { quantity, value, size } => (self.slots[quantity.0 as usize] - value) / size,
            };
        }
        if let Some((normal, offset)) = &self.plane {
            r[self.conditions.len()] = normal.dot(z) - offset;
        }
        r.iter().all(|v| v.is_finite()).then_some(r)
    }

    /// Number of conditions.
    fn rows(&self) -> usize {
        self.conditions.len() + usize::from(self.plane.is_some())
    }

    /// d(residual)/d(z) at `z`, where the residual is `r`; a row for each
    /// condition, a column for each unknown. No step leaves the bounds.
    pub fn slopes(&mut self, z: &DVector<f64>, r: &DVector<f64>, how: Slopes) -> Option<DMatrix<f64>> {
        let mut slopes = DMatrix::zeros(self.rows(), z.len());
        for k in 0..z.len() {
            let (low, high) =
                self.unknowns.get(k).map_or((f64::NEG_INFINITY, f64::INFINITY), Unknown::scaled);
            let mut beside = |by: f64| {
                let mut shifted = z.clone();
                shifted[k] += by;
                // what round-off leaves of the step is what was stepped
                let by = shifted[k] - z[k];
                Some((self.residual(&shifted)?, by))
            };
            let column = match how {
                Slopes::Plain => {
                    let by = if z[k] + STEP > high { -STEP } else { STEP };
                    let (at, by) = beside(by)?;
                    (at - r) / by
                }
                Slopes::Fine if z[k] - FINE_STEP >= low && z[k] + FINE_STEP <= high => {
                    let ((up, h), (down, g)) = (beside(FINE_STEP)?, beside(-FINE_STEP)?);
                    (up - down) / (h - g)
                }
                Slopes::Fine => {
                    let h = if z[k] + FINE_STEP > high { -FINE_STEP } else { FINE_STEP };
                    let ((near, _), (far, _)) = (beside(h)?, beside(2.0 * h)?);
                    (near * 4.0 - far - r * 3.0) / (2.0 * h)
                }
            };
            slopes.set_column(k, &column);
        }
        Some(slopes)
    }

    /// Every quantity at `z`, observers too.
    pub fn whole(&mut self, z: &DVector<f64>) -> &[f64] {
        self.place(z);
        self.model.evaluate(&mut self.slots);
        &self.slots
    }

    /// Names what had no value at the last evaluation.
    pub fn sick(&self) -> NoBalance {
        let (equation, quantity) = self.model.first_non_finite(&self.slots).unwrap_or_else(|| {
            // finite quantities whose difference or quotient is not
            ("balance: conditions".into(), self.conditions.first().map_or(String::new(), |c| self.told(c).0))
        });
        NoBalance::NotFinite { equation, quantity }
    }

    /// Name and unit of a condition, and what its residual is counted in.
    fn told(&self, condition: &Condition) -> (String, String, f64) {
        match *condition {
            Condition::Rest { state, nominal, .. } => {
                let name = format!("d({})/dt", self.model.name(state));
                (name, per_second(self.model.unit(state)), nominal)
            }
            Condition::Meet { quantity, value, size } => {
                let name = format!("{} less {value}", self.model.name(quantity));
                (name, self.model.unit(quantity).into(), size)
            }
        }
    }

    /// What is left over, by name and in its unit.
    pub fn left_over(&self, r: &DVector<f64>) -> Vec<LeftOver> {
        let told = self.conditions.iter().zip(r.iter()).map(|(condition, r)| {
            let (name, unit, size) = self.told(condition);
            LeftOver { name, value: r * size, unit, relative: *r }
        });
        told.collect()
    }

    /// The unknowns at `z`, by name and in their units.
    pub fn named(&self, z: &DVector<f64>) -> Vec<(String, f64, &'static str)> {
        let named = self.unknowns.iter().zip(z.iter()).map(|(u, z)| {
            (self.model.name(u.probe).to_string(), self.value(*z, u), self.model.unit(u.probe))
        });
        named.collect()
    }

    /// The unknowns that stand at a bound at `z`, but for `slack` usual sizes.
    pub fn at_bound(&self, z: &DVector<f64>, slack: f64) -> Vec<usize> {
        let touches = |&k: &usize| {
            let (low, high) = self.unknowns[k].scaled();
            z[k] - low <= slack || high - z[k] <= slack
        };
        (0..self.unknowns.len().min(z.len())).filter(touches).collect()
    }
}
