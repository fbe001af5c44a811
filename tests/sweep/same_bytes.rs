//! However a table comes about, its bytes are the same, and those of its companion.

use crate::harness::{AXES, Folder, RUN, TUB, chance};
use rand::RngExt;

/// Flights and stands, a condition, draws, a value that a function sets: 48 points.
fn mixed() -> String {
    format!(
        r#"{TUB}
let flight = trial("flight", setup("setups/demo_board.yaml"));
flight.lasts("4 s");
flight.ramp("controller.throttle", "100 %", "0.5 s", "1 s");
s.trial("flight", flight);
s.axis("cut", linear("0 mm", "30 mm", 4), |cut| #{{"propeller.diameter": 0.18 - cut}});
s.axis("controller.motor_current", list(["30 A", "60 A"]));
s.needs("not all of it off at 60 A", |p| p["cut"] < 0.025 || p["controller.motor_current"] < 50.0);
s.uncertain("water.temperature", triangular("10 °C", "18 °C", "24 °C"));
s.uncertain("propeller.wake_fraction", uniform("0 %", "10 %"));
s.draws(sobol(4, 2));
{RUN}"#
    )
}

#[test]
fn any_number_of_threads_gives_the_same_bytes() {
    let f = Folder::with(&mixed());
    let told = f.runs("sweep s.rhai --threads 1 --out 1.csv --json");
    let one = f.table("1.csv");
    // 4 · 2 designs without one, of 8 draws each
    assert_eq!(one.csv.lines().count(), 1 + 7 * 8);
    for threads in ["2", "8"] {
        let out = format!("{threads}.csv");
        let again = f.runs(&format!("sweep s.rhai --threads {threads} --out {out} --json"));
        assert_eq!(f.table(&out), one, "{threads} threads");
        assert_eq!(again.replace(&out, "1.csv"), told, "what {threads} threads tell");
    }
}

#[test]
fn a_study_is_the_same_however_its_path_is_spelt() {
    let f = Folder::with(&format!("{TUB}{AXES}{RUN}"));
    let reference = f.reference();
    for script in ["./s.rhai".to_string(), "setups/../s.rhai".into(), f.at("s.rhai").display().to_string()] {
        f.runs(&format!("sweep {script} --out reference.csv"));
        f.runs(&format!("sweep {script} --out other.csv"));
        assert_eq!(f.table("other.csv"), reference, "{script}");
    }
    // from another folder the project folder is that of the script
    let mut command = f.command("sweep ../s.rhai --out ../other.csv");
    let done = crate::harness::finish(crate::harness::start(command.current_dir(f.at("setups"))));
    assert_eq!((done.code, f.table("other.csv")), (Some(0), reference), "{}", done.err);
}

#[test]
fn parts_of_any_division_give_the_same_bytes() {
    let f =
        Folder::with(&format!("{TUB}{AXES}s.axis(\"propeller.pitch_ratio\", list([0.6, 0.7, 0.9]));\n{RUN}"));
    let reference = f.reference();
    assert_eq!(reference.csv.lines().count(), 13);
    let mut chance = chance(31);
    let mut divisions: Vec<u64> = (0..9).map(|_| chance.random_range(1..=16)).collect();
    // some with more parts than rows for certain
    divisions.extend([3, 12, 13, 40]);
    for (i, of) in divisions.into_iter().enumerate() {
        let mut parts: Vec<String> = Vec::new();
        for k in 1..=of {
            let (part, threads) = (format!("{i}-{k}.csv"), chance.random_range(1..=3));
            f.runs(&format!("sweep s.rhai --part {k}/{of} --threads {threads} --out {part}"));
            parts.push(part);
        }
        // the order in which parts are named does not matter
        for at in (1..parts.len()).rev() {
            parts.swap(at, chance.random_range(0..=at));
        }
        f.runs(&format!("merge {i}.csv {}", parts.join(" ")));
        assert_eq!(f.table(&format!("{i}.csv")), reference, "{of} parts");
    }
    // the summary of a merged table is that of the whole one
    let told = |table: &str| f.runs(&format!("sweep s.rhai --out {table}")).replace(table, "");
    assert_eq!(told("0.csv"), told("reference.csv"));
}

#[test]
fn the_same_study_again_does_nothing() {
    let f = Folder::with(&format!("{TUB}{AXES}{RUN}"));
    let reference = f.reference();
    let changed = || std::fs::metadata(f.at("reference.csv")).unwrap().modified().unwrap();
    let before = changed();
    f.runs("sweep s.rhai --out reference.csv");
    f.runs("sweep s.rhai --out reference.csv --resume");
    assert_eq!((f.table("reference.csv"), changed()), (reference, before));
}
