//! Open-water characteristic of a screw propeller, for any shaft speed and any inflow.
//!
//! Symbols: D diameter \[m\], n shaft speed [rev/s], V_A speed of advance [m/s], J = V_A/(n D)
//! advance ratio, K_T = T/(ρ n² D⁴), K_Q = Q/(ρ n² D⁵), η_0 = J K_T/(2π K_Q) (ITTC symbols).
//!
//! A series or a table gives K_T(J) and K_Q(J) on 0 ≤ J ≤ J_c. J has no meaning on a stopped shaft,
//! so thrust and torque are written as functions of n and v = V_A/D, homogeneous of degree two:
//!
//! | where | thrust (torque alike, with D⁵) |
//! |---|---|
//! | 0 ≤ v ≤ J_c n | T = ρ D⁴ n² K_T(v/n), piecewise cubic in J |
//! | v > J_c n: windmilling, down to the stopped shaft | T = ρ D⁴ (a n² + b n v − c v²) |
//! | v < 0: astern, or water from behind | T = ρ D⁴ (K_T(0) n² + K_T′(0) n v + c v²) |
//! | n < 0 | T(n, v) = −T(−n, −v) |
//!
//! a and b make value and slope continuous at J_c. c is the drag of the stopped blades, held flat
//! across the stream: c = C_D (A_E/A_0) π/8 for the thrust, and c (P/D)/(2π) for the torque, because
//! the force on a blade stands square on it and acts at 0.7 R.
//!
//! **The two extensions are an engineering assumption**: they join what is measured to a plausible
//! stopped propeller, and the ring-vortex state of a propeller driven hard astern is not in them.
//! They carry the start from rest, a push, a dropped throttle; they are no basis for a manoeuvre.
//! At n = 0 with V_A ≠ 0 the slope in n jumps, because a propeller turning backwards is not modelled
//! beyond the mirror image that keeps it finite.

mod coefficient;
mod error;

pub use error::OpenWaterError;

use coefficient::{Coefficient, Piece, pieces, zero};
use engine::real::Real;
use engine::table::Curve;
use std::f64::consts::PI;

/// Drag coefficient of a stopped propeller, on its expanded blade area.
///
/// # Source
/// UFC 4-159-03, *Design: Moorings* (US Department of Defense), equations 21–23, p. 91: "propeller
/// drag coefficient = 1.0" for the locked screw of a moored ship in a current.
pub const STOPPED_DRAG_COEFFICIENT: f64 = 1.0;

/// What the extensions need to know of the blades.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blades {
    /// Expanded blade area ratio A_E/A_0.
    pub area_ratio: f64,
    /// Pitch ratio P/D.
    pub pitch_ratio: f64,
    /// Drag coefficient of the stopped blades on A_E; [`STOPPED_DRAG_COEFFICIENT`] unless known better.
    pub stopped_drag_coefficient: f64,
}

/// Thrust and torque of a propeller in undisturbed water.
#[derive(Debug, Clone)]
pub struct OpenWater {
    diameter: f64,
    /// D⁴ and D⁵.
    d4: f64,
    d5: f64,
    k_t: Coefficient,
    k_q: Coefficient,
    /// J at which thrust and torque vanish.
    zero_thrust: f64,
    zero_torque: f64,
}

impl OpenWater {
    /// From one cubic each, `k[0] + k[1] J + k[2] J² + k[3] J³`, valid on 0 ≤ J ≤ `j_c`.
    pub fn from_cubics(diameter: f64, k_t: [f64; 4], k_q: [f64; 4], j_c: f64, blades: Blades) -> OpenWater {
        let single = |c| Box::from([Piece { start: 0.0, c }]);
        OpenWater::new(diameter, single(k_t), single(k_q), j_c, blades)
    }

    /// From a table: `j` ascending, `k_t` and `k_q` one value per `j`. Monotone piecewise cubics run
    /// through the points ([`Curve`]); a table that starts above J = 0 is continued to it in a
    /// straight line.
    ///
    /// # Errors
    /// [`OpenWaterError`] when the columns are no table or describe no propeller.
    pub fn from_table(
        diameter: f64,
        j: &[f64],
        k_t: &[f64],
        k_q: &[f64],
        blades: Blades,
    ) -> Result<OpenWater, OpenWaterError> {
        let t = Curve::new(j, k_t).map_err(OpenWaterError::Table)?;
        let q = Curve::new(j, k_q).map_err(OpenWaterError::Table)?;
        let (first, last) = t.range();
        if first < 0.0 {
            return Err(OpenWaterError::NegativeAdvanceRatio(first));
        }
        let (k_t_0, k_q_0) = (t.at(0.0), q.at(0.0));
        if k_t_0 <= 0.0 || k_q_0 <= 0.0 {
            return Err(OpenWaterError::NoThrustAtRest { k_t: k_t_0, k_q: k_q_0 });
        }
        let mut knots = j.to_vec();
        if first > 0.0 {
            knots.insert(0, 0.0);
        }
        let law = OpenWater::new(diameter, pieces(&t, &knots), pieces(&q, &knots), last, blades);
        law.check(last)?;
        Ok(law)
    }

