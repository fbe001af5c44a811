//! Studies of a made-up part whose answers are known in closed form, and one that fails.

use std::cell::RefCell;
use std::sync::atomic::{AtomicUsize, Ordering};

use serde_json::json;

use super::*;
use crate::model::Declare;
use crate::part::Part;
use crate::quantity::Kind;
use crate::setup::Params;
use crate::study::{Column, Report, Summary};
use crate::units::NUMBER;

const ANSWER: Kind = Kind::single("answer", "1", "");
const X: Kind = Kind::single("x", "1", "");
const LEVEL: Kind = Kind::single("level", "1", "");

/// Answers with x + 2 y + 3 z, or not at all.
struct Machine {
    x: f64,
    answer: f64,
    fault: &'static str,
}

impl Part for Machine {
    fn declare(&self, m: &mut Declare) {
        let Machine { x, answer, fault } = *self;
        m.state(&LEVEL, 0.0, 1.0);
        m.equation("answer", |e| {
            let (a, b, rate) = (e.writes(&ANSWER), e.writes(&X), e.rate_of(&LEVEL));
            move |at| {
                assert!(fault != "panic", "the machine burst at x = {x}");
                (at[a], at[b]) = (answer, x);
                at[rate] = if fault == "no number" { f64::NAN } else { 1.0 };
            }
        });
    }
}

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let mut number = |key| p.value(key, NUMBER, "a number").within(0.0, 1.0).or("0.5");
    let (x, y, z) = (number("x"), number("y"), number("z"));
    let fault = p.choice("fault", &["none", "panic", "no number"], "what is wrong with it").or("none");
    p.part(|| Ok(Machine { x, answer: x + 2.0 * y + 3.0 * z, fault }))
}

/// Success where x is above 0.3, after ten times x.
fn judge(trial: &Finished) -> Findings {
    let (model, mut values) = (trial.run.model(), Map::new());
    let mut sampler = crate::run::Sampler::new(model, trial.run.trajectory());
    sampler.go(0.0);
    let value = |name: &str| model.find(name).map_or(f64::NAN, |probe| sampler.value(probe));
    let x = value("m.x");
    values.insert("answer".into(), json!(value("m.answer")));
    values.insert("there".into(), json!(x > 0.3));
    values.insert("time".into(), if x > 0.3 { json!(10.0 * x) } else { Value::Null });
    Findings { values, ..Findings::default() }
}

const fn column(name: &'static str, read: fn(&Map<String, Value>) -> Value) -> Column {
    Column { name, unit: "", about: "", read }
}

const CATALOGUE: Catalogue = Catalogue {
    name: "test",
    about: "a test",
    parts: &[PartKind { name: "machine", about: "a machine", read }],
    judge,
    findings_version: 1,
    trace: &[],
    analyses: &[],
    practice: crate::calibration::NONE,
    report: Report {
        columns: &[
            column("there", |f| f["there"].clone()),
            column("time", |f| f["time"].clone()),
            column("answer", |f| f["answer"].clone()),
        ],
        success: "there",
        time: "time",
        response: "answer",
        ..Report::NONE
    },
};

/// Makes all rows of a study, one after the other, and tells what the table says.
struct Conductor {
    root: PathBuf,
    csv: RefCell<String>,
}

impl Conduct for Conductor {
    fn conduct(&self, frame: Frame) -> Result<Option<Map<String, Value>>, Diagnostics> {
        let heads: Vec<String> = frame.headings.iter().map(|h| h.text()).collect();
        let mut csv = table_row(&heads);
        work(&self.root.join("s.rhai"), &self.root, &CATALOGUE, &frame, |row| {
            (0..frame.rows()).for_each(|n| csv.extend(row(n)));
        })?;
        let table = self.root.join("t.csv");
        std::fs::write(&table, &csv).expect("written");
        self.csv.replace(String::from_utf8(csv).expect("text"));
        Ok(Some(Summary::read(&frame, &CATALOGUE.report, &table)?.values()))
    }
}

