//! The energy ledger closes in every kind of run: Σ ∫ sources − Σ ∫ sinks = Δ Σ stores.
//!
//! No entry is what the others leave over; `plugins/ledger/README.md` lists the formula of each.

use rayon::prelude::*;

use crate::books::books;
use crate::craft::{Deed, OPENING, finish, model, planned};

/// What the ledger must close to, of all energy that came in, at the tolerance runs have by default.
const CLOSES: f64 = 1e-5;
/// The same with the integration tightened to 1e-10: what is left is round-off and the few places
/// where a force has a corner in its second derivative (cells of a table, roundings).
const CLOSES_TIGHT: f64 = 1e-8;

type Changes = &'static [(&'static str, &'static str)];

/// A kind of run: name, setup, changes, deeds, duration.
struct Case {
    name: &'static str,
    file: &'static str,
    changes: Changes,
    deeds: &'static [Deed],
    duration: f64,
}

const FULL: Deed = ("controller.throttle", 0.5, 3.0, 1.0);

const CASES: &[Case] = &[
    Case { name: "flight", file: "board.yaml", changes: &[], deeds: &[OPENING], duration: 30.0 },
    Case {
        name: "stuck below the hump",
        file: "board.yaml",
        changes: &[("controller.motor_current", "30 A")],
        deeds: &[FULL],
        duration: 30.0,
    },
    Case {
        name: "out of voltage",
        file: "board.yaml",
        changes: &[("motor.speed_constant", "46 rpm/V"), ("motor.resistance", "90 mΩ")],
        deeds: &[FULL],
        duration: 30.0,
    },
    Case { name: "tub", file: "tub.yaml", changes: &[], deeds: &[FULL], duration: 8.0 },
    Case {
        name: "tub, throttle thrown open and shut",
        file: "tub.yaml",
        changes: &[],
        deeds: &[("controller.throttle", 1.0, 0.0, 1.0), ("controller.throttle", 3.0, 0.0, 0.0)],
        duration: 5.0,
    },
    Case {
        name: "head wind from the start, current that steps",
        file: "board.yaml",
        changes: &[("take_off.flight", "10 s")],
        deeds: &[
            OPENING,
            ("air.head_wind", 0.0, 0.0, 7.0),
            ("water.current", 2.0, 0.0, -0.5),
            ("water.current", 6.0, 0.0, 0.4),
        ],
        duration: 30.0,
    },
    Case {
        name: "following current, gusts",
        file: "board.yaml",
        changes: &[("water.current", "0.8 m/s"), ("take_off.flight", "10 s")],
        deeds: &[OPENING, ("air.head_wind", 1.0, 0.0, -4.0), ("air.head_wind", 4.0, 1.0, 9.0)],
        duration: 30.0,
    },
    Case {
        name: "ventilation for a second",
        file: "board.yaml",
        changes: &[],
        deeds: &[OPENING, ("propeller.ventilation", 3.0, 0.0, 0.6), ("propeller.ventilation", 4.0, 0.0, 0.0)],
        duration: 30.0,
    },
    Case {
        name: "a rider who reacts",
        file: "board.yaml",
        changes: &[("rider.part", "rider_reacting"), ("rider.mass", "78 kg"), ("rider.forward", "800 mm")],
        deeds: &[("controller.throttle", 0.5, 5.0, 0.5)],
        duration: 20.0,
    },
    Case {
        name: "the pack's protection opens",
        file: "board.yaml",
        changes: &[("battery.trip_current", "45 A"), ("battery.trip_time", "1 s")],
        deeds: &[FULL],
        duration: 15.0,
    },
    Case {
        name: "out of reach, nose up until it turns over",
        file: "board.yaml",
        changes: &[("rider.forward", "700 mm")],
        deeds: &[("controller.throttle", 0.5, 3.0, 0.65)],
        duration: 30.0,
    },
    Case {
        name: "at the end of his reach",
        file: "board.yaml",
        changes: &[("rider.forward", "800 mm")],
        deeds: &[("controller.throttle", 0.5, 3.0, 0.65)],
        duration: 30.0,
    },
    Case {
        name: "breaches and falls back",
        file: "board.yaml",
        changes: &[("rider.flight_height", "600 mm"), ("rider.trim", "8 deg"), ("take_off.flight", "20 s")],
        deeds: &[("controller.throttle", 0.5, 1.0, 0.9)],
        duration: 30.0,
    },
    Case {
        name: "throttle shut in flight",
        file: "board.yaml",
        changes: &[("take_off.flight", "15 s")],
        deeds: &[OPENING, ("controller.throttle", 8.0, 0.0, 0.0)],
        duration: 30.0,
    },
    Case {
        name: "a shaft with inertia",
        file: "board.yaml",
        changes: &[("shaft.inertia", "0.002 kg·m²")],
        deeds: &[OPENING],
        duration: 15.0,
    },
    Case {
        name: "a guard, sea water, a motor that heats",
        file: "board.yaml",
        changes: &[
            (
                "guard",
                "{forward: 420 mm, below: 640 mm, diameter: 200 mm, area: 40 cm², drag_coefficient: 0.9, thrust_factor: 92 %}",
            ),
            ("water.salinity", "35 ‰"),
            ("motor.resistance", "60 mΩ"),
        ],
        deeds: &[FULL],
        duration: 20.0,
    },
];

