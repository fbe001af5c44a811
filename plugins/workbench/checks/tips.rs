//! What turning tips off ought to do to thrust and torque at the same shaft speed, at rest.

use engine::analysis::Craft;
use engine::diagnostic::Diagnostics;
use engine::part::PartKind;

use super::super::thrust::anywhere_within;
use crate::steady::cut::blades::Blades;
use crate::steady::tub::bench::Bench;

/// Exponents of D where no blade is known, middle and half-width: for thrust, by the B-series with the area that the
/// outline leaves, 2 to 10 % off three to five blades, area ratio 0.4 to 0.7, P/D 0.6 to 1.2, at rest. A_E/A_0 rises as
/// P/D does, for the tip holds little of the area. Anywhere within is taken as equally likely.
///
/// # Source
/// Own computation (tests/val/bench.rs); **no measurement of a cut propeller was found**. Propellers that are scaled as a
/// whole have 4 and 5 instead.
pub const THRUST_EXPONENT: (f64, f64) = (2.57, 0.27);
/// As [`THRUST_EXPONENT`], for torque.
pub const TORQUE_EXPONENT: (f64, f64) = (2.67, 0.46);
/// By how much a cut blade may go another way than the series propeller that stands for it: the usual range of
/// `cut_thrust_exponent` and `cut_torque_exponent`, an assumption without a source; anywhere within is taken as equally likely.
pub const DOUBT: f64 = 0.5;

/// Exponents of D with their standard uncertainties.
#[derive(Debug, Clone, PartialEq)]
pub struct Expected {
    /// For thrust.
    pub thrust: (f64, f64),
    /// For torque.
    pub torque: (f64, f64),
    /// Why they are not those of the blade itself.
    pub unknown: Option<String>,
}

impl Expected {
    /// Where no blade is known, for this reason.
    pub fn of_any_blade(why: &str) -> Expected {
        let of = |(middle, half): (f64, f64)| (middle, anywhere_within(half).hypot(anywhere_within(DOUBT)));
        Expected { thrust: of(THRUST_EXPONENT), torque: of(TORQUE_EXPONENT), unknown: Some(why.into()) }
    }

    /// Of a craft's own blade, its tips turned off until the diameter is `smaller` \[m\]; of any blade if there is none.
    pub fn of(craft: &Craft, kinds: &[PartKind], smaller: f64) -> Expected {
        let known = |told: Diagnostics| Expected::of_any_blade(&told.in_short());
        of_blade(craft, kinds, smaller).map_err(known).unwrap_or_else(|any| any)
    }
}

/// T/ω², Q/ω² and D at rest, the throttle wide open.
fn loads(craft: &Craft) -> Result<[f64; 3], Diagnostics> {
    let bench = Bench::new(craft)?;
    let p = &bench.probes;
    let mut run = bench.steady(1.0);
    let omega = run.value(p.shaft_speed);
    let mut read = |probe: Option<_>| probe.map_or(f64::NAN, |probe| run.value(probe));
    Ok([read(Some(p.thrust)) / (omega * omega), read(p.torque) / (omega * omega), read(p.diameter)])
}

fn of_blade(craft: &Craft, kinds: &[PartKind], smaller: f64) -> Result<Expected, Diagnostics> {
    let blades = Blades::of(craft, kinds)?;
    let removed = match &blades.already {
        None => 0.0,
        Some((way, removed)) if way == "tip" => *removed,
        Some((way, _)) => {
            return Ok(Expected::of_any_blade(&format!("its blade has been cut already: {way}")));
        }
    };
    let [thrust, torque, diameter] = loads(craft)?;
    let mut setup = craft.setup.clone();
    setup.change(&format!("{}.cut", blades.part), "tip", "tips turned off")?;
    let off = format!("{}.removed", blades.part);
    setup.change(&off, removed + 0.5 * (diameter - smaller), "tips turned off")?;
    let [less_thrust, less_torque, left] = loads(&Craft::new(setup, kinds)?)?;
    let exponent = |whole: f64, less: f64| (less / whole).ln() / (left / diameter).ln();
    let (t, q) = (exponent(thrust, less_thrust), exponent(torque, less_torque));
    if !(t.is_finite() && q.is_finite()) {
        return Ok(Expected::of_any_blade("its blade gives no thrust and torque to compare"));
    }
    let u = anywhere_within(DOUBT);
    Ok(Expected { thrust: (t, u), torque: (q, u), unknown: None })
}
