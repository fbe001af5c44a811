//! Small disturbances of an equilibrium: the linearised rates and their eigenvalues.

use nalgebra::{Complex, DMatrix, DVector, Schur};

use super::Balance;
use super::error::NotLinear;
use super::point::Point;
use crate::model::{Model, Probe};

/// Step of central differences, in usual sizes: truncation of some 1e-10, round-off of some 1e-11.
const STEP: f64 = 1e-5;
/// Sweeps of the QR iteration for each row; one or two are usual.
const SWEEPS: usize = 100;

/// One way in which small disturbances move.
#[derive(Debug, Clone, PartialEq)]
pub struct Eigenmode {
    /// Real part of the eigenvalue, 1/s: amplitudes grow as exp(growth · t), or die away where it is negative.
    pub growth: f64,
    /// Imaginary part, rad/s, 0 or more; a conjugate pair stands once.
    pub frequency: f64,
    /// The eigenvector, real and imaginary part for each state, in usual sizes; its largest entry is 1.
    /// Disturbances move as the real part of this times exp((growth + i frequency) t).
    pub shape: Vec<(f64, f64)>,
    /// The states that take part, the largest share first; shares are of the
    /// sum of amplitudes in usual sizes.
    pub shares: Vec<(Probe, f64)>,
}

impl Eigenmode {
    /// Damping ratio, −growth over the modulus; 1 where nothing oscillates and dies away.
    pub fn damping(&self) -> f64 {
        let modulus = self.growth.hypot(self.frequency);
        if modulus > 0.0 { -self.growth / modulus } else { 0.0 }
    }
}

/// A linearised model.
#[derive(Debug, Clone, PartialEq)]
pub struct Linear {
    /// The states, in the order of rows and columns.
    pub states: Vec<Probe>,
    /// d(rate)/d(state), both in usual sizes, 1/s; row by row.
    pub matrix: Vec<Vec<f64>>,
    /// Its modes, that which grows most or dies away least first.
    pub modes: Vec<Eigenmode>,
}

impl Linear {
    /// The modes that grow.
    pub fn unstable(&self) -> impl Iterator<Item = &Eigenmode> {
        self.modes.iter().filter(|mode| mode.growth > 0.0)
    }

    /// Whether every small disturbance dies away.
    pub fn is_stable(&self) -> bool {
        self.modes.iter().all(|mode| mode.growth < 0.0)
    }

    /// The mode that grows most or dies away least.
    pub fn slowest(&self) -> Option<&Eigenmode> {
        self.modes.first()
    }
}

impl Balance {
    /// Linearises the rates of `states` about a point, every other state as it is there.
    ///
    /// Slopes are central differences. Where a force has a corner at the point
    /// (a limit just reached) they are the mean of both sides.
    ///
    /// # Errors
    /// [`NotLinear`].
    pub fn linearise(&self, at: &Point, states: &[Probe]) -> Result<Linear, NotLinear> {
        let model: &Model = &self.model;
        let mut entries = Vec::new();
        for &probe in states {
            let Some(i) = model.state_index(probe) else {
                return Err(NotLinear::NotAState { quantity: model.name(probe).to_string() });
            };
            entries.push(&model.states()[i]);
        }
        let n = entries.len();
        let mut slots = at.slots.clone();
        let mut matrix = DMatrix::zeros(n, n);
        for (k, moved) in entries.iter().enumerate() {
            let slot = moved.value as usize;
            let middle = slots[slot];
            let mut rates = |by: f64| {
                slots[slot] = middle + by * moved.nominal;
                let by = (slots[slot] - middle) / moved.nominal;
                model.drive(&mut slots);
                let rates = entries.iter().map(|e| slots[e.rate as usize] / e.nominal);
                (DVector::from_iterator(n, rates), by)
            };
            let ((up, h), (down, g)) = (rates(STEP), rates(-STEP));
            let column = (up - down) / (h - g);
            if column.iter().any(|v| !v.is_finite()) {
                let (equation, quantity) = model.first_non_finite(&slots).unwrap_or_default();
                return Err(NotLinear::NotFinite { equation, quantity });
            }
            slots[slot] = middle;
            matrix.set_column(k, &column);
        }
        let values = eigenvalues(&matrix).ok_or(NotLinear::NoEigenvalues { states: n })?;
        let mut modes: Vec<Eigenmode> = Vec::new();
        for value in values {
            modes.push(mode(&matrix, value, states).ok_or(NotLinear::NoEigenvalues { states: n })?);
        }
        let rows = matrix.row_iter().map(|row| row.iter().copied().collect());
        Ok(Linear { states: states.to_vec(), matrix: rows.collect(), modes })
    }
}

/// Eigenvalues, of a conjugate pair the upper one, the greatest real part first.
fn eigenvalues(matrix: &DMatrix<f64>) -> Option<Vec<Complex<f64>>> {
    let n = matrix.nrows();
    if n == 0 {
        return Some(Vec::new());
    }
    let schur = Schur::try_new(matrix.clone(), f64::EPSILON, SWEEPS * n)?;
    let mut values: Vec<Complex<f64>> =
        schur.complex_eigenvalues().iter().copied().filter(|v| v.im >= 0.0).collect();
    values.sort_by(|a, b| b.re.total_cmp(&a.re).then(b.im.total_cmp(&a.im)));
    values.iter().all(|v| v.re.is_finite() && v.im.is_finite()).then_some(values)
}

/// The mode of an eigenvalue: its vector by inverse iteration.
fn mode(matrix: &DMatrix<f64>, value: Complex<f64>, states: &[Probe]) -> Option<Eigenmode> {
    let n = matrix.nrows();
    let size = matrix.amax().max(f64::MIN_POSITIVE);
    // a little beside the eigenvalue, where the matrix is barely regular
    let beside = value + Complex::new(1e-11 * size, 0.0);
    let shifted = matrix.map(|v| Complex::new(v, 0.0)) - DMatrix::from_diagonal_element(n, n, beside);
    let lu = shifted.lu();
    // no entry alike, so that the first guess lies across no eigenvector of a plain matrix
    let mut vector = DVector::from_fn(n, |i, _| Complex::new(1.0 + i as f64 / 7.0, 0.0));
    for _ in 0..4 {
        vector = lu.solve(&vector)?;
        // the first of the largest, so that round-off does not choose
        let most = vector.iter().map(|v| v.norm()).fold(0.0, f64::max);
        let largest = *vector.iter().find(|v| v.norm() >= most * (1.0 - 1e-9))?;
        vector /= largest;
    }
    let total: f64 = vector.iter().map(|v| v.norm()).sum();
    if !total.is_finite() {
        return None;
    }
    let mut shares: Vec<(Probe, f64)> =
        states.iter().zip(vector.iter()).map(|(&probe, v)| (probe, v.norm() / total)).collect();
    shares.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    Some(Eigenmode {
        growth: value.re,
        frequency: value.im,
        shape: vector.iter().map(|v| (v.re, v.im)).collect(),
        shares,
    })
}
