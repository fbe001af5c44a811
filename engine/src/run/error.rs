//! Why a run ends before its time.

use ode_solvers::dop_shared::IntegrationError;
use thiserror::Error;

/// Why a run could not go on. What was recorded until then stays with the run.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RunError {
    /// An equation produced a number that is not finite.
    #[error("at {} s {equation} gave no finite value for {quantity}", rounded(*.time))]
    NotFinite {
        /// When, s.
        time: f64,
        /// `instance: equation`.
        equation: String,
        /// Name of the quantity.
        quantity: String,
    },
    /// The integrator gave up.
    #[error("the integration got no further than {} s: {reason}; {fastest} changes fastest there", rounded(*.time))]
    Integration {
        /// Last time reached, s.
        time: f64,
        /// What stood in its way.
        reason: &'static str,
        /// The state that changes fastest, measured by its usual size.
        fastest: String,
    },
    /// The start could not be balanced.
    #[error("no equilibrium at the start: {}", .residuals.join(", "))]
    NoEquilibrium {
        /// What is left over, by name.
        residuals: Vec<String>,
    },
    /// More happenings than a run can plausibly have.
    #[error("{event} of {instance} happens again and again at {} s", rounded(*.time))]
    Chatter {
        /// When, s.
        time: f64,
        /// The instance.
        instance: String,
        /// The event.
        event: String,
    },
    /// More steps than a run may record.
    #[error(
        "the run is too long: its record is full at {} s, after {steps} steps of {} s on average; \
         a shorter duration or a coarser tolerance lets it end",
        rounded(*.time), rounded(time / *.steps as f64)
    )]
    TooLong {
        /// Last time reached, s.
        time: f64,
        /// Steps recorded.
        steps: usize,
    },
}

/// To the microsecond: what lies below is round-off.
fn rounded(time: f64) -> f64 {
    (time * 1e6).round() / 1e6
}

/// What stands in an integrator's way, for a person.
pub(super) fn reason(error: &IntegrationError) -> &'static str {
    match error {
        IntegrationError::StepSizeUnderflow { .. } => {
            "no step is short enough there, as where a quantity grows without bound or jumps"
        }
        IntegrationError::MaxNumStepReached { .. } => "nearly all steps are rejected",
        IntegrationError::StiffnessDetected { .. } => "the equations are too stiff for the method",
    }
}

#[cfg(test)]
mod tests {
    use super::RunError;

    #[test]
    fn times_are_told_without_round_off() {
        let error = RunError::TooLong { time: 0.1 + 0.2, steps: 3 };
        assert!(error.to_string().contains("full at 0.3 s, after 3 steps of 0.1 s"), "{error}");
    }
}
