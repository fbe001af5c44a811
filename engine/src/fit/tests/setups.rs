//! Setups that were fitted.

use super::super::setup::{Line, changed, dimension, written};
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

/// Finds parameters of a setup; a value that its part refuses is a trial without prediction.
fn fitted(
    setup: &Setup,
    unknowns: &[Unknown],
    observations: &[Observation],
    mut predict: impl FnMut(&Setup) -> Result<Vec<f64>, String>,
) -> Result<Fitted, FitError> {
    let names: Vec<&str> = unknowns.iter().map(|unknown| unknown.name.as_str()).collect();
    let mut of_values = |x: &[f64]| {
        let values: Vec<(&str, f64)> = names.iter().copied().zip(x.iter().copied()).collect();
        predict(&changed(setup, KINDS, &values).map_err(|told| told.to_string())?)
    };
    fit(unknowns, observations, &mut of_values, &Options::default())
}

fn lines(found: &Fitted) -> Vec<Line<'_>> {
    let all = found.names.iter().enumerate();
    all.map(|(place, parameter)| Line { place, parameter, unit: None }).collect()
}

fn beside(file: &std::path::Path) -> String {
    file.file_name().unwrap().to_str().unwrap().into()
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
    let found = fitted(&setup, &unknowns, &observed(&y, 1e-4), predict).unwrap();
    // four standard errors
    assert!((found.values[0] - 0.0234).abs() < 4.0 * found.errors[0], "{found:?}");
    let text = written(&found, &lines(&found), "", &setup, KINDS, &beside).unwrap();
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
    let ohm = |setup: &Setup| Ok(vec![values(setup)?[0]]);
    let unknowns = [Unknown::new("left.resistance", 5.0)];
    let found = fitted(&setup, &unknowns, &observed(&[12.0], 1.0), ohm).unwrap();
    assert!(found.values[0] <= 10.0 * (1.0 + 1e-9), "{found:?}");
    let start = [Unknown::new("left.resistance", 11.0)];
    let told = fitted(&setup, &start, &observed(&[12.0], 1.0), ohm).unwrap_err().to_string();
    assert!(told.contains("left.resistance: out of range"), "{told}");
}

#[test]
fn names_that_are_no_numbers_are_told_at_once() {
    let folder = Folder::new("names");
    let setup = folder.load("base.yaml");
    let names = ["left.resistence", "lefd.resistance", "left.turns", "left", "left.from.x"];
    let told = names.map(|name| dimension(&setup, KINDS, name).unwrap_err().to_string()).join("\n");
    for part in ["did you mean `resistance`?", "did you mean `left`?", "a whole number", "`part.parameter`"] {
        assert!(told.contains(part), "{part}: {told}");
    }
    assert_eq!(dimension(&setup, KINDS, "left.warm").unwrap(), TEMPERATURE);
}

/// What a script, a sweep or an earlier fit did to the setup, by whole parts, by parameters and by numbers, must be in the
/// file once each, and mean the same there.
#[test]
fn what_was_changed_before_is_written_so_that_it_reads_back() {
    let folder = Folder::new("changed");
    let base = "setup: 1\nparts:\n  left: {part: coil, resistance: 20 mΩ, turns: 9, from: {a: right, b: right}}\n  \
                right: {part: coil, resistance: 1 Ω}\n  spare: {part: coil, resistance: 1 Ω}\n";
    std::fs::write(folder.0.join("base.yaml"), base).unwrap();
    let changes: &[&[(&str, crate::setup::Change)]] = &[
        // by a number, as an earlier fit does it, and then otherwise
        &[("left.resistance", 0.021.into()), ("left.length", 0.3.into()), ("left.turns", "11".into())],
        &[("left.slope", 0.0041.into()), ("left.slope", "0.4 %/K".into())],
        // a whole part, and a parameter of it
        &[("right", "{part: coil, resistance: 2 Ω, loss: 4 %}".into()), ("right.turns", "3".into())],
        &[("left", "{part: coil, resistance: 22 mΩ}".into())],
        // members of a wiring, one new and one gone
        &[("left.from.c", "spare".into()), ("left.from.a", "~".into())],
        &[("spare", "~".into()), ("third", "{part: coil, resistance: 3 Ω}".into())],
        &[("left.turns", "~".into())],
    ];
    for changes in changes {
        let mut setup = folder.load("base.yaml");
        for (path, value) in *changes {
            setup.change(path, value.clone(), "test").unwrap();
        }
        let unknowns = [Unknown::new("left.warm", 18.0)];
        let warm = |setup: &Setup| {
            setup.read_part("left", KINDS).map_err(|e| e.to_string())?;
            Ok(vec![READ.with(|read| read.borrow()[3])])
        };
        let found = fitted(&setup, &unknowns, &observed(&[21.5], 0.1), warm).unwrap();
        let text = written(&found, &lines(&found), "", &setup, KINDS, &beside).unwrap();
        std::fs::write(folder.0.join("fitted.yaml"), &text).unwrap();
        let meant = changed(&setup, KINDS, &[("left.warm", found.values[0])]).unwrap();
        let parts = |setup: &Setup| setup.write(KINDS).unwrap().split_once("parts:").unwrap().1.to_owned();
        assert_eq!(parts(&folder.load("fitted.yaml")), parts(&meant), "{text}");
    }
}
