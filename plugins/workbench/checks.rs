//! Do readings agree with each other? Each check is a difference that ought to vanish, or not to pass zero, in
//! standard uncertainties.

mod cut;
mod tips;

use super::drive::{Drive, DriveUnsure};
use super::point::*;
use super::reduce::{BY_CURRENTS, BY_SPEED, SHAFT, duty_by_currents, duty_by_speed, reduce, together};
use super::row::{CONVENTIONS, CurrentConvention, Row, Unsure};
use crate::handbook::loss_torque::loss_torque;
use crate::handbook::momentum::ideal_power;

pub use cut::{Group, Scaling, scaling, text as scaling_text};
pub use tips::{DOUBT, Expected, THRUST_EXPONENT, TORQUE_EXPONENT};

/// Beyond this many standard uncertainties a reading is suspicious (5 % of good ones are, by chance).
pub const SUSPICIOUS: f64 = 2.0;
/// Beyond this many it is taken for wrong (0.3 % of good ones are, by chance).
pub const ODD: f64 = 3.0;

/// What a check may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sense {
    /// The difference ought to vanish.
    Equal,
    /// The difference ought not to be above zero.
    AtMost,
}

/// How a check came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// As it ought to be.
    Agrees,
    /// Beyond [`SUSPICIOUS`].
    Suspicious,
    /// Beyond [`ODD`].
    Odd,
    /// A reading or its uncertainty is missing.
    NotTold,
}

/// A check of one reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// What is checked.
    pub name: &'static str,
    /// What ought to be.
    pub sense: Sense,
    /// The difference with its budget, or why there is none.
    pub residual: Reduced,
    /// The difference in standard uncertainties; `None` where these are not told.
    pub score: Option<f64>,
    /// How it came out.
    pub verdict: Verdict,
    /// What to look at, if it did not come out well.
    pub hint: Option<String>,
}

fn check(name: &'static str, sense: Sense, residual: Reduced, hint: &str) -> Check {
    let score = residual.result.as_ref().ok().filter(|b| b.u > 0.0).map(|b| b.value / b.u);
    let verdict = verdict(score, sense);
    let bad = matches!(verdict, Verdict::Suspicious | Verdict::Odd);
    Check { name, sense, residual, score, verdict, hint: bad.then(|| hint.to_string()) }
}

pub(super) fn verdict(score: Option<f64>, sense: Sense) -> Verdict {
    let far = match (score, sense) {
        (None, _) => return Verdict::NotTold,
        (Some(score), Sense::Equal) => score.abs(),
        (Some(score), Sense::AtMost) => score,
    };
    match far {
        far if far > ODD => Verdict::Odd,
        far if far > SUSPICIOUS => Verdict::Suspicious,
        _ => Verdict::Agrees,
    }
}

