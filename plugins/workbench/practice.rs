//! How readings are taken in this trade.

use engine::calibration::{Convention, Practice};
use engine::diagnostic::{Diagnostic, Diagnostics};
use engine::run::Run;

use crate::handbook::motor_current::CurrentConvention;
use crate::nomenclature::*;
use crate::steady::turning;
use crate::workbench::{belief, mistakes};

/// What the engine is told about readings.
pub const PRACTICE: Practice =
    Practice { rest, conventions: CONVENTIONS, inquiries: &[mistakes::INQUIRY, belief::INQUIRY] };

/// Ways of counting amperes of a motor; the model's are DC-equivalent.
const CONVENTIONS: &[Convention] = &[
    counted("dc-equivalent", CurrentConvention::DcEquivalent),
    counted("phase peak", CurrentConvention::PhasePeak),
    counted("phase rms", CurrentConvention::PhaseRms),
    counted("power-invariant", CurrentConvention::PowerInvariant),
];

const fn counted(name: &'static str, convention: CurrentConvention) -> Convention {
    Convention { kind: MOTOR_CURRENT.name, name, factor: convention.dc_per_ampere() }
}

/// A drive on its stand, its shaft turning steadily.
fn rest(run: &mut Run) -> Result<(), Diagnostics> {
    let model = run.model().clone();
    let moves = model.providers(SURGE_SPEED.name).into_iter().any(|p| model.state_index(p).is_some());
    if moves {
        let error = Diagnostic::error("steady readings are those of a drive that is held");
        return Err(error
            .help("put `test_stand` in place of `motion`, or hold the readings against a run: in_time")
            .into());
    }
    turning::steadily(run);
    Ok(())
}
