//! A load that draws a set current from the pack: a dummy load or cell tester on the bench.

pub mod terminals;

use engine::model::{Declare, Then, Trigger};
use engine::part::{Part, PartKind};
use engine::quantity::Kind;
use engine::setup::Params;
use engine::units::CURRENT;

use crate::nomenclature::{
    BATTERY_CURRENT, BATTERY_EMF, BATTERY_RESISTANCE, CABLE_RESISTANCE, ENERGY_SINK, TRIPPED,
};

/// Entry in the list of parts.
pub const PART: PartKind = PartKind {
    name: "load",
    about: "draws a set current from the battery, in place of controller and motor: a pack tested alone",
    read,
};

/// V at the load.
pub const LOAD_VOLTAGE: Kind = Kind::single("load_voltage", "V", "voltage at the load, after the cables");
/// P of the load.
pub const LOAD_POWER: Kind =
    Kind::single("load_power", "W", "power that the load takes up, negative when it charges the pack");

/// Largest current that can be set, either way \[A\].
const MOST: f64 = 2000.0;

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let current = p
        .value("current", CURRENT, "current drawn from the pack at the start, negative to charge it")
        .within(-MOST, MOST)
        .or("0 A");
    p.part(|| Ok(Load { current }))
}

struct Load {
    current: f64,
}

impl Part for Load {
    fn declare(&self, m: &mut Declare) {
        m.input(&BATTERY_CURRENT, self.current).within(-MOST, MOST);
        m.equation("terminals", |e| {
            let current = e.reads(&BATTERY_CURRENT);
            let (emf, resistance) = (e.reads(&BATTERY_EMF), e.reads(&BATTERY_RESISTANCE));
            let cables = e.reads_or(&CABLE_RESISTANCE, 0.0);
            let (voltage, power) = (e.writes(&LOAD_VOLTAGE), e.writes(&LOAD_POWER));
            let taken = e.adds_as(&ENERGY_SINK, "load");
            move |at| {
                let i = at[current];
                at[voltage] = terminals::voltage(at[emf], at[resistance] + at[cables], i);
                at[power] = at[voltage] * i;
                at[taken] = at[power];
            }
        });
        // a set current cannot go on once the pack has opened, and the load must not claim that it does
        m.event("the pack has opened: no current any more", |e| {
            let tripped = e.reads_or(&TRIPPED, 0.0);
            Trigger::rising(move |at| at[tripped] - 0.5, |_| Then::Stop)
        });
        m.watch(
            &BATTERY_CURRENT,
            0.0,
            MOST,
            "charging: the pack answers with the resistances of discharge; the makers' limits of voltage, current and \
             temperature are not known here, and frozen cells must not be charged",
        );
        m.watch(
            &LOAD_VOLTAGE,
            0.0,
            f64::INFINITY,
            "the pack cannot give this current: no voltage is left at the load",
        );
    }
}

#[cfg(test)]
mod tests {
    use crate::PARTS;
    use crate::nomenclature::{ENERGY_SINK, ENERGY_SOURCE, ENERGY_STORE};
    use engine::model::Model;
    use engine::run::{Options, Pause, Run, Sampler};
    use engine::setup::Setup;
    use std::path::Path;
    use std::sync::Arc;

    /// The cell on its load, changed.
    fn cell(changes: &[(&str, &str)]) -> Run {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        let mut setup = Setup::load(root.join("scenarios/setups/demo_cell.yaml"), root).unwrap();
        for (path, text) in changes {
            setup.change(path, *text, "test").unwrap();
        }
        Run::new(Arc::new(setup.model(PARTS).unwrap()), Options::default())
    }

    /// What the ledger of a run up to `end` does not account for, of what came in \[J\].
    fn error(run: &Run, end: f64) -> (f64, f64) {
        let model: &Model = run.model();
        let mut sampler = Sampler::new(model, run.trajectory());
        let mut sum = |kind: &str, integrated: bool, t: f64| -> f64 {
            sampler.go(t);
            let names = model.contributions(kind).into_iter().map(|p| match integrated {
                true => format!("integral.{}", model.name(p)),
                false => model.name(p).to_owned(),
            });
            names.map(|name| sampler.value(model.find(&name).unwrap())).sum()
        };
        let source = sum(ENERGY_SOURCE.name, true, end);
        let sink = sum(ENERGY_SINK.name, true, end);
        let store = sum(ENERGY_STORE.name, false, end) - sum(ENERGY_STORE.name, false, 0.0);
        (source - sink - store, source)
    }

    #[test]
    fn the_ledger_closes_over_discharge_rest_and_charge() {
        let mut run = cell(&[]);
        let current = run.model().find("load.battery_current").unwrap();
        let profile = run.input(current).unwrap();
        for (t, i) in [(0.0, 5.0), (900.0, 0.0), (1200.0, -3.0), (1500.0, 2.0)] {
            profile.change(t, 0.0, i);
        }
        assert_eq!(run.advance(2000.0, &[]), Ok(Pause::Time));
        let (error, source) = error(&run, 2000.0);
        // five A for 900 s at some 4 V and no more than that
        assert!(source > 1.5e4 && source < 2.2e4, "{source} J");
        // the tolerance of runs, 1e-6 a step, against the size of an entry
        assert!((error / source).abs() < 1e-8, "{error} J of {source} J");
        let charge = run.model().find("battery.charge_drawn").unwrap();
        // 5·900 − 3·300 + 2·500 A·s, to the same accuracy
        assert!((run.value(charge) - 4600.0).abs() < 1e-4);
        assert!(run.warnings().iter().any(|w| w.message.starts_with("charging") && w.first >= 1200.0));
    }

    #[test]
    fn the_run_ends_when_the_pack_opens() {
        let mut run =
            cell(&[("battery.trip_current", "8 A"), ("battery.trip_time", "3 s"), ("load.current", "9 A")]);
        assert_eq!(run.advance(60.0, &[]), Ok(Pause::Ended));
        // above the threshold from the start
        assert!((run.time() - 3.0).abs() < 1e-6, "{}", run.time());
    }

    #[test]
    fn a_current_beyond_the_cells_data_is_warned_of_once_with_its_range() {
        // twice 5.1532 A·h an hour, or what the setup says
        let warned = |changes: &[(&str, &str)]| {
            let mut run = cell(changes);
            run.advance(30.0, &[]).unwrap();
            run.warnings().iter().filter(|w| w.message.contains("cell's data come from")).count()
        };
        assert_eq!(warned(&[("load.current", "10.2 A")]), 0);
        assert_eq!(warned(&[("load.current", "10.4 A")]), 1);
        assert_eq!(warned(&[("load.current", "10.4 A"), ("battery.data_up_to", "15 A")]), 0);
        assert_eq!(warned(&[("load.current", "10.4 A"), ("battery.strings_in_parallel", "2")]), 0);
    }

    #[test]
    fn more_than_the_pack_can_give_is_told() {
        let mut run = cell(&[("load.current", "400 A")]);
        run.advance(1.0, &[]).unwrap();
        assert!(run.warnings().iter().any(|w| w.message.contains("cannot give this current")));
        let voltage = run.model().find("load.load_voltage").unwrap();
        assert!(run.value(voltage).is_finite());
    }
}
