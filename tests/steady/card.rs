//! The bench card: what it expects is what `tub` reads, what is filled in can be read back, and readings that come from
//! the model are reduced to what the model made them from.

use std::path::Path;
use std::process::Command;

use engine::analysis::{Answer, Craft, Given};
use engine::diagnostic::Diagnostics;
use engine::readings::{Layout, Readings};
use engine::setup::Setup;
use foilborne::PARTS;
use foilborne::steady::ANALYSES;
use foilborne::workbench::checks::{Verdict, checks};
use foilborne::workbench::page::{Measured, Spread, filled};
use foilborne::workbench::reduce::{Reduced, reduce};
use foilborne::workbench::row::rows;
use foilborne::workbench::thrust::{Balance, BalanceUnsure};
use foilborne::workbench::{Drive, DriveUnsure, Row, Unsure};
use serde_json::Value;

fn craft(file: &str, changes: &[(&str, &str)]) -> Result<Craft, Diagnostics> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut setup = Setup::load(root.join("scenarios/setups").join(file), root)?;
    for (path, value) in changes {
        setup.change(path, *value, "test")?;
    }
    Craft::new(setup, PARTS)
}

fn ask(name: &str, craft: Craft, said: &[(&str, &str)]) -> Result<Answer, Diagnostics> {
    let analysis = ANALYSES.iter().find(|a| a.name == name).unwrap();
    let mut given = Given::new(craft, PARTS, analysis.options)?;
    for (name, value) in said {
        given.say(analysis.options.iter().find(|o| o.name == *name).unwrap(), value)?;
    }
    (analysis.answer)(&given)
}

fn card(file: &str, changes: &[(&str, &str)], said: &[(&str, &str)]) -> Answer {
    ask("card", craft(file, changes).unwrap(), said).unwrap_or_else(|e| panic!("{e}"))
}

fn number(row: &Value, key: &str) -> f64 {
    row[key].as_f64().unwrap_or_else(|| panic!("{key} in {row}"))
}

fn near(found: f64, expected: f64, relative: f64) {
    assert!((found - expected).abs() <= relative * expected.abs(), "{found} instead of {expected}");
}

/// The readings of `tub` as rows.
fn of_tub(throttles: &Value) -> Vec<(Row, &Value)> {
    let row = |t: &Value| Row {
        throttle: Some(number(t, "throttle")),
        bus_voltage: Some(number(t, "bus_voltage_V")),
        battery_current: Some(number(t, "battery_current_A")),
        motor_current: Some(number(t, "motor_current_A")),
        shaft_speed: Some(number(t, "shaft_speed_rpm") * std::f64::consts::PI / 30.0),
        duty: Some(number(t, "duty")),
        thrust: Some(number(t, "thrust_N")),
        ..Row::default()
    };
    throttles.as_array().unwrap().iter().map(|t| (row(t), t)).collect()
}

#[test]
fn the_card_expects_what_tub_reads() {
    let said = [("throttles", "30 %,100 %"), ("lasting", "10 s")];
    let tub = ask("tub", craft("demo_rig.yaml", &[]).unwrap(), &said).unwrap();
    let card = card("demo_rig.yaml", &[], &said);
    for (t, c) in
        tub.values["throttles"].as_array().unwrap().iter().zip(card.values["steps"].as_array().unwrap())
    {
        // the same evaluation
        for (of_tub, of_card) in [
            ("net_thrust_N", "expected_thrust_N"),
            ("motor_current_A", "expected_motor_current_A"),
            ("battery_current_A", "expected_battery_current_A"),
            ("bus_voltage_V", "expected_bus_voltage_V"),
            ("winding_temperature_degC", "expected_winding_temperature_degC"),
        ] {
            near(number(c, of_card), number(t, of_tub), 1e-12);
        }
        // arms of 640 and 800 mm: 0.8 of the pull at the hook
        near(number(c, "expected_scale_reading_kg"), 0.8 * number(t, "net_thrust_N") / 9.80665, 1e-12);
    }
}

#[test]
fn one_page_with_a_blank_for_every_reading() {
    let answer = card("demo_rig.yaml", &[], &[]);
    let lines = answer.text.lines().count();
    // a page holds some sixty lines, the cautions come on top
    assert!(lines < 45, "{lines} lines\n{}", answer.text);
    // five steps; scale, pull, two currents, volts, rpm, duty, three temperatures
    assert_eq!(answer.text.split_whitespace().filter(|word| *word == "______").count(), 5 * 10);
    for word in
        ["Stop if", "the winding is above 100 °C", "below 39.0 V", "arm.strength is at its end", "expected"]
    {
        assert!(answer.text.contains(word), "{word}\n{}", answer.text);
    }
    assert!(answer.closing.contains("Stand clear of the arm") && answer.closing.contains("Lithium"));
    let plain = card("demo_tub.yaml", &[], &[]);
    assert!(!plain.text.contains("scale\n") && !plain.closing.contains("loaded arm"), "{}", plain.text);
}

