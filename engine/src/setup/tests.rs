//! Every way a setup can be wrong, and the place that is named for it.

use super::params::{Invalid, Params};
use super::*;
use crate::model::Declare;
use crate::units::*;
use std::sync::Mutex;

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
    static READ: Mutex<Vec<Pod>> = const { Mutex::new(Vec::new()) };
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
        READ.with(|read| read.lock().unwrap().push(pod.clone()));
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

/// The pod of a setup.
fn pod(setup: &Setup) -> Result<Pod, Diagnostics> {
    READ.with(|read| read.lock().unwrap().clear());
    setup.read_parts(KINDS)?;
    Ok(READ.with(|read| read.lock().unwrap().pop()).expect("a pod was read"))
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
