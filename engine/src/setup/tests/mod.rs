//! Every way a setup can be wrong, and the place that is named for it.

mod change;
mod files;
mod kinds;
mod mangled;
mod places;
mod tables;

use super::params::{Invalid, Params};
use super::*;
use crate::model::Declare;
use crate::units::*;
use std::cell::RefCell;

/// A part that takes one of everything, and what was last read for it.
#[derive(Debug, Clone, PartialEq, Default)]
struct Pod {
    diameter: f64,
    length: f64,
    outline: &'static str,
    corner: Option<f64>,
    mass: Option<f64>,
    blades: u32,
    beside: Option<String>,
    load: f64,
    curve: Option<[Vec<f64>; 2]>,
    warm: f64,
}

impl Part for Pod {
    fn declare(&self, _: &mut Declare) {}
}

thread_local! {
    static READ: RefCell<Vec<Pod>> = const { RefCell::new(Vec::new()) };
}

fn read_pod(p: &mut Params) -> Option<Box<dyn Part>> {
    let diameter = p.value("diameter", LENGTH, "outer diameter d").within(0.02, 0.3).required();
    let length = p.value("length", LENGTH, "length").usual(0.1, 0.5).or("250 mm");
    let outline = p.choice("outline", &["round", "square"], "cross-section").or("round");
    let corner = (outline == "square").then(|| p.value("corner", LENGTH, "radius of its corners").or("5 mm"));
    let mass = p.value("mass", MASS, "mass").within(0.0, f64::INFINITY).optional();
    let blades = p.count("blades", "number of blades").within(2, 6).or(3);
    let beside = p.name("beside", "what it hangs on").optional();
    let load = p.value("load", FRACTION, "share of the load").source("common practice, no source").or("0.5");
    let curve = p.table("curve", &[("J", NUMBER), ("time", TIME)], "a curve").rows(2).ascending().optional();
    let warm = p.value("warm", TEMPERATURE, "temperature").or("18 °C");
    p.part(|| {
        if length < diameter {
            return Err(Invalid::at("length", "shorter than thick").help("make it longer"));
        }
        let pod = Pod { diameter, length, outline, corner, mass, blades, beside, load, curve, warm };
        READ.with(|read| read.borrow_mut().push(pod.clone()));
        Ok(pod)
    })
}

fn read_nothing(p: &mut Params) -> Option<Box<dyn Part>> {
    p.part(|| Ok(Pod::default()))
}

const KINDS: &[PartKind] = &[
    PartKind { name: "pod", about: "a pod", read: read_pod },
    PartKind { name: "water", about: "water", read: read_nothing },
];

fn setup(text: &str) -> Result<Setup, Diagnostics> {
    Setup::from_text("a.yaml", text, Path::new("."))
}

/// The pods of a setup.
fn pods(setup: &Setup) -> Result<Vec<Pod>, Diagnostics> {
    READ.with(|read| read.borrow_mut().clear());
    setup.read_parts(KINDS)?;
    Ok(READ.with(|read| read.take()))
}

/// The last pod of a setup.
fn pod(setup: &Setup) -> Result<Pod, Diagnostics> {
    pods(setup).map(|mut pods| pods.pop().expect("a pod was read"))
}

#[test]
fn values_and_defaults_are_read() {
    let text = "setup: 1\nparts:\n  water: {}\n  left:\n    part: pod\n    diameter: 150 mm\n    mass: 2 kg\n    from: {speed: water}\n    beside: water\n";
    let setup = setup(text).unwrap();
    let want = Pod {
        diameter: 0.15,
        length: 0.25,
        outline: "round",
        corner: None,
        mass: Some(2.0),
        blades: 3,
        beside: Some("water".into()),
        load: 0.5,
        curve: None,
        warm: 18.0,
    };
    assert_eq!(pod(&setup).unwrap(), want);
    let left = setup.read_part("left", KINDS).unwrap();
    assert_eq!((left.name.as_str(), left.kind), ("left", "pod"));
    assert_eq!(left.from, [("speed".into(), "water".into())]);
    let names: Vec<_> = setup.instances().map(|(name, kind, _)| (name.to_owned(), kind.to_owned())).collect();
    assert_eq!(names, [("water".into(), "water".into()), ("left".into(), "pod".into())]);
}

/// Line, column and a part of the text of everything wrong with a setup, in order.
fn faults(text: &str) -> Vec<(usize, usize, String)> {
    let error = match setup(text) {
        Ok(setup) => setup.read_parts(KINDS).err().unwrap_or_default(),
        Err(error) => error,
    };
    error
        .into_iter()
        .map(|d| {
            let (line, column) = d.position().unwrap_or((0, 0));
            (line, column, d.to_string())
        })
        .collect()
}

#[track_caller]
fn fails(text: &str, wanted: &[(usize, usize, &str)]) {
    let found = faults(text);
    let right = found.len() == wanted.len()
        && found.iter().zip(wanted).all(|(f, w)| (f.0, f.1) == (w.0, w.1) && f.2.contains(w.2));
    assert!(right, "wanted {wanted:#?}\nfound {found:#?}");
}

/// A setup with one pod, its parameters from line 5, column 5.
fn with(lines: &str) -> String {
    format!("setup: 1\nparts:\n  water: {{}}\n  pod:\n{lines}")
}

#[track_caller]
fn pod_fails(lines: &str, wanted: &[(usize, usize, &str)]) {
    fails(&with(lines), wanted);
}