/// Conducts a study whose trial is stated; its table, and what it says.
fn conducted(script: &str) -> Result<(String, Map<String, Value>), Diagnostics> {
    static NEXT: AtomicUsize = AtomicUsize::new(0);
    let name = format!("study-{}-{}", std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed));
    let root = std::env::temp_dir().join(name);
    std::fs::create_dir_all(&root).expect("a temporary folder");
    let head = "let t = trial(\"t\", setup(\"a.yaml\")); t.lasts(0.001); t.start_as_set();\n\
                let s = study(\"S\"); s.trial(\"t\", t);\n";
    std::fs::write(root.join("a.yaml"), "setup: 1\nparts:\n  m: {part: machine}\n").expect("written");
    std::fs::write(root.join("s.rhai"), format!("{head}{script}\nlet found = s.run();")).expect("written");
    let conductor = Rc::new(Conductor { root: root.clone(), csv: RefCell::default() });
    let outcome = lead(&root.join("s.rhai"), &root, &CATALOGUE, conductor.clone());
    std::fs::remove_dir_all(&root).expect("removed");
    Ok((conductor.csv.take(), outcome?.study.expect("a study")))
}

#[test]
fn a_panic_spoils_its_own_row_only() {
    let (csv, found) = conducted(
        "s.axis(\"m.fault\", list([\"panic\", \"none\", \"no number\", \"none\"]));\n\
         s.axis(\"m.x\", list([0.2, 0.4]));",
    )
    .unwrap();
    // two ends of a list may fail, one of them here, in rehearsal as in the table
    let rows: Vec<&str> = csv.lines().collect();
    assert_eq!(rows[0], "index,m.fault,m.x,status,there,time,answer,failure");
    assert_eq!(rows[1], "0,panic,0.2,fault in a part,,,,the machine burst at x = 0.2");
    assert_eq!(rows[2], "1,panic,0.4,fault in a part,,,,the machine burst at x = 0.4");
    for (n, row) in [(3, "2,none,0.2,ran,false,,2.7,"), (4, "3,none,0.4,ran,true,4,2.9,")] {
        assert_eq!(rows[n], row);
        assert_eq!(rows[n + 4].split_once(',').unwrap().1, row.split_once(',').unwrap().1);
    }
    assert!(
        rows[5].starts_with("4,no number,0.2,broke off,") && rows[5].contains("no finite value"),
        "{csv}"
    );
    assert_eq!((&found["faults"], &found["broke_off"], &found["refused"]), (&json!(2), &json!(2), &json!(0)));
    assert_eq!((&found["tried"], &found["points"]), (&json!(8), &json!(8)));
}

#[test]
fn where_every_try_panics_the_study_is_at_fault() {
    let told = conducted("s.axis(\"m.fault\", list([\"panic\"]));").unwrap_err().to_string();
    assert!(told.contains("a fault in a part: the machine burst at x = 0.5"), "{told}");
}

/// Number, or NaN where there is none.
fn at(found: &Value, path: &[&str]) -> f64 {
    path.iter().fold(found, |value, key| &value[*key]).as_f64().unwrap_or(f64::NAN)
}

/// Whether an interval holds the truth; a limit that is not told is none.
fn inside(found: &Value, truth: f64) -> bool {
    let (low, high) = (at(found, &["low"]), at(found, &["high"]));
    (low.is_nan() || low <= truth) && (high.is_nan() || truth <= high)
}

/// Of `n` intervals that hold the truth in 95 of 100 cases, this many do at least, with a
/// chance of error of some 1e-4: four standard deviations below the mean.
fn least(n: f64) -> f64 {
    0.95 * n - 4.0 * (n * 0.95 * 0.05).sqrt()
}

