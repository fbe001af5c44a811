//! What people mean by a motor current, and the DC-equivalent current behind it.
//!
//! The DC equivalent is the current of a direct-current motor with the line-to-line peak back-EMF
//! and the line-to-line resistance of the three-phase one; amplitude-invariant dq relations give the factors.

const SQRT_2: f64 = std::f64::consts::SQRT_2;
const SQRT_3: f64 = 1.732_050_807_568_877_2;

/// What a stated motor current is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CurrentConvention {
    /// The current of the equivalent DC motor; also the plateau of a six-step controller.
    /// (Square current on a sine back-EMF gives 3/π = 0.955 of K per ampere on average.)
    DcEquivalent,
    /// Peak of the sinusoidal phase current, i_q of an amplitude-invariant transform.
    PhasePeak,
    /// Root mean square of the phase current.
    PhaseRms,
    /// i_q of a power-invariant transform, √3 times the phase rms.
    PowerInvariant,
}

impl CurrentConvention {
    /// The conventions as a setup writes them.
    pub const WORDS: &[&str] = &["dc-equivalent", "phase peak", "phase rms", "power-invariant"];

    /// The convention of that name; the DC equivalent for any other word.
    pub fn named(word: &str) -> CurrentConvention {
        match word {
            "phase peak" => CurrentConvention::PhasePeak,
            "phase rms" => CurrentConvention::PhaseRms,
            "power-invariant" => CurrentConvention::PowerInvariant,
            _ => CurrentConvention::DcEquivalent,
        }
    }

    /// DC-equivalent amperes per stated ampere.
    pub const fn dc_per_ampere(self) -> f64 {
        match self {
            CurrentConvention::DcEquivalent => 1.0,
            CurrentConvention::PhasePeak => SQRT_3 / 2.0,
            CurrentConvention::PhaseRms => SQRT_3 / SQRT_2,
            CurrentConvention::PowerInvariant => 1.0 / SQRT_2,
        }
    }

    /// DC-equivalent current \[A\] of a stated current \[A\].
    pub fn to_dc(self, current: f64) -> f64 {
        current * self.dc_per_ampere()
    }

    /// Current in this convention \[A\] of a DC-equivalent current \[A\].
    pub fn from_dc(self, current: f64) -> f64 {
        current / self.dc_per_ampere()
    }

    /// Torque constant K per DC-equivalent ampere of a torque constant `k_t` per stated ampere, both N·m/A.
    pub fn torque_constant(self, k_t: f64) -> f64 {
        k_t / self.dc_per_ampere()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn conventions_go_there_and_back() {
        for c in [
            CurrentConvention::DcEquivalent,
            CurrentConvention::PhasePeak,
            CurrentConvention::PhaseRms,
            CurrentConvention::PowerInvariant,
        ] {
            assert!((c.from_dc(c.to_dc(60.0)) - 60.0).abs() < 1e-12);
            // torque must not depend on how the current is stated
            let k_t = 0.1 * c.dc_per_ampere();
            assert!((c.torque_constant(k_t) - 0.1).abs() < 1e-15);
        }
    }
}
