//! Limits, invariants and refusals.

mod bounds;
mod coverage;
mod identity;
mod refused;
mod setups;

use super::*;

fn observed(values: &[f64], sd: f64) -> Vec<Observation> {
    let one = |(i, &value): (usize, &f64)| Observation { label: format!("reading {i}"), value, sd };
    values.iter().enumerate().map(one).collect()
}

/// Standard normal numbers that follow from a seed.
fn noise(n: usize, seed: u64) -> Vec<f64> {
    use crate::sampling::{Distribution, Draws, Scheme};
    let draws = Draws::new(Scheme::Random { n: 1 }, n, seed).unwrap();
    let mut u = vec![0.0; n];
    draws.at(0, &mut u);
    u.iter().map(|p| Distribution::Normal { mean: 0.0, deviation: 1.0 }.quantile(*p)).collect()
}

#[track_caller]
fn near(found: f64, expected: f64, relative: f64) {
    assert!((found - expected).abs() <= relative * expected.abs(), "found {found}, expected {expected}");
}

/// y = a + b x at x = 0 … 9.
fn line(p: &[f64]) -> Result<Vec<f64>, String> {
    Ok((0..10).map(|i| p[0] + p[1] * f64::from(i)).collect())
}