#[test]
fn steps_by_current_hold_that_current_and_are_counted_as_the_controller_counts() {
    let rms = [("controller.motor_current", "75 A"), ("controller.motor_current_is", "phase rms")];
    let answer = card("demo_rig.yaml", &rms, &[("currents", "20 A,60 A"), ("lasting", "1 s")]);
    let steps = answer.values["steps"].as_array().unwrap();
    for (step, limit) in steps.iter().zip([20.0, 60.0]) {
        // √(3/2); the search for the shaft's speed ends at round-off of ω, and current goes with its square
        near(number(step, "expected_motor_current_A"), limit * 1.5f64.sqrt(), 1e-9);
    }
    assert!(
        answer.text.contains("ph. rms") && answer.headings.iter().any(|h| h == "motor_current_phase_rms [A]")
    );
    assert_eq!(answer.values["controller_counts_motor_current_as"], "phase rms");
}

#[test]
fn a_step_beyond_the_rig_is_forbidden() {
    let answer = card("demo_rig.yaml", &[], &[("currents", "95 A,130 A"), ("lasting", "1 s")]);
    let plain = answer.text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(plain.contains("At 130 A: DO NOT MAKE THIS STEP: arm.strength is at its end"), "{plain}");
    assert!(!plain.contains("At 95 A: DO NOT"), "{plain}");
    // marked in its row, in a column of its own, and without blanks: those of one step are left
    assert!(plain.contains("! 130 A expected"), "{plain}");
    assert_eq!(answer.text.split_whitespace().filter(|word| *word == "______").count(), 10);
    let column = answer.headings.iter().position(|h| h == "do_not_make_this_step [1]").unwrap();
    let marks: Vec<_> = answer.rows.iter().map(|row| row[column].as_f64().unwrap()).collect();
    assert_eq!(marks, [0.0, 1.0]);
    let rows = answer.text.lines().filter(|line| line.contains("______") && !line.contains("Date"));
    assert!(rows.map(|line| line.chars().count()).max().unwrap() <= 100, "{}", answer.text);
}

#[test]
fn a_drive_that_does_not_turn_is_told_of_once() {
    let empty = [("battery.state_of_charge", "0 %")];
    let answer = card("demo_rig.yaml", &empty, &[("lasting", "1 s")]);
    let plain = answer.text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(plain.matches("the drive does not turn").count(), 1, "{plain}");
    assert!(plain.contains("it is empty") && plain.contains("charge 0 %"), "{plain}");
}

#[test]
fn what_cannot_be_is_refused() {
    let refused = |name: &str, changes: &[(&str, &str)], said: &[(&str, &str)]| {
        craft(name, changes).and_then(|c| ask("card", c, said)).err().unwrap().to_string()
    };
    assert!(refused("demo_rig.yaml", &[], &[("currents", "5000 A")]).contains("out of range"));
    assert!(refused("demo_rig.yaml", &[], &[("currents", "0.01 A")]).contains("no such limit"));
    assert!(refused("demo_rig.yaml", &[], &[("throttles", "120 %")]).contains("out of range"));
    assert!(refused("demo_rig.yaml", &[], &[("off", "0 %")]).contains("out of range"));
    // a closed throttle is a step like another
    let closed = card("demo_rig.yaml", &[], &[("throttles", "0 %"), ("lasting", "1 s")]);
    assert!(!closed.text.contains("NaN"), "{}", closed.text);
}

