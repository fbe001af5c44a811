//! A permanent-magnet motor seen as a direct-current motor.
//!
//! E = K ω, V = K ω + R I, Q = K (I − I₀). A three-phase motor with sinusoidal
//! back-EMF obeys the same equations exactly if K is taken from the line-to-line
//! **peak** back-EMF, R from line to line, and the current is the DC equivalent.
//! Every other way of stating K or I differs from that by a constant factor; the
//! two enumerations hold these factors.
//!
//! # Source
//! M. Drela, *First-Order DC Electric Motor Model* (MIT, 2007), cited from public
//! citations, not re-read; the dq relations are the amplitude-invariant textbook ones.

use crate::handbook::loss_torque;
pub use crate::handbook::motor_current::CurrentConvention;
use std::f64::consts::PI;
use std::fmt;

const SQRT_2: f64 = std::f64::consts::SQRT_2;
const SQRT_3: f64 = 1.732_050_807_568_877_2;

/// Which voltage a speed constant K_v (speed per volt) refers to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpeedConstant {
    /// Peak of the line-to-line back-EMF.
    LineLinePeak,
    /// Mean of the rectified back-EMF over 60°: a six-step controller's no-load speed.
    SixStepAverage,
    /// Root mean square of the line-to-line back-EMF.
    LineLineRms,
}

impl SpeedConstant {
    /// Torque constant K [N·m/A = V·s/rad] of a speed constant `k_v` [rad/(s·V)].
    ///
    /// K = c/K_v, c = 1 (peak), π/3 (six-step average), √2 (rms).
    pub fn torque_constant(self, k_v: f64) -> f64 {
        match self {
            SpeedConstant::LineLinePeak => 1.0 / k_v,
            SpeedConstant::SixStepAverage => PI / 3.0 / k_v,
            SpeedConstant::LineLineRms => SQRT_2 / k_v,
        }
    }
}

/// Torque constant K [N·m/A] of the peak phase flux linkage ψ [V·s]: K = √3 p ψ.
pub fn torque_constant_of_flux(flux_linkage: f64, pole_pairs: f64) -> f64 {
    SQRT_3 * pole_pairs * flux_linkage
}

/// Line-to-line resistance \[Ω\] of a star-equivalent phase resistance \[Ω\]: R = 2 R_phase.
pub fn line_resistance(phase_resistance: f64) -> f64 {
    2.0 * phase_resistance
}

/// Two statements about one motor that cannot both hold.
#[derive(Debug, Clone, PartialEq)]
pub struct Contradiction {
    /// The statement taken first.
    pub first: &'static str,
    /// Its value.
    pub first_value: f64,
    /// The statement that disagrees.
    pub second: &'static str,
    /// Its value.
    pub second_value: f64,
    /// Unit of both values.
    pub unit: &'static str,
    /// Distance in per cent of the first.
    pub percent: f64,
}

impl fmt::Display for Contradiction {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let Contradiction { first, first_value, second, second_value, unit, percent } = self;
        write!(
            f,
            "{first} gives {first_value:.5} {unit}, but {second} gives {second_value:.5} {unit}: \
             {percent:.1} % apart, more than the 2 % that rounding explains"
        )
    }
}

impl std::error::Error for Contradiction {}

