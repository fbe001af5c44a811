//! Balance before the start: chosen states are moved until chosen rates vanish.

use nalgebra::{DMatrix, DVector};

use super::{Run, RunError};
use crate::model::Probe;

/// Rate left over that counts as balanced, in a state's usual size per second.
const BALANCED: f64 = 1e-9;

impl Run {
    /// Brings the model to the equilibrium its parts ask for.
    ///
    /// First the unknowns drift along their rates, which finds the stable side
    /// of a force that saturates; then Newton's method takes over.
    pub(super) fn settle(&mut self) -> Result<(), RunError> {
        let pairs = self.model.settling();
        if pairs.is_empty() {
            return Ok(());
        }
        let model = self.model.clone();
        let place = |slot: u32| model.states().iter().position(|s| s.value == slot || s.rate == slot);
        let found: Option<Vec<(usize, usize)>> =
            pairs.iter().map(|&(unknown, rate)| Some((place(unknown)?, place(rate)?))).collect();
        let Some(mut pairs) = found else {
            return Ok(());
        };
        // what is held neither moves nor has to come to rest
        let held = |state: usize| self.held.iter().any(|h| h.state == state);
        pairs.retain(|&(unknown, rate)| !held(unknown) && !held(rate));
        if pairs.is_empty() {
            return Ok(());
        }
        let moving = self.moving();
        let mut y = self.y.clone();
        let n = pairs.len();
        let core = self.core(&moving, &[]);
        let residual = |y: &[f64]| -> DVector<f64> {
            core.fill(0.0, |i| y[i] * core.states[i].nominal);
            let slots = core.slots.borrow();
            DVector::from_iterator(
                n,
                pairs.iter().map(|&(_, r)| slots[core.states[r].rate as usize] / core.states[r].nominal),
            )
        };

        let sick = || core.not_finite(self.t, &core.slots.borrow());

        let mut r = residual(&y);
        if !finite(&r) {
            return Err(sick());
        }
        let mut pace = 1e-3;
        for _ in 0..2000 {
            if r.amax() < 0.3 {
                break;
            }
            let mut trial = y.clone();
            for (k, &(unknown, _)) in pairs.iter().enumerate() {
                trial[unknown] += (pace * r[k]).clamp(-0.2, 0.2);
            }
            let next = residual(&trial);
            // slow down where the force turns round or has no value, speed up where it does not
            let known = finite(&next);
            pace *= if !known || next.dot(&r) < 0.0 { 0.5 } else { 1.2 };
            if known {
                y = trial;
                r = next;
            }
        }
        for _ in 0..50 {
            if r.amax() < BALANCED {
                break;
            }
            let mut jacobian = DMatrix::zeros(n, n);
            for (k, &(unknown, _)) in pairs.iter().enumerate() {
                let h = 1e-6;
                let mut shifted = y.clone();
                shifted[unknown] += h;
                let beside = residual(&shifted);
                if !finite(&beside) {
                    return Err(sick());
                }
                jacobian.set_column(k, &((beside - &r) / h));
            }
            let Some(step) = jacobian.lu().solve(&r) else {
                break;
            };
            // shorten the step until the balance improves
            let mut scale = 1.0;
            loop {
                let mut trial = y.clone();
                for (k, &(unknown, _)) in pairs.iter().enumerate() {
                    trial[unknown] -= scale * step[k];
                }
                let next = residual(&trial);
                let known = finite(&next);
                if known && (next.norm() < r.norm() || scale < 1e-6) {
                    y = trial;
                    r = next;
                    break;
                }
                if scale < 1e-6 {
                    break;
                }
                scale *= 0.5;
            }
        }
        let evaluations = core.evaluations.get();
        if r.amax() < 1e-6 {
            self.y = y;
            self.work.evaluations += evaluations;
            return Ok(());
        }
        let left_over = |(k, &(_, i)): (usize, &(usize, usize))| {
            let state = &core.states[i];
            let probe = Probe(state.value);
            let (name, unit) = (model.name(probe), per_second(model.unit(probe)));
            format!("d({name})/dt = {:.3e} {unit}", r[k] * state.nominal)
        };
        Err(RunError::NoEquilibrium { residuals: pairs.iter().enumerate().map(left_over).collect() })
    }
}

fn finite(r: &DVector<f64>) -> bool {
    r.iter().all(|v| v.is_finite())
}

/// Unit of the rate of what has this unit.
pub(crate) fn per_second(unit: &str) -> String {
    match unit {
        "s" => "1".into(),
        _ => match (unit.strip_suffix("/s²"), unit.strip_suffix("/s")) {
            (Some(rest), _) => format!("{rest}/s³"),
            (_, Some(rest)) => format!("{rest}/s²"),
            _ => format!("{unit}/s"),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::per_second;

    #[test]
    fn rates_have_readable_units() {
        let found = ["m", "m/s", "rad/s", "m/s²", "1", "s"].map(per_second);
        assert_eq!(found, ["m/s", "m/s²", "rad/s²", "m/s³", "1/s", "1"]);
    }
}
