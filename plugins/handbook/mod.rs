//! Formulas that several parts cite, and the small adapters they share; no part.

#[cfg(test)]
pub mod bench;
pub mod body_point;
pub mod copper;
pub mod disc;
pub mod friction;
pub mod friction_curve;
pub mod kinematics;
pub mod lever;
pub mod loss_torque;
pub mod mass;
pub mod momentum;
pub mod motor_current;
pub mod source;

/// Standard acceleration of free fall g, m/s² (3rd CGPM, 1901).
pub const G: f64 = 9.80665;