/// The checks that one reading allows.
///
/// Differences are formed in one budget, so that what both sides stand on (volts, motor current) counts once.
pub fn checks(row: &Row, unsure: &Unsure, drive: &Drive, drive_unsure: &DriveUnsure) -> Vec<Check> {
    let case = Case::new(row, unsure, drive, drive_unsure);
    let torque = |p: &Point| p.drive.k * p.i_m - loss_torque(p.drive.c0, p.drive.c1, p.drive.c2, p.omega);
    let disc = together(&[SHAFT, &[THRUST, RHO, D]]);
    let mut duty = check(
        "duty from currents = duty from speed and volts",
        Sense::Equal,
        case.quantity("duty_difference", "1", &together(&[BY_CURRENTS, BY_SPEED]), |p| {
            duty_by_currents(p) - duty_by_speed(p)
        }),
        "one of battery current, motor current, volts, speed or K is off",
    );
    if let (true, Some(also)) = (duty.hint.is_some(), other_convention(row, drive)) {
        duty.hint = Some(also);
    }
    vec![
        duty,
        check(
            "duty as told = duty from speed and volts",
            Sense::Equal,
            case.quantity("told_duty_difference", "1", &together(&[&[DUTY], BY_SPEED]), |p| {
                p.duty - duty_by_speed(p).hypot(p.drive.reactance * p.omega * p.i_m / p.v)
            }),
            "the controller's duty, or volts, speed or K are off",
        ),
        check(
            "thrust is not above the momentum ceiling",
            Sense::AtMost,
            // a difference of powers, which stays a number where no power is left
            case.quantity("power_below_ideal", "W", &disc, move |p| {
                ideal_power(p.thrust, p.drive.rho, p.drive.diameter) - torque(p) * p.omega
            }),
            "no open propeller does that: the scale, the arms, motor current or speed are off, or it runs in a nozzle",
        ),
        check(
            "shaft power is not above battery power",
            Sense::AtMost,
            case.quantity("power_gained", "W", &together(&[SHAFT, &[V, I_B]]), move |p| {
                torque(p) * p.omega - p.v * p.i_b
            }),
            "motor current in another convention, battery current or volts read too low, or K too large",
        ),
        check(
            "battery current is not above motor current",
            Sense::AtMost,
            case.quantity("current_gained", "A", BY_CURRENTS, |p| {
                // what idles and switches comes on top; a bridge may reach a little beyond the linear range
                (duty_by_currents(p) - p.drive.duty_max.max(1.0)) * p.i_m
            }),
            "a controller lowers voltage and raises current: the two currents may be interchanged",
        ),
    ]
}

/// Says in which convention the motor current would agree, if one makes it.
fn other_convention(row: &Row, drive: &Drive) -> Option<String> {
    let apart = |factor: f64| {
        let counted = Row { motor_current: row.motor_current.map(|i| factor * i), ..*row };
        let found = reduce(&counted, &Unsure::default(), drive, &DriveUnsure::default());
        let value = |name: &str| found.get(name).and_then(Reduced::value);
        Some((value("duty_by_currents")? / value("duty_by_speed")? - 1.0).abs())
    };
    let others = CONVENTIONS.into_iter().filter(|c| *c != CurrentConvention::DcEquivalent);
    // rounding of readings leaves a per cent or two; the conventions lie 13 % and more apart
    let fits = others.zip(CurrentConvention::WORDS.iter().skip(1));
    let (_, word) = fits.into_iter().find(|(c, _)| apart(c.dc_per_ampere()).is_some_and(|x| x < 0.03))?;
    Some(format!(
        "it would agree if the motor current were counted as {word}: look what the controller reports"
    ))
}

/// The checks of a reading for a person; those that agree are counted.
pub fn text(line: usize, checks: &[Check]) -> String {
    let mut out = String::new();
    for c in checks {
        let mark = match c.verdict {
            Verdict::Agrees | Verdict::NotTold => continue,
            Verdict::Suspicious => "suspicious",
            Verdict::Odd => "odd",
        };
        let score = c.score.unwrap_or(f64::NAN);
        let (value, unit) = (c.residual.value().unwrap_or(f64::NAN), c.residual.unit);
        let unit = if unit == "1" { String::new() } else { format!(" {unit}") };
        let hint = c.hint.as_deref().unwrap_or_default();
        out.push_str(&engine::text_table::paragraph(&format!(
            "Line {line}, {mark}: \"{}\" is missed by {}{unit}, {score:.1} standard uncertainties; {hint}.",
            c.name,
            engine::text_table::figure(value)
        )));
    }
    let agree = checks.iter().filter(|c| c.verdict == Verdict::Agrees).count();
    let untold: Vec<String> = checks
        .iter()
        .filter(|c| c.verdict == Verdict::NotTold)
        .map(|c| match &c.residual.result {
            Err(why) => format!("{} ({why})", c.name),
            Ok(_) => format!("{} (no uncertainty was told)", c.name),
        })
        .collect();
    let of_untold = match untold.is_empty() {
        true => String::new(),
        false => format!("; not checked: {}", untold.join("; ")),
    };
    let last = format!("Line {line}: {agree} of {} checks agree{of_untold}.", checks.len());
    out.push_str(&engine::text_table::paragraph(&last));
    out
}
