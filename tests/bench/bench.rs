//! A bench that is made up: readings as a drive would give them whose parameters are drawn from
//! what is known of them, with scatter as it is told.

use std::path::Path;

use engine::analysis::Craft;
use engine::calibration::{Problem, Set, Sought, Table, Taken, Telling, Uncertainty};
use engine::readings::Layout;
use engine::sampling::{Distribution, Draws, Scheme};
use engine::setup::Setup;
use engine::units::{self, Unit};
use foilborne::PARTS;
use foilborne::workbench::practice::PRACTICE;

/// An instrument: one column.
#[derive(Debug, Clone, PartialEq)]
pub struct Instrument {
    /// Heading without its unit; one of its own for each.
    pub heading: &'static str,
    /// Quantity of the model.
    pub quantity: &'static str,
    /// Unit it is written in.
    pub unit: &'static str,
    /// Standard uncertainty in that unit, and as a share of the reading.
    pub u: (f64, f64),
    /// Decimals that are written.
    pub decimals: usize,
    /// Name of a convention.
    pub counted: Option<&'static str>,
}

/// Something that is not known.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// Parameter of the setup.
    pub parameter: &'static str,
    /// Name of the set whose own it is; all share it if there is none.
    pub set: Option<&'static str>,
    /// What is known of it, in the unit.
    pub before: Distribution,
    /// Unit, as in "21 mΩ".
    pub unit: &'static str,
}

/// Propellers, throttles, instruments and what is known beforehand.
#[derive(Debug, Clone, PartialEq)]
pub struct Bench {
    /// Setup, from the project folder.
    pub setup: &'static str,
    /// What is changed in it for all sets.
    pub changes: Vec<(&'static str, &'static str)>,
    /// Name of each set and what is changed in the setup for it.
    pub sets: Vec<(&'static str, Vec<(&'static str, &'static str)>)>,
    /// Throttles, %.
    pub throttles: Vec<f64>,
    /// Readings at each.
    pub repeats: usize,
    /// Columns.
    pub instruments: Vec<Instrument>,
    /// What is to be found.
    pub unknowns: Vec<Known>,
    /// Factor on all standard uncertainties, of scatter and as they are told.
    pub noise: f64,
}

/// A line of the table before it is written: in the units of the columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Set it belongs to.
    pub set: &'static str,
    /// Throttle, %.
    pub throttle: f64,
    /// What the instruments show, in their order.
    pub shown: Vec<f64>,
}

/// What was drawn.
pub struct Drawn {
    /// True values of what is to be found, SI.
    pub truth: Vec<f64>,
    /// The table as it was written.
    pub text: String,
    /// Readings and unknowns, ready to be fitted.
    pub problem: Problem,
}

fn instrument(
    heading: &'static str,
    quantity: &'static str,
    unit: &'static str,
    u: (f64, f64),
    decimals: usize,
) -> Instrument {
    let counted = (quantity == "motor_current").then_some("phase rms");
    Instrument { heading, quantity, unit, u, decimals, counted }
}

impl Bench {
    /// The demo drive with two propellers, as in scenarios/bench/tub_test.rhai but with fewer throttles.
    pub fn demo() -> Bench {
        let log = |median, factor| Distribution::LogNormal { median, factor };
        let normal = |mean, deviation| Distribution::Normal { mean, deviation };
        let known = |parameter, before, unit| Known { parameter, set: None, before, unit };
        Bench {
            setup: "scenarios/setups/demo_rig.yaml",
            changes: vec![],
            sets: vec![("165 mm", vec![]), ("140 mm", vec![("propeller.diameter", "140 mm")])],
            throttles: vec![30.0, 55.0, 90.0],
            repeats: 2,
            instruments: vec![
                instrument("scale", "scale_reading", "kg", (0.25, 0.0), 2),
                instrument("volts", "bus_voltage", "V", (0.08, 0.0), 2),
                instrument("pack amps", "battery_current", "A", (0.2, 0.008), 1),
                instrument("motor amps", "motor_current", "A", (0.16, 0.008), 1),
                instrument("rpm", "shaft_speed", "rpm", (3.0, 0.003), 0),
            ],
            unknowns: vec![
                known("motor.resistance", log(21.0, 1.2), "mΩ"),
                known("motor.speed_constant", log(115.0, 1.03), "rpm/V"),
                known("battery.interconnect", log(5.0, 1.8), "mΩ"),
                known("lever.scale_arm", normal(800.0, 1.0), "mm"),
                known("propeller.pitch_ratio", normal(0.75, 0.05), ""),
            ],
            noise: 1.0,
        }
    }

    /// A draw: truth, scatter and readings follow from the seed.
    pub fn draw(&self, seed: u64) -> Drawn {
        self.draw_with(seed, |_| ())
    }

