//! Setups that were fitted.

use super::super::setup::{changed, dimension, fit_setup, written};
use super::*;
use crate::model::Declare;
use crate::part::{Part, PartKind};
use crate::setup::{Params, Setup};
use crate::units::{FRACTION, LENGTH, PER_KELVIN, RESISTANCE, TEMPERATURE};
use std::cell::RefCell;

thread_local! {
    static READ: RefCell<Vec<f64>> = const { RefCell::new(Vec::new()) };
}

struct Coil;

impl Part for Coil {
    fn declare(&self, _: &mut Declare) {}
}

fn read_coil(p: &mut Params) -> Option<Box<dyn Part>> {
    let resistance = p.value("resistance", RESISTANCE, "at 20 °C").within(1e-4, 10.0).required();
    let slope = p.value("slope", PER_KELVIN, "with temperature").or("0.393 %/K");
    let loss = p.value("loss", FRACTION, "a share").or("3 %");
    let warm = p.value("warm", TEMPERATURE, "temperature").or("18 °C");
    let length = p.value("length", LENGTH, "length").or("250 mm");
    let turns = p.count("turns", "number of turns").or(7);
    p.part(|| {
        let values = vec![resistance, slope, loss, warm, length, f64::from(turns)];
        READ.with(|read| read.replace(values));
        Ok(Coil)
    })
}

const KINDS: &[PartKind] = &[PartKind { name: "coil", about: "a coil", read: read_coil }];

fn values(setup: &Setup) -> Result<Vec<f64>, String> {
    setup.read_parts(KINDS).map_err(|e| e.to_string())?;
    Ok(READ.with(|read| read.borrow().clone()))
}

/// Resistances read at 20, 40 … 100 °C.
fn predict(setup: &Setup) -> Result<Vec<f64>, String> {
    let v = values(setup)?;
    Ok((0..5).map(|i| v[0] * (1.0 + v[1] * 20.0 * f64::from(i)) + 1e-3 * v[3]).collect())
}

struct Folder(std::path::PathBuf);

impl Folder {
    fn new(name: &str) -> Folder {
        let path = std::env::temp_dir().join(format!("foilborne-fit-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        std::fs::write(path.join("base.yaml"), BASE).unwrap();
        Folder(path)
    }

    fn load(&self, file: &str) -> Setup {
        Setup::load(self.0.join(file), &self.0).unwrap()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        std::fs::remove_dir_all(&self.0).unwrap();
    }
}

const BASE: &str =
    "setup: 1\ntitle: \"Coil: two\"\nparts:\n  left:\n    part: coil\n    resistance: 20 mΩ\n    turns: 9\n";

#[test]
fn what_was_found_is_written_and_reads_back_to_the_last_digit() {
    let folder = Folder::new("written");
    let setup = folder.load("base.yaml");
    let truth = changed(&setup, KINDS, &[("left.resistance", 0.0234), ("left.slope", 0.0041)]).unwrap();
    let y: Vec<f64> = predict(&truth).unwrap().iter().zip(noise(5, 9)).map(|(y, e)| y + 1e-4 * e).collect();
    let unknowns = [
        Unknown::new("left.resistance", 0.02),
        Unknown::new("left.slope", 0.004).about(0.0039, 0.0004),
        Unknown::new("left.loss", 0.03).between(0.0, 1.0).about(0.03, 0.01),
        Unknown::new("left.warm", 18.0).about(18.0, 0.2),
    ];
    let found =
        fit_setup(&setup, KINDS, &unknowns, &observed(&y, 1e-4), &mut predict, &Options::default()).unwrap();
    // four standard errors
    assert!((found.values[0] - 0.0234).abs() < 4.0 * found.errors[0], "{found:?}");
    let text = written(&found, &setup, KINDS, "base.yaml").unwrap();
    std::fs::write(folder.0.join("fitted.yaml"), &text).unwrap();
    let again = folder.load("fitted.yaml");
    let read = values(&again).unwrap();
    assert_eq!(read[..4], found.values[..]);
    // what was not sought is inherited
    assert_eq!(read[4..], [0.25, 9.0]);
    assert_eq!(again.title(), "Coil: two, fitted to readings");
    assert_eq!(text.matches("one standard error").count(), 4, "{text}");
    // the loss is not in any reading: what its prior says stays, and the file says so
    assert!(text.contains("# left.loss: the readings hardly tell it; 100 %"), "{text}");
    assert!(!text.contains("turns") && !text.contains("length"), "{text}");
}

#[test]
fn a_value_that_the_part_refuses_is_a_wall() {
    // readings ask for 12 Ω, the part allows 10
    let folder = Folder::new("wall");
    let setup = folder.load("base.yaml");
    let mut ohm = |setup: &Setup| Ok(vec![values(setup)?[0]]);
    let unknowns = [Unknown::new("left.resistance", 5.0)];
    let found =
        fit_setup(&setup, KINDS, &unknowns, &observed(&[12.0], 1.0), &mut ohm, &Options::default()).unwrap();
    assert!(found.values[0] <= 10.0 * (1.0 + 1e-9), "{found:?}");
    let start = [Unknown::new("left.resistance", 11.0)];
    let refused = fit_setup(&setup, KINDS, &start, &observed(&[12.0], 1.0), &mut ohm, &Options::default());
    let told = refused.unwrap_err().to_string();
    assert!(told.contains("left.resistance: out of range"), "{told}");
}

#[test]
fn names_that_are_no_numbers_are_told_at_once() {
    let folder = Folder::new("names");
    let setup = folder.load("base.yaml");
    let names = ["left.resistence", "lefd.resistance", "left.turns", "left", "left.from.x"];
    let unknowns = names.map(|name| Unknown::new(name, 1.0));
    let refused =
        fit_setup(&setup, KINDS, &unknowns, &observed(&[1.0], 1.0), &mut predict, &Options::default());
    let Err(FitError::Setup(told)) = refused else {
        panic!("{refused:?}");
    };
    assert_eq!(told.0.len(), 5, "{told}");
    for part in ["did you mean `resistance`?", "did you mean `left`?", "a whole number", "`part.parameter`"] {
        assert!(told.to_string().contains(part), "{part}: {told}");
    }
    assert_eq!(dimension(&setup, KINDS, "left.warm").unwrap(), TEMPERATURE);
}