/// The table as written by the command, filled in by hand, read back and put beside what was expected.
#[test]
fn a_table_that_was_filled_in_is_read_back() {
    let folder = std::env::temp_dir().join(format!("foilborne-card-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let file = folder.join("card.csv");
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let run = Command::new(env!("CARGO_BIN_EXE_foilborne"))
        .args([
            "card",
            "scenarios/setups/demo_rig.yaml",
            "--throttles",
            "30 %,60 %",
            "--lasting",
            "1 s",
            "--csv",
        ])
        .arg(&file)
        .current_dir(root)
        .output()
        .unwrap();
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    let text = std::fs::read_to_string(&file).unwrap();
    std::fs::remove_dir_all(&folder).unwrap();
    let empty = rows(&Readings::parse("card.csv", &text, &Layout::default()).unwrap());
    assert_eq!(empty.len(), 2);
    assert!(
        empty
            .iter()
            .all(|(_, r)| r.throttle.is_some() && r.scale_reading.is_none() && r.motor_current.is_none())
    );

    // fill in: all as expected, but for a scale that shows half as much again at 60 %
    let mut lines: Vec<Vec<String>> =
        text.lines().map(|line| line.split(',').map(String::from).collect()).collect();
    let heads = lines[0].clone();
    let place = |name: &str| heads.iter().position(|h| h.starts_with(&format!("{name} ["))).unwrap();
    for line in lines.iter_mut().skip(1) {
        for name in
            ["scale_reading", "battery_current", "motor_current", "bus_voltage", "shaft_speed", "duty"]
        {
            line[place(name)] = line[place(&format!("expected_{name}"))].clone();
        }
    }
    let shown: f64 = lines[2][place("scale_reading")].parse().unwrap();
    lines[2][place("scale_reading")] = format!("{:.2}", 1.5 * shown);
    let text = lines.iter().map(|line| line.join(",") + "\n").collect::<String>();
    let read = rows(&Readings::parse("card.csv", &text, &Layout::default()).unwrap());
    let craft = craft("demo_rig.yaml", &[]).unwrap();
    let (steps, convention) = foilborne::steady::card::steps(&craft, PARTS, &[0.3, 0.6], 1.0).unwrap();
    let measured: Vec<Measured> = read
        .iter()
        .enumerate()
        .map(|(step, (_, row))| Measured { step, row: *row, unsure: Unsure::default() })
        .collect();
    let page = filled(&steps, &measured, &Spread::default(), convention);
    // 50 % at a spread of 10 %
    assert!(page.contains("! 60 %, line 3: scale kg is odd") && page.contains("+5.0 standard"), "{page}");
    assert_eq!(page.matches("is odd").count() + page.matches("is suspicious").count(), 1, "{page}");
}

/// Every state of the model must come out of the reduction as it went in: same torque, same power, both duties alike.
#[test]
fn the_models_own_readings_are_reduced_to_what_made_them() {
    for changes in [
        &[][..],
        &[("motor.phase_inductance", "25 µH"), ("motor.pole_pairs", "7"), ("shaft.inertia", "0.002 kg·m²")],
    ] {
        let tub = ask(
            "tub",
            craft("demo_rig.yaml", changes).unwrap(),
            &[("throttles", "20 %,50 %,100 %"), ("lasting", "0.1 s")],
        )
        .unwrap();
        let drive = Drive::of(&craft("demo_rig.yaml", changes).unwrap()).unwrap();
        for (row, told) in of_tub(&tub.values["throttles"]) {
            let found = reduce(&row, &Unsure::default(), &drive, &DriveUnsure::default());
            let of = |name: &str| found.get(name).and_then(Reduced::value).unwrap();
            // the shaft's speed is found to round-off, the torque's balance to some more; with inertia to 1e-9 or so
            near(of("shaft_torque"), number(told, "propeller_torque_N_m"), 1e-7);
            near(of("shaft_power"), number(told, "shaft_power_W"), 1e-7);
            near(of("duty_by_currents"), of("duty_by_speed"), 1e-9);
            near(of("bridge_duty"), row.duty.unwrap(), 1e-9);
            near(of("figure_of_merit"), number(told, "figure_of_merit"), 1e-7);
            let sure = Unsure {
                bus_voltage: Some(0.05),
                battery_current: Some(0.1),
                motor_current: Some(0.1),
                shaft_speed: Some(0.1),
                duty: Some(0.001),
                thrust: Some(1.0),
                ..Unsure::default()
            };
            let all = checks(&row, &sure, &drive, &DriveUnsure::default());
            assert!(all.iter().all(|c| c.verdict == Verdict::Agrees), "{all:?}");
            // what holds the model holds the reading
            let binding = found.limits.iter().any(|l| l.binds);
            assert!(binding, "{:?}", found.limits);
        }
    }
}

#[test]
fn what_the_model_puts_on_the_scale_is_the_pull_again() {
    let changes = [
        ("lever.misalignment", "6 deg"),
        ("lever.scale_slope", "1.03"),
        ("lever.scale_offset", "0.4 kg"),
        ("lever.tare", "1.1 kg"),
        ("lever.wet_volume", "3 L"),
        ("lever.wet_below", "500 mm"),
        ("lever.lean", "3 deg"),
    ];
    let answer = card("demo_rig.yaml", &changes, &[("lasting", "0.1 s")]);
    let balance = Balance::of(&craft("demo_rig.yaml", &changes).unwrap()).unwrap();
    for step in answer.values["steps"].as_array().unwrap() {
        let shown = number(step, "expected_scale_reading_kg");
        let pull = balance.thrust(&[shown], &BalanceUnsure::default()).unwrap().value;
        // there and back: round-off
        near(pull, number(step, "expected_thrust_N"), 1e-12);
    }
    assert!(Balance::of(&craft("demo_tub.yaml", &[]).unwrap()).is_none());
}