    /// A draw in which somebody does something to what the instruments show before it is written.
    pub fn draw_with(&self, seed: u64, spoil: impl FnOnce(&mut [Line])) -> Drawn {
        let mut lines = self.blank();
        let truth_from = self.problem(&self.text(&lines));
        let chance = Chance::new(seed, self.unknowns.len() + lines.len() * self.instruments.len());
        let truth: Vec<f64> = self
            .unknowns
            .iter()
            .enumerate()
            .map(|(j, known)| unit(known.unit).si(known.before.quantile(chance.unit(j))))
            .collect();
        let predicted = truth_from.predict(&truth).expect("the demo drive turns at what is known of it");
        for (place, (site, value)) in truth_from.sites().iter().zip(&predicted).enumerate() {
            let set = &truth_from.sets[site.set];
            let channel = &set.channels[site.spot.channel];
            let column = &set.readings.columns[channel.column];
            let (i, instrument) = self
                .instruments
                .iter()
                .enumerate()
                .find(|(_, instrument)| instrument.heading == column.name)
                .expect("every column is an instrument's");
            let shown = column.unit.of(value / channel.factor);
            let u = self.noise * instrument.u.0.hypot(instrument.u.1 * shown);
            lines[site.spot.row].shown[i] = shown + u * chance.normal(self.unknowns.len() + place);
        }
        spoil(&mut lines);
        let text = self.text(&lines);
        let problem = self.problem(&text);
        Drawn { truth, text, problem }
    }

    /// Lines with nothing but a one in every cell.
    pub fn blank(&self) -> Vec<Line> {
        let mut lines = Vec::new();
        for (set, _) in &self.sets {
            for &throttle in &self.throttles {
                let one = Line { set, throttle, shown: vec![1.0; self.instruments.len()] };
                lines.extend(std::iter::repeat_n(one, self.repeats));
            }
        }
        lines
    }

    /// Lines as a table.
    pub fn text(&self, lines: &[Line]) -> String {
        let heads = self.instruments.iter().map(|i| format!(",{} [{}]", i.heading, i.unit));
        let mut text = format!("propeller,throttle [%]{}\n", heads.collect::<String>());
        for line in lines {
            let cells = line.shown.iter().zip(&self.instruments).map(|(x, i)| format!(",{x:.*}", i.decimals));
            text.push_str(&format!("{},{}{}\n", line.set, line.throttle, cells.collect::<String>()));
        }
        text
    }

    /// The problem that a table makes.
    pub fn problem(&self, text: &str) -> Problem {
        let telling = |instrument: &Instrument| {
            let unit = unit(instrument.unit);
            Telling {
                column: instrument.heading.into(),
                quantity: instrument.quantity.into(),
                unit: None,
                counted: instrument.counted.map(Into::into),
                times: 1.0,
                uncertainty: Some(Uncertainty {
                    absolute: self.noise * instrument.u.0 * unit.factor,
                    share: self.noise * instrument.u.1,
                }),
                told_in: None,
            }
        };
        let throttle = Telling {
            column: "throttle".into(),
            quantity: "throttle".into(),
            unit: None,
            counted: None,
            times: 1.0,
            uncertainty: None,
            told_in: None,
        };
        let tellings: Vec<Telling> =
            std::iter::once(throttle).chain(self.instruments.iter().map(telling)).collect();
        let layout = Layout { group: Some("propeller".into()), ..Layout::default() };
        let table = Table {
            file: "bench.csv",
            text,
            layout: &layout,
            tellings: &tellings,
            conventions: PRACTICE.conventions,
        };
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        let mut base = Setup::load(root.join(self.setup), root).expect("a setup of the project");
        for (path, value) in &self.changes {
            base.change(path, *value, path).expect("a parameter of the setup");
        }
        let set = |(name, changes): &(&'static str, Vec<(&'static str, &'static str)>)| {
            let mut setup = base.clone();
            for (path, value) in changes {
                setup.change(path, *value, path).expect("a parameter of the setup");
            }
            let craft = Craft::new(setup, PARTS).expect("a setup that fits");
            Set::read(name, craft, table, Taken::Steady).unwrap_or_else(|told| panic!("{told:?}\n{text}"))
        };
        let sets: Vec<Set> = self.sets.iter().map(set).collect();
        let sought = |known: &Known| {
            let unit = unit(known.unit);
            Sought::new(known.parameter, known.set, known.before, unit, &base, PARTS).expect("a parameter")
        };
        let sought = self.unknowns.iter().map(sought).collect();
        Problem::new(PARTS, PRACTICE.rest, base.clone(), sets, sought).expect("a problem")
    }
}

fn unit(name: &str) -> Unit {
    units::parse_any(&format!("1 {name}")).expect("a unit").1
}

/// Numbers that follow from a seed.
pub struct Chance(Vec<f64>);

impl Chance {
    /// So many of them.
    pub fn new(seed: u64, size: usize) -> Chance {
        let draws = Draws::new(Scheme::Random { n: 1 }, size, seed).expect("one point");
        let mut unit = vec![0.0; size];
        draws.at(0, &mut unit);
        Chance(unit)
    }

    /// Between 0 and 1.
    pub fn unit(&self, place: usize) -> f64 {
        self.0[place]
    }

    /// Normal, of mean 0 and standard deviation 1.
    pub fn normal(&self, place: usize) -> f64 {
        Distribution::Normal { mean: 0.0, deviation: 1.0 }.quantile(self.0[place])
    }
}
