//! Interpolation in tables, prepared once and evaluated often.

use thiserror::Error;

/// Why a table cannot be used.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum TableError {
    /// Fewer points than a curve needs.
    #[error("needs at least {needed} points, found {found}")]
    TooShort {
        /// Points needed.
        needed: usize,
        /// Points found.
        found: usize,
    },
    /// Columns of different length.
    #[error("has {x} abscissae but {y} values")]
    Uneven {
        /// Number of abscissae.
        x: usize,
        /// Number of values.
        y: usize,
    },
    /// A value that is not a finite number.
    #[error("row {row} holds {value}, which is not a finite number")]
    NotFinite {
        /// Row, counted from 1.
        row: usize,
        /// The value.
        value: f64,
    },
    /// Abscissae that do not rise.
    #[error("row {row}: {value} does not rise above the row before it ({before})")]
    Unsorted {
        /// Row, counted from 1.
        row: usize,
        /// The value.
        value: f64,
        /// The value in the row before.
        before: f64,
    },
}

/// A smooth curve through points `(x, y)`: piecewise cubic, continuous slope,
/// no overshoot between neighbours; beyond the ends it goes on along the end slope.
///
/// # Source
/// F. N. Fritsch, J. Butland, *SIAM J. Sci. Stat. Comput.* 5 (1984) 300–304.
#[derive(Debug, Clone)]
pub struct Curve {
    x: Vec<f64>,
    /// Per interval: coefficients of 1, s, s², s³ with s = x − x_i.
    c: Vec<[f64; 4]>,
    end: (f64, f64),
}

fn check(x: &[f64], y: &[f64], needed: usize) -> Result<(), TableError> {
    if x.len() != y.len() {
        return Err(TableError::Uneven { x: x.len(), y: y.len() });
    }
    if x.len() < needed {
        return Err(TableError::TooShort { needed, found: x.len() });
    }
    for (i, value) in x.iter().chain(y).copied().enumerate() {
        if !value.is_finite() {
            return Err(TableError::NotFinite { row: i % x.len() + 1, value });
        }
    }
    rising(x)
}

fn rising(x: &[f64]) -> Result<(), TableError> {
    match x.windows(2).position(|w| w[1] <= w[0]) {
        Some(i) => Err(TableError::Unsorted { row: i + 2, value: x[i + 1], before: x[i] }),
        None => Ok(()),
    }
}

