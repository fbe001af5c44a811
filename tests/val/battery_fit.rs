//! The assembled pack fitted in time to curves of a cell, and judged on a curve the fit did not see.
//!
//! Reference: tests/reference/battery. Curves of a porous-electrode model from published parameters, not measurements.

use engine::fit::setup::changed;
use engine::fit::{Fitted, Observation, Options as Search, Scatter, Unknown, fit};
use engine::model::Model;
use engine::run::{Options, Run, Sampler};
use engine::setup::Setup;
use foilborne::PARTS;
use std::path::Path;
use std::sync::Arc;

/// State of charge below which the circuit is not judged.
const LOWEST: f64 = 0.10;

fn reference(file: &str) -> Vec<Vec<f64>> {
    let path = format!("{}/tests/reference/battery/{file}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(&path).expect(&path);
    reader.records().map(|row| row.unwrap().iter().map(|x| x.parse().unwrap()).collect()).collect()
}

/// A curve of current and voltage over time.
struct Curve {
    name: &'static str,
    /// Current at the start, and times at which it changes to what.
    current: (f64, Vec<(f64, f64)>),
    /// Time [s], voltage [V], seconds that it stands for, state of charge.
    rows: Vec<[f64; 4]>,
}

impl Curve {
    fn read(cell: &str, name: &'static str) -> Curve {
        let rows = reference(&format!("{cell}_{name}_25C.csv"));
        let mut changes = Vec::new();
        let mut kept = Vec::new();
        for pair in rows.windows(2) {
            let (before, row) = (&pair[0], &pair[1]);
            // the instant of a step stands twice; its second row stands for no time
            if row[0] > before[0] {
                kept.push([row[0], row[2], row[0] - before[0], row[4]]);
            } else if row[1] != before[1] {
                changes.push((row[0], row[1]));
            }
        }
        Curve { name, current: (rows[0][1], changes), rows: kept }
    }

    /// Rows with more than `lowest` charge.
    fn judged(&self, lowest: f64) -> impl Iterator<Item = (usize, &[f64; 4])> {
        self.rows.iter().enumerate().filter(move |(_, row)| row[3] > lowest)
    }

    /// Voltage of the model at each row, its cells held at 25 °C.
    fn predicted(&self, model: &Arc<Model>) -> Result<Vec<f64>, String> {
        let probe = |name: &str| model.find(name).ok_or(format!("no {name}"));
        let (voltage, warm) = (probe("battery.terminal_voltage")?, probe("battery.cell_temperature")?);
        // 1e-7 leaves 0.4 µV against 1e-12; slopes over steps of 1e-3 need no more
        let options = Options { tolerance: 1e-7, max_step: 300.0, settle: false };
        let mut run = Run::new(model.clone(), options);
        run.hold(warm, engine::profile::Profile::constant(25.0));
        let current = run.input(probe("load.battery_current")?).ok_or("no input")?;
        current.start_at(self.current.0);
        self.current.1.iter().for_each(|&(t, i)| current.change(t, 0.0, i));
        let end = self.rows.last().ok_or("no rows")?[0];
        run.advance(end, &[]).map_err(|error| error.to_string())?;
        let mut sampler = Sampler::new(model, run.trajectory());
        let at = |&[t, ..]: &[f64; 4]| {
            // just before a step, not just after
            sampler.go(t.next_down());
            sampler.value(voltage)
        };
        Ok(self.rows.iter().map(at).collect())
    }

    /// RMS over time and greatest error of a setup \[mV\] above a state of charge, the instant just after a step left out.
    fn error(&self, setup: &Setup, lowest: f64) -> (f64, f64) {
        let predicted = self.predicted(&Arc::new(setup.model(PARTS).unwrap())).unwrap();
        let (mut square, mut weight, mut greatest) = (0.0, 0.0, 0f64);
        for (i, row) in self.judged(lowest) {
            let error = 1e3 * (predicted[i] - row[1]);
            square += row[2] * error * error;
            weight += row[2];
            greatest = greatest.max(error.abs());
        }
        ((square / weight).sqrt(), greatest)
    }
}

/// The cell on its load.
fn demo_cell() -> Setup {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    Setup::load(root.join("scenarios/setups/demo_cell.yaml"), root).unwrap()
}

/// The same with the LFP cell's own open-circuit curve and capacity.
fn lfp_cell() -> Setup {
    let ocv = reference("lfp_prada2013_ocv_25C.csv");
    let column = |k: usize| ocv.iter().map(|row| row[k].to_string()).collect::<Vec<_>>().join(", ");
    let table = format!("{{state_of_charge: [{}], \"voltage [V]\": [{}]}}", column(0), column(1));
    let mut setup = demo_cell();
    setup.change("battery.open_circuit", table, "test").unwrap();
    setup.change("battery.cell_capacity", "2.3035 A·h", "test").unwrap();
    setup
}

/// R₀ on six knots and two constant pairs, within wide bounds (SI); the search begins at round numbers times `factor`.
fn unknowns(factor: f64) -> Vec<Unknown> {
    let unknown = |key: &str, start: f64, low, high| {
        Unknown::new(format!("battery.{key}"), factor * start).between(low, high)
    };
    let ohm = |key: &str, start: f64| unknown(key, start, 1e-3, 0.5);
    vec![
        ohm("cell_resistance", 0.025),
        ohm("resistance_at_10", 0.025),
        ohm("resistance_at_30", 0.025),
        ohm("resistance_at_70", 0.025),
        ohm("resistance_at_90", 0.025),
        ohm("resistance_at_100", 0.025),
        ohm("fast_resistance", 0.015),
        unknown("fast_time", 40.0, 2.0, 300.0),
        ohm("slow_resistance", 0.010),
        unknown("slow_time", 400.0, 50.0, 5000.0),
    ]
}

/// Fits the ten parameters to the curves, each curve counting alike and every second of it alike.
///
/// Two time constants have more than one best place: of three starts the one that fits these curves best is taken,
/// whatever it says of others.
fn fitted(setup: &Setup, curves: &[&Curve]) -> Fitted {
    let mut observations = Vec::new();
    for curve in curves {
        let time: f64 = curve.judged(LOWEST).map(|(_, row)| row[2]).sum();
        for (_, row) in curve.judged(LOWEST) {
            // χ² is then the sum of the curves' mean squares in mV²
            let sd = 1e-3 * (time / row[2]).sqrt();
            let label = format!("{} at {} s", curve.name, row[0]);
            observations.push(Observation { label, value: row[1], sd });
        }
    }
    let predict = |setup: &Setup| {
        let model = Arc::new(setup.model(PARTS).map_err(|told| told.to_string())?);
        let mut all = Vec::new();
        for curve in curves {
            let predicted = curve.predicted(&model)?;
            all.extend(curve.judged(LOWEST).map(|(i, _)| predicted[i]));
        }
        Ok(all)
    };
    // what is left over is the circuit's error, not noise: its size is not known beforehand
    let search = Search {
        step: 1e-3,
        tolerance: 1e-7,
        evaluations: 5000,
        scatter: Scatter::Estimated,
        unfinished: false,
    };
    let from = |factor| {
        let unknowns = unknowns(factor);
        let mut of_values = |x: &[f64]| {
            let values = unknowns.iter().map(|unknown| unknown.name.as_str()).zip(x.iter().copied());
            predict(&changed(setup, PARTS, &values.collect::<Vec<_>>()).map_err(|told| told.to_string())?)
        };
        fit(&unknowns, &observations, &mut of_values, &search).unwrap()
    };
    let found: Vec<Fitted> = [0.4, 1.0, 1.5].map(from).into();
    found.into_iter().min_by(|a, b| a.chi2.total_cmp(&b.chi2)).unwrap()
}

fn with(setup: &Setup, found: &Fitted) -> Setup {
    let names = found.names.iter().map(String::as_str);
    let values: Vec<(&str, f64)> = names.zip(found.values.iter().copied()).collect();
    changed(setup, PARTS, &values).unwrap()
}

fn tell(found: &Fitted, setup: &Setup, curves: &[Curve]) {
    println!("{} predictions, χ² {:.1} mV²", found.evaluations, found.chi2);
    for ((name, value), error) in found.names.iter().zip(&found.values).zip(&found.errors) {
        println!("  {name} {value:.6} ± {error:.6}");
    }
    for curve in curves {
        let told = [LOWEST, 0.25, 0.0].map(|lowest| {
            let (rms, greatest) = curve.error(setup, lowest);
            format!("above {:.0} %: {rms:.1} mV RMS, {greatest:.0} mV at most", 100.0 * lowest)
        });
        println!("  {}: {}", curve.name, told.join("; "));
    }
}

/// Pulses, C/2 and 2C tell what 1C does: tests/reference/battery, Chen et al. 2020.
#[test]
fn val_fitted_to_pulses_half_c_and_two_c_the_cell_foretells_one_c() {
    let curves = ["hppc", "cc_C2", "cc_2C", "cc_1C"].map(|name| Curve::read("nmc_chen2020", name));
    let found = fitted(&demo_cell(), &curves.iter().take(3).collect::<Vec<_>>());
    let setup = with(&demo_cell(), &found);
    tell(&found, &setup, &curves);
    assert!(found.at_bound.is_empty(), "{:?}", found.at_bound);
    // Asked for beforehand: 20 mV is 0.6 % of the voltage, below what a test of thrust scatters by. The last curve
    // is the one the fit did not see. The default cell, fitted to pulses alone, fails this at 1C and 2C.
    for curve in &curves {
        let (rms, _) = curve.error(&setup, LOWEST);
        assert!(rms < 20.0, "{}: {rms} mV RMS", curve.name);
    }
    // the setup that ships holds these values, rounded to four digits: far less than 0.1 mV
    for curve in &curves {
        let (shipped, fresh) = (curve.error(&demo_cell(), LOWEST).0, curve.error(&setup, LOWEST).0);
        assert!((shipped - fresh).abs() < 0.1, "{}: {shipped} and {fresh} mV RMS", curve.name);
    }
}

/// The default cell's constants, found by another program from the same pulses, come back.
#[test]
fn regress_pulses_alone_give_the_default_cell() {
    use foilborne::battery::nmc_chen2020::{FAST, R0, SLOW};
    let curves = ["hppc", "cc_1C", "cc_2C"].map(|name| Curve::read("nmc_chen2020", name));
    let found = fitted(&demo_cell(), &[&curves[0]]);
    let setup = with(&demo_cell(), &found);
    tell(&found, &setup, &curves);
    let knots = [2, 0, 1, 3, 4, 5].map(|k| R0[k].1);
    let pairs = [FAST.0, FAST.0 * FAST.1, SLOW.0, SLOW.0 * SLOW.1];
    for ((name, value), known) in found.names.iter().zip(&found.values).zip(knots.into_iter().chain(pairs)) {
        // that fit put the curve on a grid of one second: 0.4 % at full charge, where only one pulse tells
        assert!((value / known - 1.0).abs() < 5e-3, "{name}: {value} for {known}");
    }
    // pulses of 1C do not show what 2C does: 20.2 and 51.4 mV, to what 0.4 % of R₀ moves
    let (one, two) = (curves[1].error(&setup, LOWEST).0, curves[2].error(&setup, LOWEST).0);
    assert!((one - 20.2).abs() < 0.2 && (two - 51.4).abs() < 0.4, "{one} and {two} mV RMS");
}

/// Prada et al. 2013 as found: the same circuit does **not** foretell this cell at 1C.
#[test]
fn regress_lfp_as_found() {
    let curves = ["hppc", "cc_C2", "cc_1C"].map(|name| Curve::read("lfp_prada2013", name));
    let found = fitted(&lfp_cell(), &[&curves[0], &curves[1]]);
    let setup = with(&lfp_cell(), &found);
    tell(&found, &setup, &curves);
    let (all, upper) = (curves[2].error(&setup, LOWEST).0, curves[2].error(&setup, 0.25).0);
    // the best place is flat: two starts that end within 1 % of χ² differ by some millivolts here
    assert!((all - 88.0).abs() < 5.0 && (upper - 32.0).abs() < 3.0, "{all} and {upper} mV RMS");
}
