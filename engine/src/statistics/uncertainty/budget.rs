//! The uncertainty of a result from those of its inputs.

use super::{Input, UncertaintyError, coverage_factor};
use nalgebra::DMatrix;

/// Step of the difference quotients in standard uncertainties. Two of them are
/// combined, so what is left out is of the order of its fourth power.
const STEP: f64 = 0.1;

/// Names of two inputs and their correlation coefficient, −1 to 1.
pub type Correlation<'a> = (&'a str, &'a str, f64);

/// A line of a budget.
#[derive(Debug, Clone, PartialEq)]
pub struct Contribution {
    /// The input.
    pub input: Input,
    /// ∂(result)/∂(input), in the units of both; 0 for an exact input.
    pub sensitivity: f64,
    /// sensitivity · u, with sign, in the unit of the result.
    pub contribution: f64,
    /// Share of u_c² that goes with this input: c_i u_i Σ_j r_ij c_j u_j / u_c². The shares add up
    /// to 1; correlation may make one negative. 0 where u_c is 0.
    pub share: f64,
}

/// A result and what its uncertainty is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    /// The result.
    pub value: f64,
    /// Combined standard uncertainty u_c (GUM 5.1.2, 5.2.2).
    pub u: f64,
    /// Effective degrees of freedom.
    pub freedom: f64,
    /// One line for each input, in the order given.
    pub rows: Vec<Contribution>,
}

impl Budget {
    /// Half-width U of the interval value ± U with this confidence.
    ///
    /// # Errors
    /// As [`coverage_factor`].
    pub fn expanded(&self, confidence: f64) -> Result<f64, UncertaintyError> {
        Ok(coverage_factor(confidence, self.freedom)? * self.u)
    }
}

/// Propagates uncertainty: u_c² = Σ_i Σ_j c_i u_i r_ij c_j u_j.
///
/// Slopes c_i come from differences of `formula`, which takes the inputs in their order.
/// Only slopes count: where a formula bends much within one standard uncertainty (a
/// product of two inputs near zero, say), the result is too sure (GUM 5.1.2, note).
///
/// Degrees of freedom are those of Welch and Satterthwaite, u_c⁴ / Σ (c_i u_i)⁴/ν_i (GUM
/// G.4.1), which hold for independent inputs; with correlations the smallest freedom of
/// any input that counts is taken instead, which is never too many.
///
/// # Errors
/// No inputs, a correlation that cannot be, a formula that gives no number.
pub fn budget(
    inputs: &[Input],
    correlations: &[Correlation],
    formula: &mut dyn FnMut(&[f64]) -> f64,
) -> Result<Budget, UncertaintyError> {
    let n = inputs.len();
    if n == 0 {
        return Err(UncertaintyError::TooFew { name: "inputs".into(), found: 0, needed: 1 });
    }
    let r = matrix(inputs, correlations)?;
    let middle: Vec<f64> = inputs.iter().map(|input| input.value).collect();
    let value = formula(&middle);
    if !value.is_finite() {
        let at = middle.first().copied().unwrap_or_default();
        return Err(UncertaintyError::Formula {
            name: "every input has its value, the first".into(),
            at,
            value,
        });
    }
    let mut slopes = Vec::new();
    for (i, input) in inputs.iter().enumerate() {
        slopes.push(if input.u > 0.0 { slope(&middle, i, input, formula)? } else { 0.0 });
    }
    let parts: Vec<f64> = inputs.iter().zip(&slopes).map(|(input, c)| c * input.u).collect();
    let along: Vec<f64> =
        (0..n).map(|i| parts[i] * (0..n).map(|j| r[(i, j)] * parts[j]).sum::<f64>()).collect();
    // round-off may leave a hair below zero where everything cancels
    let variance = along.iter().sum::<f64>().max(0.0);
    let u = super::finite("combined standard uncertainty", variance.sqrt())?;
    let counts = |i: &usize| parts[*i] != 0.0;
    let freedom = if correlations.iter().any(|c| c.2 != 0.0) {
        (0..n).filter(counts).map(|i| inputs[i].freedom).fold(f64::INFINITY, f64::min)
    } else {
        // as shares of u_c, so that fourth powers neither overflow nor vanish
        let sum: f64 = (0..n).filter(counts).map(|i| (parts[i] / u).powi(4) / inputs[i].freedom).sum();
        if sum > 0.0 { 1.0 / sum } else { f64::INFINITY }
    };
    let share = |i: usize| if variance > 0.0 { along[i] / variance } else { 0.0 };
    let rows = inputs.iter().enumerate().map(|(i, input)| Contribution {
        input: input.clone(),
        sensitivity: slopes[i],
        contribution: parts[i],
        share: share(i),
    });
    Ok(Budget { value, u, freedom, rows: rows.collect() })
}

