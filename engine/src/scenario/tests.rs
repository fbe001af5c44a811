//! What a script can do to a trial, tried on an oscillator x'' = push − x.

use std::sync::atomic::{AtomicUsize, Ordering};

use serde_json::json;

use super::*;
use crate::model::Declare;
use crate::part::Part;
use crate::quantity::Kind;
use crate::setup::Params;

const X: Kind = Kind::single("x", "m", "");
const V: Kind = Kind::single("v", "m/s", "");
const PUSH: Kind = Kind::single("push", "N", "");
const TWICE: Kind = Kind::single("twice", "m", "");
/// No number where the push is above 3; no rate depends on it.
const ROOT: Kind = Kind::single("root", "", "");

struct Oscillator;

impl Part for Oscillator {
    fn declare(&self, m: &mut Declare) {
        m.state(&X, 1.0, 1.0);
        m.state(&V, 0.0, 1.0);
        m.input(&PUSH, 0.0);
        m.equation("motion", |e| {
            let (x, v, push) = (e.reads(&X), e.reads(&V), e.reads(&PUSH));
            let (dx, dv, twice) = (e.rate_of(&X), e.rate_of(&V), e.writes(&TWICE));
            let root = e.writes(&ROOT);
            move |at| {
                at[dx] = at[v];
                at[dv] = at[push] - at[x];
                at[twice] = 2.0 * at[x];
                at[root] = (3.0 - at[push]).sqrt();
            }
        });
    }
}

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    p.part(|| Ok(Oscillator))
}

/// Everything a run has recorded, to the last digit.
fn judge(trial: &Finished) -> Findings {
    let model = trial.run.model();
    let mut rows = Vec::new();
    let mut sampler = crate::run::Sampler::new(model, trial.run.trajectory());
    let probes = ["o.x", "o.v", "o.push"].map(|name| model.find(name).expect("declared"));
    sampler.walk(0.1, |t, s| rows.push(json!([t, probes.map(|p| s.value(p))])));
    let mut values = Map::new();
    values.insert("rows".into(), rows.into());
    values.insert("end".into(), json!(trial.run.time()));
    Findings { values, ..Findings::default() }
}

const CATALOGUE: Catalogue = Catalogue {
    name: "test",
    about: "a test",
    parts: &[PartKind { name: "oscillator", about: "an oscillator", read }],
    judge,
    findings_version: 1,
    trace: &[],
    report: crate::study::Report::NONE,
    analyses: &[],
    practice: crate::calibration::NONE,
};

/// Runs a script that has `t`, a trial of 10 s; `o.x` is cos t as long as nothing pushes.
fn performed(script: &str) -> Result<Outcome, Diagnostics> {
    static NEXT: AtomicUsize = AtomicUsize::new(0);
    let name = format!("scenario-{}-{}", std::process::id(), NEXT.fetch_add(1, Ordering::Relaxed));
    let root = std::env::temp_dir().join(name);
    std::fs::create_dir_all(&root).expect("a temporary folder");
    let head = "let t = trial(\"t\", setup(\"a.yaml\")); t.lasts(10); t.tolerance(1e-10);\n";
    std::fs::write(root.join("a.yaml"), "setup: 1\nparts:\n  o: {part: oscillator}\n").expect("written");
    std::fs::write(root.join("s.rhai"), format!("{head}{script}")).expect("written");
    let outcome = perform(&root.join("s.rhai"), &root, &CATALOGUE);
    std::fs::remove_dir_all(&root).expect("removed");
    outcome
}

/// The numbers a script prints.
#[track_caller]
fn printed(script: &str) -> Vec<f64> {
    let outcome = performed(script).unwrap_or_else(|told| panic!("{told}"));
    outcome.prints.iter().map(|line| line.parse().expect("a number")).collect()
}

/// Each number within what the integration is good for at a tolerance of 1e-10.
#[track_caller]
fn near(found: &[f64], wanted: &[f64]) {
    let close = found.len() == wanted.len() && found.iter().zip(wanted).all(|(f, w)| (f - w).abs() < 1e-7);
    assert!(close, "wanted {wanted:?}, found {found:?}");
}

const PI: f64 = std::f64::consts::PI;

#[test]
fn once_acts_once_and_whenever_each_time() {
    let times = printed("t.once(\"o.x\", falls_below(0), |now| print(now.time())); t.run();");
    near(&times, &[PI / 2.0]);
    let times = printed("t.whenever(\"o.x\", falls_below(0), |now| print(now.time())); t.run();");
    near(&times, &[PI / 2.0, 2.5 * PI]);
}

#[test]
fn stop_when_ends_the_run_there() {
    let end = printed("t.stop_when(\"o.x\", falls_below(0.5)); t.run(); print(t.at_end(\"time\"));");
    near(&end, &[PI / 3.0]);
}

#[test]
fn a_condition_waits_for_the_level_to_be_passed() {
    // x is above 0.5 from the start: it has to fall below and rise again
    let times = printed("t.once(\"o.x\", rises_above(0.5), |now| print(now.time())); t.run();");
    near(&times, &[5.0 * PI / 3.0]);
    // x begins exactly at 1 and only falls from there
    let times =
        printed("t.lasts(5); t.stop_when(\"o.x\", rises_above(1)); t.run(); print(t.at_end(\"time\"));");
    near(&times, &[5.0]);
}

