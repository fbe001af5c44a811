//! When to stop, from the setup's own limits.

use engine::diagnostic::Diagnostics;
use engine::model::Probe;
use engine::quantity::Kind;
use engine::root;
use engine::run::Run;
use serde_json::{Value, json};

use super::super::rig::turned::Turned;
use super::super::rig::{SHARES, scan};
use super::super::tub::bench::Bench;
use super::Line;
use crate::lever::SCALE_READING;
use crate::nomenclature::{CONTROLLER_TEMPERATURE, WINDING_TEMPERATURE};

/// Cells are rated up to this temperature, as the battery's own warning has it; the maker's limit comes first [°C].
pub(in crate::steady) const CELLS: f64 = 60.0;
/// A current this share above its limit is no limit any more (common practice, no source).
const OVER: f64 = 0.05;
/// Ends of the rig that are told.
const ENDS: usize = 3;

/// A reason to stop.
pub struct Stop {
    /// In words, to go after "Stop if".
    pub words: String,
    /// What it is about, for a machine.
    pub of: &'static str,
    /// The number behind it, with its unit; none where it is a matter of sense.
    pub at: Option<(f64, &'static str)>,
}

impl Stop {
    fn new(of: &'static str, words: String, at: Option<(f64, &'static str)>) -> Stop {
        Stop { words, of, at }
    }

    /// For a machine.
    pub fn value(&self) -> Value {
        json!({"of": self.of, "at": self.at.map(|(x, _)| x), "unit": self.at.map(|(_, unit)| unit), "words": self.words})
    }
}

/// Reasons to stop, the rig's first.
pub(super) fn stops(
    turned: &Turned,
    now: &Bench,
    lines: &[Line],
    off: f64,
) -> Result<Vec<Stop>, Diagnostics> {
    let mut all = rig(turned)?;
    for (kind, what) in [(&WINDING_TEMPERATURE, "winding"), (&CONTROLLER_TEMPERATURE, "controller")] {
        if let Some(from) = fold_back(now.run(1.0), now.probes.motor_current_max, kind) {
            let words = format!(
                "the {what} is above {from:.0} °C (there the controller begins to take current back)"
            );
            all.push(Stop::new(what, words, Some((from, "°C"))));
        }
    }
    all.push(Stop::new(
        "cells",
        format!("a cell is above {CELLS:.0} °C, or the maker's limit if lower"),
        Some((CELLS, "°C")),
    ));
    if let Some(r) = lines.last().map(|line| &line.reading) {
        if r.voltage_min > 0.0 {
            let words = format!("the voltage at the controller is below {:.1} V", r.voltage_min);
            all.push(Stop::new("voltage", words, Some((r.voltage_min, "V"))));
        }
        let battery = (1.0 + OVER) * r.battery_current_max;
        let words =
            format!("the battery current is above {battery:.0} A (limit {:.0} A)", r.battery_current_max);
        all.push(Stop::new("battery current", words, Some((battery, "A"))));
    }
    let most = lines.iter().map(|line| line.limit).fold(0.0, f64::max);
    let (motor, dc) = ((1.0 + OVER) * most, (1.0 + OVER) * most * turned.dc);
    let counted =
        if (turned.dc - 1.0).abs() < 1e-6 { String::new() } else { format!(", {dc:.0} A DC-equivalent") };
    let words = format!(
        "the motor current is above {motor:.0} A as the controller counts{counted} (limit {most:.0} A)"
    );
    all.push(Stop::new("motor current", words, Some((dc, "A"))));
    let words = format!(
        "scale, a current, volts or rpm are off their expectation by more than {:.0} %: look for the reason before going on",
        100.0 * off
    );
    all.push(Stop::new("expectation", words, Some((off, "1"))));
    let words = "anything shakes, smells, hisses, leaks or bends, the scale creeps, or the propeller draws air \
                 (common practice, no source)";
    all.push(Stop::new("senses", words.into(), None));
    Ok(all)
}

/// The first ends of the rig's margins as the motor-current limit is turned up at full throttle.
fn rig(turned: &Turned) -> Result<Vec<Stop>, Diagnostics> {
    if turned.names.is_empty() {
        return Ok(Vec::new());
    }
    let places = SHARES.map(|share| turned.allowed(share * turned.present));
    let scan = scan(&turned.names, places.into_iter(), |limit| {
        turned.at_limit(limit).and_then(|bench| turned.state(&bench, limit, 1.0))
    })?;
    let mut all = Vec::new();
    for end in scan.crossings.iter().take(ENDS) {
        let r = &end.reading;
        let shown = turned.at_limit(end.at).ok().and_then(|bench| {
            let mut run = bench.steady(1.0);
            let probe: Probe = run.model().providers(SCALE_READING.name).first().copied()?;
            Some(run.value(probe)).filter(|x| x.is_finite())
        });
        let scale = shown.map_or_else(String::new, |kg| format!("the scale shows {kg:.1} kg, "));
        let own = r.motor_current / turned.dc;
        let words = format!(
            "{scale}the pull is {:.0} N, the motor takes {own:.0} A as the controller counts or the battery gives {:.0} A: \
             {} is at its end there",
            r.net_thrust, r.battery_current, end.name
        );
        all.push(Stop::new("rig", words, Some((r.net_thrust, "N"))));
    }
    Ok(all)
}

/// Temperature from which the motor-current limit (`allowed`) of a run falls [°C], found by warming one node while all else stays cold;
/// `None` where it does not up to 200 °C.
pub(in crate::steady) fn fold_back(mut run: Run, allowed: Probe, kind: &Kind) -> Option<f64> {
    let probe = run.model().providers(kind.name).first().copied()?;
    let cold = run.value(probe);
    let most = run.value(allowed);
    let mut left = |temperature: f64| {
        run.place(probe, temperature);
        // a thousandth below: within half a kelvin of the corner, which is rounded
        run.value(allowed) - 0.999 * most
    };
    let hot = 200.0;
    (cold < hot && left(hot) < 0.0).then(|| root::bracketed(&mut left, cold, hot)).flatten()
}
