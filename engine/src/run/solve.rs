//! The integrator: one stretch of time by the method of Dormand and Prince.

use std::ops::Mul;

use nalgebra::allocator::Allocator;
use nalgebra::{DVector, DefaultAllocator, Dim, OVector, SVector};
use ode_solvers::dop_shared::IntegrationError;
use ode_solvers::dopri5::Dopri5;
use ode_solvers::{OutputType, System};

use super::MAX_RECORDED;
use super::core::Core;

// The customary step-size control of the method (Hairer, Nørsett, Wanner,
// Solving Ordinary Differential Equations I, 2nd ed. 1993, II.4).
const SAFETY: f64 = 0.9;
const BETA: f64 = 0.04;
const SHRINK: f64 = 0.2;
const GROW: f64 = 10.0;

/// Steps tried before the integrator gives up. The record is full long before,
/// unless three steps in four are rejected.
const MAX_STEPS: u32 = 4 * MAX_RECORDED as u32;

/// The method's test for stiffness never comes up. It would call every long
/// flight stiff: with all that damps a craft, the steps of a steady stretch
/// grow to the limit of stability, which is exactly what the test looks for.
/// They are as cheap there as anywhere, and their number is bounded.
const STIFFNESS_EVERY: u32 = u32::MAX;

/// From where to where, and how.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stretch {
    pub start: f64,
    pub end: f64,
    pub tolerance: f64,
    pub first_step: f64,
    pub max_step: f64,
}

impl Core<'_> {
    /// Integrates over a stretch; every accepted step goes to the log. Returns
    /// the number of rejected steps.
    pub fn integrate(&self, stretch: Stretch, y: &[f64]) -> Result<usize, IntegrationError> {
        match y.len() {
            0..=16 => self.padded::<16>(stretch, y),
            17..=24 => self.padded::<24>(stretch, y),
            25..=32 => self.padded::<32>(stretch, y),
            33..=48 => self.padded::<48>(stretch, y),
            49..=64 => self.padded::<64>(stretch, y),
            65..=72 => self.padded::<72>(stretch, y),
            73..=80 => self.padded::<80>(stretch, y),
            81..=96 => self.padded::<96>(stretch, y),
            _ => self.solve(stretch, DVector::from_column_slice(y)),
        }
    }

    /// With the states padded to one of a few sizes, known when compiling.
    fn padded<const N: usize>(&self, stretch: Stretch, y: &[f64]) -> Result<usize, IntegrationError> {
        let mut start = SVector::<f64, N>::zeros();
        start.as_mut_slice()[..y.len()].copy_from_slice(y);
        // the error norm is a mean over all N entries, of which the padding has none
        let tolerance = stretch.tolerance * (y.len() as f64 / N as f64).sqrt();
        self.solve(Stretch { tolerance, ..stretch }, start)
    }

    fn solve<D: Dim>(&self, stretch: Stretch, y: OVector<f64, D>) -> Result<usize, IntegrationError>
    where
        DefaultAllocator: Allocator<D>,
        OVector<f64, D>: Mul<f64, Output = OVector<f64, D>>,
    {
        let Stretch { start, end, tolerance, first_step, max_step } = stretch;
        let mut solver = Dopri5::from_param(
            self,
            start,
            end,
            1.0,
            y,
            tolerance,
            tolerance,
            SAFETY,
            BETA,
            SHRINK,
            GROW,
            max_step,
            first_step,
            MAX_STEPS,
            STIFFNESS_EVERY,
            OutputType::Sparse,
        );
        solver.integrate().map(|stats| stats.rejected_steps as usize)
    }
}

impl<D: Dim> System<f64, OVector<f64, D>> for &Core<'_>
where
    DefaultAllocator: Allocator<D>,
{
    fn system(&self, t: f64, y: &OVector<f64, D>, dy: &mut OVector<f64, D>) {
        Core::system(self, t, y.as_slice(), dy.as_mut_slice());
    }
    fn solout(&mut self, t: f64, y: &OVector<f64, D>, dy: &OVector<f64, D>) -> bool {
        self.accepted(t, y.as_slice(), dy.as_slice())
    }
}
