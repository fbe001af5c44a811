//! Beliefs whose truth is known.

use std::rc::Rc;

use engine::calibration::Calibrated;
use engine::inquiry::Said;
use foilborne::workbench::belief::INQUIRY;
use serde_json::{Map, Value, json};

use crate::bench::Bench;

fn found(bench: &Bench) -> Calibrated {
    Rc::new(bench.draw(2).problem).fit().expect("a fit")
}

fn ask(found: &Calibrated, said: Value) -> Result<(Map<String, Value>, String), String> {
    let Value::Object(said) = said else { panic!("a map") };
    let told = |told: engine::diagnostic::Diagnostics| format!("{told:?}");
    let said = Said::new(&INQUIRY, Said { values: said, seed: 5, ..Said::default() }).map_err(told)?;
    (INQUIRY.answer)(found, &said).map(|answer| (answer.values, answer.text)).map_err(told)
}

#[test]
fn a_speed_that_was_read_is_supported_and_another_refuted() {
    let found = found(&Bench::demo());
    let speed = |is: &str| {
        let said = json!({"says": "it turns so fast", "readings": "165 mm", "quantity": "shaft_speed",
                          "value": is, "within": "60 rpm"});
        ask(&found, said).expect("an answer")
    };
    let mean = speed("2000 rpm").0["mean"].as_f64().expect("a number") * 60.0 / std::f64::consts::TAU;
    let (right, _) = speed(&format!("{mean} rpm"));
    assert_eq!(right["verdict"], "supported");
    let (wrong, text) = speed(&format!("{} rpm", 2.0 * mean));
    assert_eq!(wrong["verdict"], "refuted");
    // twice the speed at an unchanged propeller is four times the thrust
    assert!(text.contains("2 times as much") && text.contains("would give 4 times the thrust"), "{text}");
    // a belief whose edge lies at the mean is true in half of the draws: 500 of them are good to 2 %, five of those
    let (open, _) = speed(&format!("{} rpm", mean + 60.0));
    let probability = open["probability"].as_f64().expect("a number");
    assert!((probability - 0.5).abs() < 0.11, "{probability}");
}

#[test]
fn the_limit_that_binds_is_told_from_one_that_does_not() {
    let found = found(&Bench::demo());
    let limit = |name: &str| {
        ask(&found, json!({"says": "a limit holds it back", "readings": "165 mm", "limit": name}))
    };
    let (motor, _) = limit("motor current").expect("an answer");
    let (battery, text) = limit("battery current").expect("an answer");
    assert_eq!((&motor["verdict"], &battery["verdict"]), (&json!("supported"), &json!("refuted")), "{text}");
    assert!(text.contains("what binds is motor current"), "{text}");
    let told = limit("batery current").expect_err("no such limit");
    assert!(told.contains("battery current"), "{told}");
}

#[test]
fn the_reading_that_decides_is_one_that_was_not_taken_and_leaves_less() {
    let mut bench = Bench::demo();
    bench.instruments.retain(|i| i.heading == "volts" || i.heading == "pack amps");
    let found = found(&bench);
    let said = json!({"says": "the big one turns slower", "readings": "140 mm", "ratio_to": "165 mm",
                      "quantity": "shaft_speed", "value": 1.5, "within": 0.1});
    let (values, text) = ask(&found, said).expect("an answer");
    let (before, after) = (&values["standard_deviation"], &values["deciding"]["standard_deviation_after"]);
    assert!(after.as_f64() < before.as_f64(), "{text}");
    let quantity = values["deciding"]["quantity"].as_str().expect("a name");
    assert!(!["bus_voltage", "battery_current"].contains(&quantity), "{text}");
}

#[test]
fn nonsense_is_refused_with_its_reason() {
    let found = found(&Bench::demo());
    for (said, part) in [
        (json!({"says": "x", "readings": "165 mm"}), "about one thing"),
        (json!({"says": "x", "readings": "165", "limit": "motor current"}), "no set of readings"),
        (
            json!({"says": "x", "readings": "165 mm", "quantity": "shaft_sped", "value": 1, "within": 1}),
            "shaft_speed",
        ),
        (json!({"says": "x", "readings": "165 mm", "quantity": "shaft_speed", "within": 1}), "needs `value`"),
        (
            json!({"says": "x", "readings": "165 mm", "quantity": "shaft_speed", "value": "3 kg", "within": 1}),
            "of another kind",
        ),
        (
            json!({"says": "x", "readings": "165 mm", "throttle": "120 %", "limit": "motor current"}),
            "out of range",
        ),
        (json!({"readings": "165 mm", "limit": "motor current"}), "says"),
    ] {
        let told = ask(&found, said.clone()).expect_err("nonsense");
        assert!(told.contains(part), "{said}: {told}");
    }
}