    fn new(diameter: f64, k_t: Box<[Piece]>, k_q: Box<[Piece]>, j_c: f64, blades: Blades) -> OpenWater {
        let stopped = blades.stopped_drag_coefficient * blades.area_ratio * PI / 8.0;
        let stopped_torque = stopped * blades.pitch_ratio / (2.0 * PI);
        let k_t = Coefficient::new(k_t, j_c, stopped);
        let k_q = Coefficient::new(k_q, j_c, stopped_torque);
        OpenWater {
            diameter,
            d4: diameter.powi(4),
            d5: diameter.powi(5),
            zero_thrust: zero(&k_t),
            zero_torque: zero(&k_q),
            k_t,
            k_q,
        }
    }

    /// Checks that the law describes a propeller that a motor can drive: K_T and K_Q positive at rest, no thrust
    /// without torque, torque that rises with shaft speed at fixed inflow.
    ///
    /// # Errors
    /// Which of these fails, and at which J.
    pub fn sound(&self) -> Result<(), OpenWaterError> {
        let (k_t, k_q) = (self.k_t(0.0), self.k_q(0.0));
        if k_t > 0.0 && k_q > 0.0 {
            return self.check(self.last_advance_ratio());
        }
        Err(OpenWaterError::NoThrustAtRest { k_t, k_q })
    }

    /// Does the middle describe a propeller that a motor can drive?
    fn check(&self, j_c: f64) -> Result<(), OpenWaterError> {
        for i in 0..=400 {
            let j = j_c * f64::from(i) / 400.0;
            let (k_q, slope) = self.k_q.middle_and_slope(j);
            if self.k_t(j) > 0.0 && k_q <= 0.0 {
                return Err(OpenWaterError::FreeThrust { j, k_q });
            }
            if k_q > 0.0 && 2.0 * k_q < j * slope {
                return Err(OpenWaterError::TorqueFalls { j });
            }
        }
        Ok(())
    }

    /// The same propeller with K_T and K_Q multiplied by constants (dimensionless, > 0) at every J,
    /// extensions included: both keep their zeros, and 1 changes no digit.
    ///
    /// A bench reading at rest calibrates K(0); that the same factor holds at other J is an assumption.
    pub fn scaled(&self, thrust_factor: f64, torque_factor: f64) -> OpenWater {
        OpenWater { k_t: self.k_t.scaled(thrust_factor), k_q: self.k_q.scaled(torque_factor), ..self.clone() }
    }

    /// Thrust T \[N\] at water density `rho` [kg/m³], shaft speed `n` [rev/s] and speed of advance
    /// `v_a` [m/s].
    pub fn thrust<R: Real>(&self, rho: f64, n: R, v_a: R) -> R {
        self.k_t.at(n, v_a / self.diameter) * (rho * self.d4)
    }

    /// Torque Q [N·m] that the water puts against the shaft, arguments as in [`OpenWater::thrust`].
    ///
    /// At fixed inflow it rises with n for every n at which it is positive (checked over the whole
    /// B-series range, and for each table when it is read).
    pub fn torque<R: Real>(&self, rho: f64, n: R, v_a: R) -> R {
        self.k_q.at(n, v_a / self.diameter) * (rho * self.d5)
    }

    /// Thrust coefficient K_T at an advance ratio J, extensions included.
    pub fn k_t<R: Real>(&self, j: R) -> R {
        self.k_t.at(R::constant(1.0), j)
    }

    /// Torque coefficient K_Q at an advance ratio J, extensions included.
    pub fn k_q<R: Real>(&self, j: R) -> R {
        self.k_q.at(R::constant(1.0), j)
    }

    /// Open-water efficiency η_0 = J K_T/(2π K_Q); 0 outside 0 < J < the zero-thrust J.
    pub fn efficiency(&self, j: f64) -> f64 {
        if j > 0.0 && j < self.zero_thrust && self.k_q(j) > 0.0 {
            j * self.k_t(j) / (2.0 * PI * self.k_q(j))
        } else {
            0.0
        }
    }

    /// Propeller diameter D \[m\].
    pub fn diameter(&self) -> f64 {
        self.diameter
    }

    /// Advance ratio up to which K_T and K_Q are given rather than extended.
    pub fn last_advance_ratio(&self) -> f64 {
        self.k_t.j_c
    }

    /// Advance ratio J at which the thrust vanishes.
    pub fn zero_thrust_advance_ratio(&self) -> f64 {
        self.zero_thrust
    }

    /// Advance ratio J at which a free shaft turns: the torque vanishes.
    pub fn zero_torque_advance_ratio(&self) -> f64 {
        self.zero_torque
    }
}

#[cfg(test)]
mod tests;