/// Slopes at the knots that keep each interval monotone.
fn monotone_slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let n = x.len();
    let h: Vec<f64> = x.windows(2).map(|w| w[1] - w[0]).collect();
    let d: Vec<f64> = y.windows(2).zip(&h).map(|(w, h)| (w[1] - w[0]) / h).collect();
    if n == 2 {
        return vec![d[0]; 2];
    }
    let mut m = vec![0.0; n];
    for i in 1..n - 1 {
        // weighted harmonic mean; zero at a turning point
        if d[i - 1] * d[i] > 0.0 {
            let (w1, w2) = (2.0 * h[i] + h[i - 1], h[i] + 2.0 * h[i - 1]);
            m[i] = (w1 + w2) / (w1 / d[i - 1] + w2 / d[i]);
        }
    }
    let end = |h0: f64, h1: f64, d0: f64, d1: f64| {
        let slope = ((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
        if slope * d0 <= 0.0 {
            0.0
        } else if d0 * d1 < 0.0 && slope.abs() > 3.0 * d0.abs() {
            3.0 * d0
        } else {
            slope
        }
    };
    m[0] = end(h[0], h[1], d[0], d[1]);
    m[n - 1] = end(h[n - 2], h[n - 3], d[n - 2], d[n - 3]);
    m
}

impl Curve {
    /// A curve through the points; `x` rising.
    ///
    /// # Errors
    /// [`TableError`] for fewer than two points, uneven columns, unsorted or non-finite values.
    pub fn new(x: &[f64], y: &[f64]) -> Result<Curve, TableError> {
        check(x, y, 2)?;
        let m = monotone_slopes(x, y);
        Ok(Curve::hermite(x, y, &m))
    }

    /// A curve through the points with given slopes `m`, all of one length and checked by the caller.
    pub fn hermite(x: &[f64], y: &[f64], m: &[f64]) -> Curve {
        let c = (0..x.len() - 1)
            .map(|i| {
                let h = x[i + 1] - x[i];
                let d = (y[i + 1] - y[i]) / h;
                [y[i], m[i], (3.0 * d - 2.0 * m[i] - m[i + 1]) / h, (m[i] + m[i + 1] - 2.0 * d) / (h * h)]
            })
            .collect();
        Curve { x: x.to_vec(), c, end: (y[y.len() - 1], m[m.len() - 1]) }
    }

    /// First and last abscissa.
    pub fn range(&self) -> (f64, f64) {
        (self.x[0], self.x[self.x.len() - 1])
    }

    /// Value and slope at `x`; a straight line beyond the ends, NaN at NaN.
    pub fn value_and_slope(&self, x: f64) -> (f64, f64) {
        let last = self.x.len() - 1;
        if x <= self.x[0] {
            let [y, m, ..] = self.c[0];
            return (y + m * (x - self.x[0]), m);
        }
        if x >= self.x[last] {
            let (y, m) = self.end;
            return (y + m * (x - self.x[last]), m);
        }
        // NaN is below, above and between nothing: the first interval hands it on
        let i = self.x.partition_point(|&knot| knot <= x).max(1) - 1;
        let s = x - self.x[i];
        let [a, b, c, d] = self.c[i];
        (a + s * (b + s * (c + s * d)), b + s * (2.0 * c + 3.0 * d * s))
    }

    /// Value at `x`; a straight line beyond the ends.
    pub fn at(&self, x: f64) -> f64 {
        self.value_and_slope(x).0
    }

    /// Value at `x`, held at the end values outside the range.
    pub fn held(&self, x: f64) -> f64 {
        let (low, high) = self.range();
        self.at(x.clamp(low, high))
    }
}

/// A smooth surface on a rectangular grid: piecewise bicubic with continuous
/// slopes, held at the edge values outside the grid.
///
/// `z[i][j]` belongs to `x[i]`, `y[j]`. Slopes at the knots are the monotone
/// ones of [`Curve`] along each direction.
#[derive(Debug, Clone)]
pub struct Surface {
    x: Vec<f64>,
    y: Vec<f64>,
    /// Per cell (i, j), row-major: the sixteen coefficients of u^a v^b, u and v in [0, 1].
    c: Vec<[[f64; 4]; 4]>,
}

impl Surface {
    /// A surface through the grid values.
    ///
    /// # Errors
    /// [`TableError`] for a grid smaller than 2 × 2, uneven rows, unsorted or non-finite values.
    pub fn new(x: &[f64], y: &[f64], z: &[Vec<f64>]) -> Result<Surface, TableError> {
        if z.len() != x.len() {
            return Err(TableError::Uneven { x: x.len(), y: z.len() });
        }
        for row in z {
            check(y, row, 2)?;
        }
        let column = |j: usize| z.iter().map(|row| row[j]).collect::<Vec<_>>();
        check(x, &column(0), 2)?;
        let (nx, ny) = (x.len(), y.len());
        let zy: Vec<Vec<f64>> = z.iter().map(|row| monotone_slopes(y, row)).collect();
        let mut zx = vec![vec![0.0; ny]; nx];
        let mut zxy = vec![vec![0.0; ny]; nx];
        for j in 0..ny {
            let slopes = monotone_slopes(x, &column(j));
            let cross = monotone_slopes(x, &zy.iter().map(|row| row[j]).collect::<Vec<_>>());
            for i in 0..nx {
                zx[i][j] = slopes[i];
                zxy[i][j] = cross[i];
            }
        }
        // u-direction and v-direction Hermite basis: rows of [value0, value1, slope0, slope1]
        const B: [[f64; 4]; 4] =
            [[1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0], [-3.0, 3.0, -2.0, -1.0], [2.0, -2.0, 1.0, 1.0]];
        let mut c = Vec::with_capacity((nx - 1) * (ny - 1));
        for i in 0..nx - 1 {
            for j in 0..ny - 1 {
                let (hx, hy) = (x[i + 1] - x[i], y[j + 1] - y[j]);
                let mut g = [[0.0; 4]; 4];
                for (a, &p) in [i, i + 1].iter().enumerate() {
                    for (b, &q) in [j, j + 1].iter().enumerate() {
                        g[a][b] = z[p][q];
                        g[a + 2][b] = zx[p][q] * hx;
                        g[a][b + 2] = zy[p][q] * hy;
                        g[a + 2][b + 2] = zxy[p][q] * hx * hy;
                    }
                }
                let mut cell = [[0.0; 4]; 4];
                for (a, row) in cell.iter_mut().enumerate() {
                    for (b, value) in row.iter_mut().enumerate() {
                        for k in 0..4 {
                            for l in 0..4 {
                                *value += B[a][k] * g[k][l] * B[b][l];
                            }
                        }
                    }
                }
                c.push(cell);
            }
        }
        Ok(Surface { x: x.to_vec(), y: y.to_vec(), c })
    }

    /// Value at `(x, y)`, held at the edges of the grid.
    pub fn at(&self, x: f64, y: f64) -> f64 {
        let (i, u) = cell(&self.x, x);
        let (j, v) = cell(&self.y, y);
        let c = &self.c[i * (self.y.len() - 1) + j];
        let row = |k: usize| c[k][0] + v * (c[k][1] + v * (c[k][2] + v * c[k][3]));
        row(0) + u * (row(1) + u * (row(2) + u * row(3)))
    }
}

/// Interval that holds `x` and the place in it from 0 to 1.
fn cell(knots: &[f64], x: f64) -> (usize, f64) {
    let last = knots.len() - 1;
    let x = x.clamp(knots[0], knots[last]);
    let i = knots.partition_point(|&knot| knot <= x).clamp(1, last) - 1;
    (i, (x - knots[i]) / (knots[i + 1] - knots[i]))
}

#[cfg(test)]
mod tests;
