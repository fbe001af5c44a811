//! Trials: parts that are missing or ambiguous, results that are out of date, expectations that fail.

use std::path::Path;

use crate::harness::Folder;
use crate::scripts::TRIAL;

const SECOND: &str = "{part: battery, cells_in_series: 12, strings_in_parallel: 9, cell_capacity: 4 A·h, \
    cell_resistance: 13 mΩ, fast_resistance: 5 mΩ, fast_time: 12 s, slow_resistance: 6 mΩ, slow_time: 180 s, \
    trip_current: 140 A, trip_time: 3 s, mass: 8 kg, forward: 750 mm, below: -60 mm}";

#[test]
fn a_missing_part_is_told_by_who_misses_what() {
    let f = Folder::new();
    let words =
        ["no part of this setup provides battery_emf [V]", "read by shaft: ", "setups/demo_drive.yaml:"];
    f.refuses(&format!("{TRIAL}c.change(\"battery\", \"~\");\nt.run();"), &words);
    let f = Folder::new();
    f.edit("setups/demo_tub.yaml", "parts:\n", "parts:\n  battery: ~\n")
        .refuses(&format!("{TRIAL}t.run();"), &words);
    f.run(&["explain", "setups/demo_tub.yaml"]).is_refused(&words);
}

#[test]
fn a_missing_quantity_is_told_once_with_its_readers() {
    let f = Folder::new();
    std::fs::copy(f.root().join("setups/demo_board.yaml"), f.root().join("setups/b.yaml")).unwrap();
    f.put("setups/a.yaml", "setup: 1\nbased_on: b.yaml\nparts:\n  motion: ~\n");
    let done = f.run(&["explain", "setups/a.yaml"]);
    done.is_refused(&["no part of this setup provides surge_speed [m/s]", "read by", "more"]);
    assert_eq!(done.err.matches("provides surge_speed [").count(), 1, "{}", done.err);
}

/// A craft that stays in the water has no take-off: to ask for its time is no mistake.
#[test]
fn what_a_missing_result_has_is_missing_and_the_expectation_fails() {
    let f = Folder::new();
    let script = format!(
        "{TRIAL}let r = t.run();\nexpect(\"in time\", r.take_off.time_s, below(8));\n\
         expect(\"early\", r[\"take_off\"][\"time_s\"], is_none());"
    );
    let done = f.put("s.rhai", &script).run(&["run", "s.rhai"]);
    assert_eq!((done.code, done.err.as_str()), (Some(1), ""), "{}", done.out);
    assert!(done.out.contains("s.rhai:3: in time: expected below 8, found none"), "{}", done.out);
    let done = f.run(&["run", "--json", "s.rhai"]);
    let json: serde_json::Value = serde_json::from_str(&done.out).unwrap();
    let check = &json["expectations"][0];
    assert_eq!((done.code, &check["holds"], &check["found_value"]), (Some(1), &false.into(), &().into()));
    assert_eq!(json["expectations"][1]["holds"], true);
}

#[test]
fn first_flight_at_too_little_throttle_fails_its_expectations() {
    let f = Folder::new();
    let flight = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/first_flight.rhai");
    let text = std::fs::read_to_string(flight).unwrap();
    assert!(text.contains("\"55 %\""));
    f.put("first_flight.rhai", text.replace("\"55 %\"", "\"10 %\""));
    let done = f.run(&["run", "--json", "first_flight.rhai"]);
    let json: serde_json::Value =
        serde_json::from_str(&done.out).unwrap_or_else(|e| panic!("{e}: {}", done.err));
    assert_eq!((done.code, &json["foilborne"], &json["take_off"]), (Some(1), &false.into(), &().into()));
}

#[test]
fn the_trace_ends_with_the_run() {
    let f = Folder::new();
    f.put("s.rhai", format!("{TRIAL}t.every(0.15);\nt.run();"));
    assert_eq!(f.run(&["run", "s.rhai", "--trace", "t.csv"]).code, Some(0));
    let text = std::fs::read_to_string(f.root().join("t.csv")).unwrap();
    let times: Vec<&str> = text.lines().skip(1).filter_map(|row| row.split(',').next()).collect();
    assert_eq!(times, ["0", "0.15", "0.2"]);
}