#[test]
fn the_ledger_closes_in_every_kind_of_run() {
    for case in CASES {
        let model = model(case.file, case.changes);
        for (tolerance, closes) in [(1e-6, CLOSES), (1e-10, CLOSES_TIGHT)] {
            let mut run = planned(&model, tolerance, case.deeds);
            finish(&mut run, case.duration).unwrap_or_else(|e| panic!("{}: {e}", case.name));
            let books = books(&run);
            println!(
                "{}: {:.1e} of {:.0} J at {tolerance:e} to {:.2} s",
                case.name,
                books.error(),
                books.drawn,
                run.time()
            );
            assert!(books.drawn > 10.0, "{}: nothing happened", case.name);
            assert!(books.error() < closes, "{} at {tolerance:e}: {:.2e}", case.name, books.error());
        }
    }
}

/// Riders standing anywhere from hopeless to good, at every throttle: most of these end in a crash.
#[test]
fn the_ledger_closes_in_a_crash() {
    let places = ["600 mm", "650 mm", "700 mm", "725 mm", "750 mm", "775 mm", "800 mm", "900 mm", "1000 mm"];
    let cases: Vec<_> = places
        .into_iter()
        .flat_map(|place| [0.45, 0.65, 0.8, 1.0].map(|throttle| (place, throttle)))
        .flat_map(|(place, throttle)| ["60 kg", "78 kg"].map(|mass| (place, throttle, mass)))
        .collect();
    let overturned = cases
        .par_iter()
        .filter(|&&(place, throttle, mass)| {
            let model = model("board.yaml", &[("rider.forward", place), ("rider.mass", mass)]);
            let mut run = planned(&model, 1e-6, &[("controller.throttle", 0.5, 3.0, throttle)]);
            finish(&mut run, 30.0).expect("a run to its end");
            let error = books(&run).error();
            assert!(error < CLOSES, "{place}, {mass}, {throttle}: {error:.2e}");
            crate::craft::at_end(&mut run, "motion.turned_over") > 0.5
        })
        .count();
    assert!(overturned > cases.len() / 4, "only {overturned} of {} turned over", cases.len());
}

/// The page on the ledger leaves no entry out.
#[test]
fn every_entry_has_its_formula_on_the_page() {
    let page = include_str!("../../plugins/ledger/README.md");
    let inertia = ("shaft.inertia", "0.002 kg·m²");
    let guard =
        ("guard", "{forward: 420 mm, below: 640 mm, diameter: 200 mm, area: 40 cm², drag_coefficient: 0.9}");
    let model = model("board.yaml", &[inertia, guard]);
    let mut entries = 0;
    for kind in ["energy_source", "energy_sink", "energy_store"] {
        for probe in model.contributions(kind) {
            let name = model.name(probe);
            let label = name.rsplit('.').next().unwrap_or(name);
            assert!(page.contains(&format!("`{label}`")), "{name} is not on the page");
            entries += 1;
        }
    }
    assert!(entries > 40, "only {entries}");
}