/// One value out of several statements `(what, value)` of the same quantity: the first, if
/// all others lie within 2 % of it. `None` without any statement.
///
/// Data sheets round to two or three digits, hence the 2 %; a wrong convention is off by 4.7 % or more.
///
/// # Errors
/// [`Contradiction`] names the two statements and both numbers.
pub fn agreed(statements: &[(&'static str, f64)], unit: &'static str) -> Result<Option<f64>, Contradiction> {
    let Some(&(first, first_value)) = statements.first() else {
        return Ok(None);
    };
    for &(second, second_value) in &statements[1..] {
        let apart = (second_value / first_value - 1.0).abs();
        // written so that a NaN counts as a contradiction
        if apart.is_nan() || apart > 0.02 {
            return Err(Contradiction {
                first,
                first_value,
                second,
                second_value,
                unit,
                percent: 100.0 * apart,
            });
        }
    }
    Ok(Some(first_value))
}

/// No-load current I₀(ω) = i₀ + i₁ ω + i₂ ω² \[A\]; K times it is the loss torque.
///
/// # Source
/// M. Drela, *Second-Order DC Electric Motor Model* (MIT, 2006), from public citations, not re-read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NoLoad {
    /// Hysteresis and dry friction i₀ \[A\].
    pub i0: f64,
    /// Eddy currents and viscous friction i₁ [A·s/rad].
    pub i1: f64,
    /// Windage, or water in the air gap, i₂ [A·s²/rad²].
    pub i2: f64,
}

impl NoLoad {
    /// From one measured no-load current \[A\] at `omega` [rad/s], of which the shares `viscous` and
    /// `windage` grow with ω and ω²; the rest is constant.
    pub fn from_shares(current: f64, omega: f64, viscous: f64, windage: f64) -> NoLoad {
        NoLoad {
            i0: current * (1.0 - viscous - windage),
            i1: current * viscous / omega,
            i2: current * windage / (omega * omega),
        }
    }

    /// No-load current \[A\] at shaft speed ω [rad/s].
    pub fn current(&self, omega: f64) -> f64 {
        loss_torque::loss_torque(self.i0, self.i1, self.i2, omega)
    }
}

/// Voltage of the DC equivalent in phase with the current, V = K ω + R I \[V\].
pub fn voltage(torque_constant: f64, resistance: f64, omega: f64, current: f64) -> f64 {
    torque_constant * omega + resistance * current
}

/// Reactive voltage 2 p ω L I \[V\] of the phase inductance L \[H\]: √3 times u_d, perpendicular to [`voltage`].
///
/// The voltage a controller must reach is the root of the sum of squares.
pub fn reactive_voltage(pole_pairs: f64, inductance: f64, omega: f64, current: f64) -> f64 {
    2.0 * pole_pairs * inductance * omega * current
}

/// Current of best efficiency √(V I₀/R) \[A\] of a motor with constant I₀.
pub fn best_efficiency_current(voltage: f64, no_load: f64, resistance: f64) -> f64 {
    (voltage * no_load / resistance).sqrt()
}

/// Efficiency (1 − I₀/I)(1 − I R/V), for I > 0 and V > 0.
pub fn efficiency(voltage: f64, no_load: f64, resistance: f64, current: f64) -> f64 {
    (1.0 - no_load / current) * (1.0 - current * resistance / voltage)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn contradictory_statements_are_refused_with_both_numbers() {
        let error = agreed(&[("K_v", 0.0636), ("K_t", 0.0780)], "N·m/A").unwrap_err();
        let text = error.to_string();
        assert!(text.contains("0.0636") && text.contains("0.0780"), "{text}");
        // a sheet's rounding passes, a six-step K_v read as a peak one (4.7 %) does not
        assert!(agreed(&[("a", 1.0), ("b", 1.019)], "").is_ok());
        assert!(agreed(&[("a", 1.0), ("b", PI / 3.0)], "").is_err());
        assert!(agreed(&[("a", 0.0), ("b", 0.0)], "").is_err());
        assert_eq!(agreed(&[], ""), Ok(None));
    }

    #[test]
    fn shares_add_up_at_the_measured_speed() {
        let n = NoLoad::from_shares(2.2, 400.0, 0.3, 0.2);
        assert!((n.current(400.0) - 2.2).abs() < 1e-14);
        // at half speed: half of the viscous, a quarter of the windage share
        assert!((n.current(200.0) - 2.2 * (0.5 + 0.15 + 0.05)).abs() < 1e-14);
    }

    #[test]
    fn best_efficiency_is_a_maximum() {
        let (v, i0, r) = (40.0, 2.0, 0.02);
        let best = best_efficiency_current(v, i0, r);
        let top = (1.0 - (i0 * r / v).sqrt()).powi(2);
        // algebra, so round-off only
        assert!((efficiency(v, i0, r, best) - top).abs() < 1e-14);
        assert!(efficiency(v, i0, r, 1.1 * best) < top && efficiency(v, i0, r, 0.9 * best) < top);
    }
}