#[test]
fn an_expanded_setup_expands_to_itself() {
    for setup in ["demo_tub", "demo_board"] {
        let f = Folder::new();
        let once = f.run(&["expand", &format!("setups/{setup}.yaml")]);
        assert_eq!(once.code, Some(0), "{}", once.err);
        let twice = f.put("setups/full.yaml", &once.out).run(&["expand", "setups/full.yaml"]);
        assert_eq!(once.out, twice.out);
    }
}

#[test]
fn ambiguous_wiring_says_how_to_choose() {
    let second = format!("{TRIAL}c.change(\"second\", \"{SECOND}\");\n");
    let f = Folder::new();
    let words = ["battery, second provide", "from: { battery_emf: … }", "setups/demo_drive.yaml:", "shaft"];
    f.refuses(&format!("{second}t.run();"), &words);
    f.refuses(
        &format!("{TRIAL}c.change(\"shaft.from.battery_emf\", \"batery\");\nt.run();"),
        &["s.rhai:2:", "no part `batery`", "did you mean `battery`?"],
    );
    f.refuses(
        &format!("{TRIAL}c.change(\"shaft.from.battery_emf\", \"water\");\nt.run();"),
        &["s", "takes battery_emf from water, which does not provide it"],
    );
}

#[test]
fn many_mistakes_fit_a_screen() {
    let f = Folder::new();
    let mut setup = String::from("setup: 1\nparts:\n");
    (0..200).for_each(|i| setup.push_str(&format!("  part_{i}: {{part: nonsense}}\n")));
    f.put("setups/demo_tub.yaml", setup)
        .refuses(&format!("{TRIAL}t.run();"), &["more", "setups/demo_tub.yaml:3:"]);
}

#[test]
fn a_later_change_does_not_touch_an_earlier_result() {
    let script = format!(
        "{TRIAL}t.set(\"controller.throttle\", 0.5);\nt.run();\nlet before = t.at_end(\"propeller.thrust\");\n\
         c.change(\"propeller.diameter\", \"120 mm\");\nprint(t.at_end(\"propeller.thrust\") == before);\n\
         t.run();\nprint(t.at_end(\"propeller.thrust\") < before);"
    );
    assert_eq!(Folder::new().takes(&script).trim(), "true\ntrue");
}

#[test]
fn a_time_the_run_did_not_reach_has_no_value() {
    let script = format!(
        "{TRIAL}t.run();\nprint(t.at(\"propeller.thrust\", 0.3) == ());\nprint(t.at(\"time\", 0.2));"
    );
    assert_eq!(Folder::new().takes(&script).trim(), "true\n0.2");
}

#[test]
fn an_action_that_uses_its_own_trial_is_told_how() {
    let script = format!("{TRIAL}t.once(\"time\", rises_above(0.1), |now| print(t.time()));\nt.run();");
    Folder::new().refuses(&script, &["s.rhai", "this action uses a trial that is in use", "|now| now.value"]);
}

#[test]
fn two_trials_that_act_on_each_other_end() {
    let script = format!(
        "{TRIAL}let u = trial(\"u\", c); u.lasts(0.2);\nu.once(\"time\", rises_above(0.1), |now| t.run());\n\
         t.once(\"time\", rises_above(0.1), |now| u.run());\nt.run();"
    );
    Folder::new().refuses(&script, &["s.rhai:", "in use already"]);
}

#[test]
fn two_runs_of_a_scenario_give_the_same_bytes() {
    let f = Folder::new();
    let script = format!(
        "{TRIAL}t.once(\"time\", rises_above(0.1), |now| now.set(\"controller.throttle\", 0.4));\nt.run();"
    );
    f.put("s.rhai", script);
    let run = || f.run(&["run", "--json", "s.rhai"]);
    let (first, second) = (run(), run());
    assert_eq!((first.code, first.err.as_str()), (Some(0), ""));
    assert_eq!(first.out, second.out);
}

#[test]
fn a_failing_expectation_is_told_in_full_and_is_no_error() {
    let f = Folder::new();
    let script =
        format!("{TRIAL}let r = t.run();\nexpect(\"time at the end\", t.at_end(\"time\"), above(1));\n");
    let done = f.put("s.rhai", &script).run(&["run", "s.rhai"]);
    assert_eq!((done.code, done.err.as_str()), (Some(1), ""));
    let told = "s.rhai:3: time at the end: expected above 1, found 0.2, off by 0.8";
    assert!(done.out.contains(told), "{}", done.out);
    let done = f.run(&["run", "--json", "s.rhai"]);
    let json: serde_json::Value = serde_json::from_str(&done.out).unwrap();
    let check = &json["expectations"][0];
    assert_eq!((done.code, &check["holds"], &check["line"]), (Some(1), &false.into(), &3.into()));
    assert_eq!(check["found_value"], 0.2);
}