/// x is uniform, and succeeds above 0.3: a share of 0.7, whose time is 10 x.
#[test]
fn shares_and_times_hold_the_truth_as_often_as_they_say() {
    for draws in ["random(100)", "sobol(16, 6)", "latin_hypercube(16, 6)"] {
        let (mut shares, mut tenths, mut halves) = (0.0, 0.0, 0.0);
        let seeds = 40;
        for seed in 0..seeds {
            let script = format!("seed({seed}); s.uncertain(\"m.x\", uniform(0.0, 1.0)); s.draws({draws});");
            let (_, found) = conducted(&script).unwrap();
            let chance = &found["chance"][0];
            shares += f64::from(u8::from(inside(&chance["interval"], 0.7)));
            // a share of t/10 − 0.3 has succeeded by t
            tenths += f64::from(u8::from(inside(&chance["times"][0], 4.0)));
            halves += f64::from(u8::from(inside(&chance["times"][1], 8.0)));
            // nine in ten do not succeed in any time
            assert!(chance["times"][2]["value"].is_null(), "{draws}: {chance}");
        }
        for (what, held) in [("share", shares), ("10 %", tenths), ("50 %", halves)] {
            assert!(held >= least(f64::from(seeds)), "{draws}: {what} held in {held} of {seeds}");
        }
    }
}

/// The answer is a sum of uniform numbers times 1, 2 and 3: variances as 1, 4 and 9, and no interactions.
#[test]
fn indices_hold_the_truth_as_often_as_they_say() {
    let (mut held, mut all) = (0.0, 0.0);
    let mut values: BTreeMap<(&str, &str), Vec<f64>> = BTreeMap::new();
    for seed in 0..20 {
        let script = format!(
            "seed({seed});\nfor name in [\"x\", \"y\", \"z\"] {{ s.uncertain(\"m.\" + name, uniform(0.0, 1.0)); }}\n\
             s.draws(indices(16, 8));"
        );
        let (_, found) = conducted(&script).unwrap();
        for (name, variance) in [("m.x", 1.0), ("m.y", 4.0), ("m.z", 9.0)] {
            for kind in ["first", "total"] {
                let index = &found["causes"][kind][name];
                assert!(
                    index["interval"]["low"].is_number() && index["interval"]["high"].is_number(),
                    "{index}"
                );
                values.entry((name, kind)).or_default().push(at(index, &["value"]) - variance / 14.0);
                held += f64::from(u8::from(inside(&index["interval"], variance / 14.0)));
                all += 1.0;
            }
        }
    }
    for (index, errors) in values {
        // on average they are right, to four of the standard deviations that the average has
        let n = errors.len() as f64;
        let mean = errors.iter().sum::<f64>() / n;
        let deviation = (errors.iter().map(|e| (e - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
        assert!(mean.abs() < 4.0 * deviation / n.sqrt(), "{index:?}: off by {mean}, scatter {deviation}");
        assert!(deviation < 0.1, "{index:?}: {deviation}, of 128 base rows less than their root's inverse");
    }
    // the six of one seed share their draws: as many independent ones as there are seeds, at worst
    assert!(held / 6.0 >= least(all / 6.0), "{held} of {all}");
}

#[test]
fn what_cannot_be_told_is_not() {
    // a single set has no interval, a sure thing one that begins below 1
    let draws = |x: &str, draws: &str| {
        let script = format!("s.uncertain(\"m.x\", {x}); s.draws({draws});");
        conducted(&script).unwrap().1["chance"][0].clone()
    };
    let alone = draws("uniform(0.0, 1.0)", "sobol(64)");
    assert!(
        alone["interval"].is_null() && alone["method"].as_str().unwrap().contains("2 independent sets"),
        "{alone}"
    );
    let sure = draws("uniform(0.5, 1.0)", "random(100)");
    assert_eq!((at(&sure, &["share"]), at(&sure["interval"], &["high"])), (1.0, 1.0));
    // 0.025^(1/100), Clopper and Pearson's lower limit where all succeed
    assert!((at(&sure["interval"], &["low"]) - 0.025f64.powf(0.01)).abs() < 1e-9, "{sure}");
}
