//! Slopes from difference quotients, within bounds and around failures.

use super::space::Axis;
use nalgebra::DMatrix;

/// A function of values, or why it failed.
pub(super) type Function<'a> = dyn FnMut(&[f64]) -> Result<Vec<f64>, String> + 'a;

/// Times a step is shortened tenfold where nothing is predicted beside a point.
const SHORTER: usize = 3;

/// d(function)/du at `u`, where the function is `middle`: one row for each value, one column
/// for each coordinate. Central differences; three points on one side where the other is
/// beyond a bound or fails.
///
/// # Errors
/// The coordinate on neither side of which there is a value, with the reason.
pub(super) fn slopes(
    axes: &[Axis],
    u: &[f64],
    share: f64,
    middle: &[f64],
    function: &mut Function,
) -> Result<DMatrix<f64>, (usize, String)> {
    let mut matrix = DMatrix::zeros(middle.len(), u.len());
    let mut x: Vec<f64> = axes.iter().zip(u).map(|(axis, &u)| axis.value(u)).collect();
    for (j, axis) in axes.iter().enumerate() {
        let (centre, kept) = (u[j], x[j]);
        let mut at = |offset: f64| -> Result<Vec<f64>, String> {
            let beside = centre + offset;
            if beside < axis.low || beside > axis.high {
                return Err("beyond a bound".into());
            }
            x[j] = axis.value(beside);
            let values = function(&x)?;
            match values.iter().all(|v| v.is_finite()) && values.len() == middle.len() {
                true => Ok(values),
                false => Err("not one finite value for each observation".into()),
            }
        };
        let mut h = axis.step(centre, share);
        let mut found = Err(String::new());
        for _ in 0..=SHORTER {
            // what the step really is, after rounding
            let step = (centre + h) - centre;
            found = column(step, middle, &mut at);
            if found.is_ok() {
                break;
            }
            h *= 0.1;
        }
        let values = found.map_err(|message| (j, message))?;
        x[j] = kept;
        values.iter().enumerate().for_each(|(i, v)| matrix[(i, j)] = *v);
    }
    Ok(matrix)
}

fn column(
    h: f64,
    middle: &[f64],
    at: &mut dyn FnMut(f64) -> Result<Vec<f64>, String>,
) -> Result<Vec<f64>, String> {
    match (at(h), at(-h)) {
        (Ok(up), Ok(down)) => Ok(up.iter().zip(&down).map(|(u, d)| (u - d) / (2.0 * h)).collect()),
        (Ok(one), Err(_)) => Ok(sided(h, middle, &one, &at(2.0 * h)?)),
        (Err(_), Ok(one)) => Ok(sided(-h, middle, &one, &at(-2.0 * h)?)),
        (Err(message), Err(_)) => Err(message),
    }
}

/// (−3 f₀ + 4 f₁ − f₂)/2h: exact for a parabola.
fn sided(h: f64, zero: &[f64], one: &[f64], two: &[f64]) -> Vec<f64> {
    let values = zero.iter().zip(one).zip(two);
    values.map(|((f0, f1), f2)| (4.0 * (f1 - f0) - (f2 - f0)) / (2.0 * h)).collect()
}
