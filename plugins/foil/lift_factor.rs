//! Lift factor K(h/c, F_nh) of a two-dimensional foil under a free surface, tabulated.
//!
//! One vortex at the quarter chord, tangency at three quarters, linear free surface with
//! gravity, waves only downstream. With z = x + iy, the still water at y = 0, the vortex at
//! −ih, ν = g/V² and the stream along +x, the velocity the surface adds is
//!
//! w_1 = −w_0* + 2iν e^{−iνz} ∫_{−∞}^z e^{iνt} w_0*(t) dt,  w_0* = −Γ/(2πi (z − ih)),
//!
//! and K = (1/πc)/(1/πc − v_1/Γ) at x = c/2. Evaluated for this project from that formula;
//! `tests/val/foil.rs` evaluates it again by quadrature.
//!
//! # Source
//! Condition of the linear free surface: J. V. Wehausen, E. V. Laitone, *Surface Waves* (1960),
//! §13, cited from memory.

use std::sync::LazyLock;

use engine::smooth;
use engine::table::Surface;

/// Depths h/c of the columns.
pub const DEPTHS: [f64; 11] = [0.5, 0.75, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0];

/// Greatest K used. Linear theory resonates at F_nh 0.6–0.8 for h/c below 1 (up to K = 3),
/// where a real surface breaks; 1.1 is an assumption.
pub const K_MAX: f64 = 1.1;

/// Rounding of the limit [`K_MAX`].
const ROUNDING: f64 = 0.03;

