//! How warm a drive gets when it is held at a throttle from cold.

use engine::model::{Model, Probe};
use engine::quantity::Kind;
use engine::run::{RangeWarning, Run, Sampler};

use super::bench::Bench;
use crate::nomenclature::*;
use crate::verdict::limits::{BINDING, name};

/// Longest time between two looks at the record, s: how exactly a limit's time is known.
const SPACING: f64 = 0.02;
/// Most looks at one record; a long run is looked at less often.
const LOOKS: f64 = 20_000.0;

/// Looks for the greatest temperatures, which come and go within minutes.
const LEAST_LOOKS: f64 = 500.0;

/// What a time at one throttle has done.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Heat {
    /// Greatest temperatures on the way, °C.
    pub winding: Option<f64>,
    pub case: Option<f64>,
    pub controller: Option<f64>,
    pub cells: Option<f64>,
    /// When a limit on temperature first took current back, s, and its name.
    pub reached: Option<(f64, String)>,
    /// When the pack's protection opened, s.
    pub opened: Option<f64>,
    /// Why the run could not be made to its end.
    pub broke: Option<String>,
    /// Ranges that were left, as `part: message`.
    pub warnings: Vec<String>,
}

impl Heat {
    /// Holds a throttle for so long, from cold, the craft at rest.
    pub fn after(bench: &Bench, throttle: f64, lasting: f64) -> Heat {
        let begin = bench.begin();
        let mut run = bench.run(throttle);
        let broke = run.advance(begin + lasting, &[]).err().map(|error| error.to_string());
        let model = run.model().clone();
        let mut sampler = Sampler::new(&model, run.trajectory());
        // the greatest on the way: a pack that runs empty lets everything cool again
        let mut greatest = |kind: &Kind| {
            let probe = model.providers(kind.name).first().copied()?;
            let mut most = f64::NEG_INFINITY;
            sampler.walk_from(begin, lasting / LEAST_LOOKS, |_, s| most = most.max(s.value(probe)));
            Some(most).filter(|t| t.is_finite())
        };
        let mut heat = Heat {
            winding: greatest(&WINDING_TEMPERATURE),
            case: greatest(&CASE_TEMPERATURE),
            controller: greatest(&CONTROLLER_TEMPERATURE),
            cells: greatest(&CELL_TEMPERATURE),
            broke,
            ..Heat::default()
        };
        heat.look(&model, &run, bench, lasting);
        let part = |p: Probe| model.name(p).split('.').next().unwrap_or_default();
        let of_drive = |w: &RangeWarning| bench.drive.iter().any(|name| name == part(w.quantity));
        let told = |w: RangeWarning| format!("{}: {}", part(w.quantity), w.message);
        heat.warnings = run.warnings().into_iter().filter(of_drive).map(told).collect();
        heat
    }

    fn look(&mut self, model: &Model, run: &Run, bench: &Bench, lasting: f64) {
        let begin = bench.begin();
        let hot: Vec<(Probe, String)> = bench
            .probes
            .limits
            .iter()
            .map(|&p| (p, name(model, p)))
            .filter(|(_, name)| name.ends_with("temperature"))
            .collect();
        let tripped = model.providers(TRIPPED.name).first().copied();
        let mut sampler = Sampler::new(model, run.trajectory());
        let (mut reached, mut opened) = (None, None);
        sampler.walk_from(begin, SPACING.max(lasting / LOOKS), |t, s| {
            // the moment in which the craft settled is no part of it
            if t <= begin {
                return;
            }
            if reached.is_none() {
                let limit = hot.iter().find(|(p, _)| s.value(*p) > -BINDING);
                reached = limit.map(|(_, name)| (t - begin, name.clone()));
            }
            if opened.is_none() && tripped.is_some_and(|p| s.value(p) > 0.5) {
                opened = Some(t - begin);
            }
        });
        (self.reached, self.opened) = (reached, opened);
    }
}