#[test]
fn a_value_outside_its_range_is_refused_where_it_is_stated() {
    let refused =
        |rest: &str, words: &[&str]| Folder::new().refuses(&format!("{TRIAL}{rest}\nt.run();"), words);
    let throttle = ["s.rhai:2:", "controller.throttle is out of range", "from 0 to 1"];
    refused(
        "t.set(\"controller.throttle\", 60);",
        &[&throttle[..], &["found 60", "did you mean \"60 %\"?"]].concat(),
    );
    refused(
        "t.set(\"controller.throttle\", \"60\");",
        &[&throttle[..], &["did you mean \"60 %\"?"]].concat(),
    );
    refused(
        "t.ramp(\"controller.throttle\", \"101 %\", \"50 ms\", \"50 ms\");",
        &[&throttle[..], &["101 %"]].concat(),
    );
    refused(
        "t.pulse(\"propeller.ventilation\", -0.1, 0, 1);",
        &["s.rhai:2:", "propeller.ventilation", "from 0 to 1"],
    );
    refused(
        "t.start(\"battery.state_of_charge\", 80);",
        &["s.rhai:2:", "state_of_charge", "did you mean \"80 %\"?"],
    );
    refused("t.start(\"motor.winding_temperature\", 1e300);", &["s.rhai:2:", "from -40 to 200 °C", "1e300"]);
    for huge in ["1e300", "-1e300", "1e6", "\"1e300 m/s\""] {
        refused(
            &format!("t.set(\"water.current\", {huge});"),
            &["s.rhai:2:", "water.current", "from -5 to 5 m/s"],
        );
    }
    // within an action, and in a line below
    refused(
        "t.once(\"time\", rises_above(0.1), |now| {\n  now.set(\"controller.throttle\", 60);\n});",
        &["controller.throttle is out of range", "did you mean \"60 %\"?"],
    );
}

#[test]
fn the_ends_of_a_range_belong_to_it() {
    let script = format!(
        "{TRIAL}t.set(\"controller.throttle\", \"100 %\");\nt.set(\"water.current\", \"18 km/h\");\n\
         t.pulse(\"propeller.ventilation\", 1, 0.05, 0.05);\nt.run();"
    );
    Folder::new().takes(&script);
}

#[test]
fn wiring_that_nobody_asks_for_is_refused() {
    Folder::new().refuses(
        &format!("{TRIAL}c.change(\"shaft.from.batery_emf\", \"battery\");\nt.run();"),
        &["shaft: from: batery_emf is not a quantity", "did you mean battery_emf?"],
    );
}

/// A board that does not carry its rider at rest is told so in kilograms, with the way to begin all the same, which works.
#[test]
fn a_board_that_sinks_at_rest_is_told_so_and_may_begin_under_way() {
    let f = Folder::new();
    let run = |begin: &str| {
        f.put(
            "sinks.rhai",
            format!(
                "let c = setup(\"setups/demo_board.yaml\");\nc.change(\"rider.mass\", \"140 kg\");\n\
                 let t = trial(\"x\", c);\nt.lasts(\"1 s\");\n{begin}\nt.run();\n"
            ),
        );
        let done = f.run(&["run", "sinks.rhai"]);
        (done.code, done.out.split_whitespace().collect::<Vec<_>>().join(" "))
    };
    let (code, told) = run("");
    // an answer like others, not a run that broke off
    assert_eq!(code, Some(0), "{told}");
    for words in [
        "it sinks at rest: it weighs",
        "kg all up",
        "start_as_set()",
        "start(\"motion.surge_speed\", \"2 m/s\")",
    ] {
        assert!(told.contains(words), "{words}\n{told}");
    }
    let (code, told) = run("t.start_as_set();\nt.start(\"motion.surge_speed\", \"2 m/s\");");
    assert!(code == Some(0) && !told.contains("sinks at rest"), "{told}");
}