#[test]
fn conditions_within_one_step_act_in_the_order_of_their_times() {
    let script = "t.tolerance(1e-3);
        t.once(\"o.x\", falls_below(0.499), |now| print(2));
        t.once(\"o.x\", falls_below(0.5), |now| print(1)); t.run();";
    assert_eq!(printed(script), [1.0, 2.0]);
}

#[test]
fn conditions_at_one_instant_all_act() {
    let same = "t.once(\"o.x\", falls_below(0), |now| print(1));
        t.once(\"o.x\", falls_below(0), |now| print(2));
        t.whenever(\"o.twice\", falls_below(0), |now| print(3)); t.run();";
    let mut acted = printed(same);
    acted.sort_by(f64::total_cmp);
    assert_eq!(acted, [1.0, 2.0, 3.0, 3.0]);
}

#[test]
fn an_action_prescribes_an_input() {
    // at x = 0, v = −1: from there x'' = 3 − x, so x = 3 (1 − cos s) − sin s
    let script = "t.once(\"o.x\", falls_below(0), |now| now.set(\"o.push\", 3)); t.run();
        print(t.at_end(\"o.x\")); print(t.at(\"o.push\", 1)); print(t.at(\"o.push\", 2));";
    let s = 10.0 - PI / 2.0;
    near(&printed(script), &[3.0 * (1.0 - s.cos()) - s.sin(), 0.0, 3.0]);
}

#[test]
fn an_action_ramps_from_where_it_is() {
    let script = "t.once(\"time\", rises_above(2), |now| { now.ramp(\"o.push\", 1, 4); print(now.value(\"o.push\")); });
        t.run(); print(t.at(\"o.push\", 2)); print(t.at(\"o.push\", 4)); print(t.at(\"o.push\", 6));";
    near(&printed(script), &[0.0, 0.0, 0.5, 1.0]);
}

#[test]
fn a_pulse_covers_a_ramp_and_gives_it_back() {
    let script = "t.ramp(\"o.push\", 1, 0, 8); t.pulse(\"o.push\", 5, 2, 2); t.run();
        for at in [1.9, 2.1, 3.9, 4.0, 6.0, 9.0] { print(t.at(\"o.push\", at)); }";
    let ramp = |t: f64| crate::smooth::smoothstep(t / 8.0);
    near(&printed(script), &[ramp(1.9), 5.0, 5.0, ramp(4.0), ramp(6.0), 1.0]);
    let within = "t.ramp(\"o.push\", 1, 0, 8);
        t.once(\"time\", rises_above(2), |now| now.pulse(\"o.push\", 5, 2)); t.run();
        for at in [1.9, 2.1, 4.1] { print(t.at(\"o.push\", at)); }";
    near(&printed(within), &[ramp(1.9), 5.0, ramp(4.1)]);
}

#[test]
fn set_gives_a_start_and_keeps_what_is_planned() {
    let script = "t.step(\"o.push\", 2, 5); t.set(\"o.push\", 1); t.run();
        for at in [0, 4.9, 5.1] { print(t.at(\"o.push\", at)); }";
    assert_eq!(printed(script), [1.0, 1.0, 2.0]);
}

#[test]
fn a_state_is_held_or_started_elsewhere() {
    near(&printed("t.hold(\"o.v\", 0.5); t.run(); print(t.at_end(\"o.x\"));"), &[6.0]);
    near(&printed("t.start(\"o.x\", \"2 m\"); t.run(); print(t.at_end(\"o.x\"));"), &[2.0 * 10f64.cos()]);
}

#[test]
fn the_handle_of_a_run_is_of_no_use_after_it() {
    for (word, why) in
        [("t.value(\"o.x\")", "only while a run is under way"), ("t.time()", "while a run is under way")]
    {
        let told = performed(&format!("t.run(); {word};")).err().expect("refused").to_string();
        assert!(told.contains(why) && told.contains("s.rhai:2:"), "{told}");
    }
    let late = performed("t.once(\"time\", rises_above(2), |now| now.step(\"o.push\", 1, 1)); t.run();");
    assert!(late.err().expect("refused").to_string().contains("1 s has passed: it is 2.000 s now"));
}

#[test]
fn two_runs_are_equal_to_the_last_byte() {
    let script = "t.whenever(\"o.x\", falls_below(0), |now| now.pulse(\"o.push\", 1, 0.7));
        t.once(\"o.v\", rises_above(0.3), |now| now.ramp(\"o.push\", 0.4, 2)); t.run();";
    let bytes = || {
        let outcome = performed(script).unwrap_or_else(|told| panic!("{told}"));
        serde_json::to_string(&outcome.trials[0].findings.values).expect("written")
    };
    let first = bytes();
    assert!(first.len() > 1000);
    assert_eq!(first, bytes());
}

#[test]
fn what_is_no_number_is_named_though_no_rate_depends_on_it() {
    let outcome = performed("t.step(\"o.push\", 4, 5); t.run();").unwrap_or_else(|told| panic!("{told}"));
    let error = outcome.trials[0].trial.error.as_ref().expect("told").to_string();
    assert_eq!(error, "at 5 s o: motion gave no finite value for o.root");
    for ask in ["t.at_end(\"o.root\")", "t.highest(\"o.root\")", "t.lowest(\"o.root\")"] {
        let told = performed(&format!("t.step(\"o.push\", 4, 5); t.run(); {ask};"));
        assert!(told.err().expect("refused").to_string().contains("o.root is NaN in this run"));
    }
}

/// 490 short trials leave room for little more; what longer ones record uses it up.
#[test]
fn trials_are_charged_by_what_they_record() {
    let trials = |script: &str| {
        let script = format!("t.tolerance(1e-13); let n = 0; while n < 490 {{ {script} t.run(); n += 1; }}");
        performed(&script)
    };
    assert!(trials("t.lasts(0.01);").is_ok());
    let told = trials("t.lasts(12);").err().expect("refused").to_string();
    assert!(told.contains("one more for each 256 bytes it records"), "{told}");
}