/// Covariance of two results that were computed from the same inputs (GUM H.2.3).
///
/// # Errors
/// Budgets of different inputs, or as [`budget`].
pub fn covariance(a: &Budget, b: &Budget, correlations: &[Correlation]) -> Result<f64, UncertaintyError> {
    let inputs: Vec<Input> = a.rows.iter().map(|row| row.input.clone()).collect();
    if b.rows.len() != inputs.len() || b.rows.iter().zip(&inputs).any(|(row, input)| row.input != *input) {
        let (found, expected) = (b.rows.len(), inputs.len());
        return Err(UncertaintyError::Lengths { what: "inputs of the second budget", found, expected });
    }
    let r = matrix(&inputs, correlations)?;
    let term = |i: usize, j: usize| a.rows[i].contribution * r[(i, j)] * b.rows[j].contribution;
    let n = inputs.len();
    Ok((0..n).map(|i| (0..n).map(|j| term(i, j)).sum::<f64>()).sum())
}

/// Slope by two central differences, their error of second order removed (Richardson).
fn slope(
    middle: &[f64],
    i: usize,
    input: &Input,
    formula: &mut dyn FnMut(&[f64]) -> f64,
) -> Result<f64, UncertaintyError> {
    let mut at = middle.to_vec();
    let mut quotient = |h: f64| {
        let (up, down) = (middle[i] + h, middle[i] - h);
        let mut of = |x: f64| {
            at[i] = x;
            let value = formula(&at);
            let wrong = UncertaintyError::Formula { name: input.name.clone(), at: x, value };
            if value.is_finite() { Ok(value) } else { Err(wrong) }
        };
        let rise = of(up)? - of(down)?;
        // an uncertainty below the last digit of the value moves nothing
        Ok(if up > down { rise / (up - down) } else { 0.0 })
    };
    let (coarse, fine) = (quotient(STEP * input.u)?, quotient(0.5 * STEP * input.u)?);
    super::finite(format!("sensitivity to {}", input.name), fine + (fine - coarse) / 3.0)
}

/// The correlation matrix, if there can be such a one.
fn matrix(inputs: &[Input], correlations: &[Correlation]) -> Result<DMatrix<f64>, UncertaintyError> {
    let n = inputs.len();
    let mut r = DMatrix::identity(n, n);
    let place = |name: &str| {
        let known = || inputs.iter().map(|input| input.name.as_str()).collect::<Vec<_>>().join(", ");
        let missing = || UncertaintyError::NoInput { name: name.into(), known: known() };
        inputs.iter().position(|input| input.name == name).ok_or_else(missing)
    };
    for &(a, b, value) in correlations {
        let (i, j) = (place(a)?, place(b)?);
        let what = || format!("correlation of {a} and {b}");
        if i == j || !(-1.0..=1.0).contains(&value) {
            let expected = "a number from -1 to 1, of two different inputs";
            return Err(UncertaintyError::Number { what: what(), value, expected });
        }
        r[(i, j)] = value;
        r[(j, i)] = value;
    }
    // rounded coefficients of fully correlated inputs may miss zero by their last digit
    let least = r.symmetric_eigenvalues().iter().copied().fold(f64::INFINITY, f64::min);
    if least < -1e-3 { Err(UncertaintyError::Correlations { variance: least }) } else { Ok(r) }
}