/// Lift factor K of one vortex: per row F_nh, then K at each of [`DEPTHS`].
#[rustfmt::skip]
pub const TABLE: [(f64, [f64; 11]); 26] = [
    (0.2, [1.2713, 1.1206, 1.0678, 1.0301, 1.017, 1.0109, 1.0075, 1.0042, 1.0027, 1.0019, 1.0011]),
    (0.3, [1.3021, 1.1344, 1.0756, 1.0336, 1.0189, 1.0121, 1.0084, 1.0047, 1.003, 1.0021, 1.0012]),
    (0.4, [1.3554, 1.1591, 1.0898, 1.04, 1.0225, 1.0144, 1.01, 1.0056, 1.0036, 1.0025, 1.0014]),
    (0.5, [1.4739, 1.2197, 1.122, 1.0525, 1.0287, 1.0179, 1.0121, 1.0065, 1.004, 1.0026, 1.0014]),
    (0.6, [2.025, 1.3336, 1.1573, 1.0551, 1.0252, 1.0129, 1.0068, 1.0016, 0.9996, 0.9988, 0.9982]),
    (0.7, [2.9575, 1.3165, 1.1092, 1.0138, 0.9921, 0.9857, 0.9838, 0.9839, 0.9853, 0.9868, 0.9892]),
    (0.8, [2.2073, 1.1024, 0.9786, 0.9368, 0.9365, 0.9419, 0.9476, 0.957, 0.9638, 0.9689, 0.9757]),
    (0.9, [1.2468, 0.8794, 0.8451, 0.8582, 0.8796, 0.8968, 0.9102, 0.9291, 0.9415, 0.9503, 0.9618]),
    (1.0, [0.8131, 0.7277, 0.7462, 0.7964, 0.8336, 0.86, 0.8794, 0.9058, 0.9228, 0.9346, 0.95]),
    (1.1, [0.6165, 0.6353, 0.6813, 0.7536, 0.8011, 0.8337, 0.8572, 0.8889, 0.9091, 0.9231, 0.9413]),
    (1.2, [0.5179, 0.5808, 0.6413, 0.7265, 0.7803, 0.8167, 0.8429, 0.8779, 0.9002, 0.9157, 0.9356]),
    (1.3, [0.4652, 0.5495, 0.6181, 0.7108, 0.7684, 0.8071, 0.8348, 0.8718, 0.8953, 0.9116, 0.9325]),
    (1.5, [0.4221, 0.5254, 0.6018, 0.7015, 0.7622, 0.8026, 0.8314, 0.8695, 0.8936, 0.9102, 0.9316]),
    (1.75, [0.4168, 0.53, 0.6101, 0.7116, 0.772, 0.8118, 0.8398, 0.8766, 0.8997, 0.9156, 0.9358]),
    (2.0, [0.4322, 0.5504, 0.6315, 0.7315, 0.7896, 0.8273, 0.8536, 0.8879, 0.9092, 0.9237, 0.9422]),
    (2.5, [0.4821, 0.604, 0.6832, 0.7761, 0.8277, 0.8602, 0.8825, 0.911, 0.9284, 0.9401, 0.9549]),
    (3.0, [0.5345, 0.6557, 0.7307, 0.815, 0.86, 0.8876, 0.9062, 0.9296, 0.9437, 0.9531, 0.9649]),
    (3.5, [0.5809, 0.6992, 0.7696, 0.8457, 0.8849, 0.9085, 0.9241, 0.9436, 0.9551, 0.9628, 0.9722]),
    (4.0, [0.62, 0.7343, 0.8002, 0.8692, 0.9038, 0.9241, 0.9375, 0.9539, 0.9635, 0.9698, 0.9776]),
    (5.0, [0.6783, 0.7848, 0.8432, 0.9014, 0.9292, 0.9451, 0.9553, 0.9675, 0.9745, 0.9791, 0.9846]),
    (6.0, [0.7173, 0.8174, 0.8703, 0.9212, 0.9447, 0.9577, 0.9659, 0.9756, 0.9811, 0.9845, 0.9887]),
    (8.0, [0.7628, 0.8542, 0.9004, 0.9428, 0.9613, 0.9712, 0.9773, 0.9842, 0.988, 0.9903, 0.9931]),
    (10.0, [0.7865, 0.8729, 0.9156, 0.9535, 0.9695, 0.9779, 0.9828, 0.9884, 0.9913, 0.9931, 0.9952]),
    (15.0, [0.8117, 0.8925, 0.9313, 0.9645, 0.9779, 0.9846, 0.9885, 0.9926, 0.9947, 0.9959, 0.9973]),
    (25.0, [0.8254, 0.903, 0.9396, 0.9704, 0.9823, 0.9882, 0.9915, 0.9949, 0.9965, 0.9974, 0.9984]),
    (100.0, [0.8328, 0.9087, 0.9441, 0.9735, 0.9847, 0.9901, 0.993, 0.996, 0.9974, 0.9982, 0.999]),
];

/// K over (F_nh, c/h): c/h because K − 1 is nearly straight in it and ends at 0 in deep water.
static SURFACE: LazyLock<Surface> = LazyLock::new(|| {
    let held = |k: f64| smooth::min(k, K_MAX, ROUNDING);
    // columns from deep to shallow, with deep water (K = 1) before and a doubled last one after,
    // so that the slope is zero where the table is held
    let mut inverse = vec![0.0];
    inverse.extend(DEPTHS.iter().rev().map(|h| 1.0 / h));
    inverse.push(2.2);
    let row = |k: &[f64; 11]| {
        let mut row = vec![1.0];
        row.extend(k.iter().rev().map(|&k| held(k)));
        row.push(held(k[0]));
        row
    };
    let froude = TABLE.iter().map(|(froude, _)| *froude);
    let froude: Vec<f64> = [0.0].into_iter().chain(froude).chain([200.0]).collect();
    let mut k = vec![row(&DEPTHS.map(super::free_surface::k_wall))];
    k.extend(TABLE.iter().map(|(_, values)| row(values)));
    k.push(row(&DEPTHS.map(super::free_surface::k_high_froude)));
    Surface::new(&froude, &inverse, &k).expect("the table above is a grid")
});

/// The lift factor on its grid; held above h/c = 0.5 and beyond F_nh = 200.
pub fn surface() -> &'static Surface {
    &SURFACE
}
