//! Formulas of the handbook that several parts cite: plain functions, no part.

pub mod copper;
pub mod friction;
pub mod kinematics;
pub mod loss_torque;
pub mod mass;
pub mod motor_current;

/// Standard acceleration of free fall g, m/s² (3rd CGPM, 1901).
pub const G: f64 = 9.80665;
