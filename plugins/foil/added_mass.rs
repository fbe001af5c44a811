//! Water that a wing carries with it when it is accelerated across its plane.

use std::f64::consts::PI;

use engine::table::Curve;

/// Added mass of a wing accelerated across its plane \[kg\]: a plate of chord c and span b,
/// a = C_A ρ (π/4) c² b, in deep water.
///
/// # Source
/// Recommended Practice H103, table of rectangular plates, C_A against b/c (recalled; the square
/// plate agrees with V. W. Meyerhoff, *J. Ship Res.* 14, 1970). b ≥ c.
pub fn added_mass(rho: f64, span: f64, chord: f64) -> f64 {
    plate_coefficient(span / chord) * rho * 0.25 * PI * chord * chord * span
}

/// C_A of a rectangular plate by its ratio of sides b/a ≥ 1; tends to 1.
fn plate_coefficient(ratio: f64) -> f64 {
    // against a/b, so that the endless strip (C_A = 1) is the point 0
    const INVERSE: [f64; 11] = [0.0, 0.1, 0.125, 0.16, 0.2, 0.25, 1.0 / 3.0, 0.4, 0.5, 0.8, 1.0];
    const C_A: [f64; 11] = [1.0, 0.947, 0.934, 0.917, 0.897, 0.872, 0.830, 0.801, 0.757, 0.642, 0.579];
    let curve = Curve::new(&INVERSE, &C_A).expect("the table above rises");
    curve.held(1.0 / ratio)
}
