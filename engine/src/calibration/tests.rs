//! A heater whose answers are known in closed form, read at rest and while it warms.

mod at_rest;
mod refused;
mod warming;

use std::path::Path;
use std::rc::Rc;

use super::*;
use crate::analysis::Craft;
use crate::diagnostic::Diagnostics;
use crate::model::Declare;
use crate::part::{Part, PartKind};
use crate::quantity::Kind;
use crate::readings::Layout;
use crate::sampling::Distribution;
use crate::setup::{Params, Setup};
use crate::units::{self, NUMBER, RESISTANCE, TIME};

const CURRENT: Kind = Kind::single("current", "A", "");
const VOLTAGE: Kind = Kind::single("voltage", "V", "");
const WARMTH: Kind = Kind::single("warmth", "1", "");

/// V = R I (1 + warmth); the warmth goes to `gain` times I with a time constant.
struct Heater {
    resistance: f64,
    gain: f64,
    takes: f64,
}

impl Part for Heater {
    fn declare(&self, m: &mut Declare) {
        let Heater { resistance, gain, takes } = *self;
        m.input(&CURRENT, 0.0).within(0.0, 100.0);
        m.state(&WARMTH, 0.0, 1.0);
        m.equation("heater", |e| {
            let (i, w, v, rate) =
                (e.reads(&CURRENT), e.reads(&WARMTH), e.writes(&VOLTAGE), e.rate_of(&WARMTH));
            move |at| {
                at[v] = resistance * at[i] * (1.0 + at[w]);
                at[rate] = (gain * at[i] - at[w]) / takes;
            }
        });
    }
}

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let resistance = p.value("resistance", RESISTANCE, "cold").within(1e-3, 100.0).required();
    let gain = p.value("gain", NUMBER, "warmth per ampere").within(-1.0, 1.0).or("0");
    let takes = p.value("takes", TIME, "time constant").within(1e-3, 1e3).or("2 s");
    let turns = p.count("turns", "number of turns").or(7);
    _ = turns;
    p.part(|| Ok(Heater { resistance, gain, takes }))
}

const KINDS: &[PartKind] = &[PartKind { name: "heater", about: "a heater", read }];
const CONVENTIONS: &[Convention] = &[Convention { kind: "voltage", name: "peak", factor: 0.5 }];

fn setup() -> Setup {
    let text = "setup: 1\nparts:\n  h:\n    part: heater\n    resistance: 2 Ω\n";
    Setup::from_text("heater.yaml", text, Path::new(".")).unwrap()
}

fn craft() -> Craft {
    Craft::new(setup(), KINDS).unwrap()
}

fn told(column: &str, quantity: &str, u: Option<f64>) -> Telling {
    let uncertainty = u.map(|absolute| Uncertainty { absolute, share: 0.0 });
    let (unit, counted, told_in) = (None, None, None);
    Telling {
        column: column.into(),
        quantity: quantity.into(),
        unit,
        counted,
        times: 1.0,
        uncertainty,
        told_in,
    }
}

fn table<'a>(text: &'a str, layout: &'a Layout, tellings: &'a [Telling]) -> Table<'a> {
    Table { file: "h.csv", text, layout, tellings, conventions: CONVENTIONS }
}

fn sought(parameter: &str, set: Option<&str>, known: Distribution, unit: &str) -> Sought {
    let named = |name: &str| units::ALL.iter().flat_map(|d| d.units).find(|u| u.name == name).copied();
    Sought::new(parameter, set, known, named(unit).unwrap(), &setup(), KINDS).unwrap()
}

fn normal(mean: f64, deviation: f64) -> Distribution {
    Distribution::Normal { mean, deviation }
}

fn problem(sets: Vec<Set>, sought: Vec<Sought>) -> Result<Rc<Problem>, Diagnostics> {
    Problem::new(KINDS, |_| Ok(()), setup(), sets, sought).map(Rc::new)
}
