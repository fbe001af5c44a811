//! The drive at rest: against time runs, against what no propeller can exceed, and whether what it says of two
//! drives is so.

use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;

use engine::analysis::{Analysis, Answer, Craft, Given};
use engine::diagnostic::Diagnostics;
use engine::run::{Options, Run};
use engine::setup::Setup;
use foilborne::PARTS;
use foilborne::steady::ANALYSES;
use serde_json::Value;

fn analysis() -> &'static Analysis {
    ANALYSES.iter().find(|a| a.name == "tub").unwrap()
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// A bench: one drive over still water, its propeller half a metre down.
struct Bench {
    diameter_mm: f64,
    pitch_ratio: f64,
    /// Further lines of controller, shaft and battery.
    controller: &'static str,
    shaft: &'static str,
    battery: &'static str,
}

const PLAIN: Bench = Bench {
    diameter_mm: 150.0,
    pitch_ratio: 0.8,
    controller: "motor_current: 75 A, battery_current: 120 A",
    shaft: "",
    battery: "",
};

impl Bench {
    fn text(&self) -> String {
        let Bench { diameter_mm, pitch_ratio, controller, shaft, battery } = self;
        format!(
            "
setup: 1
parts:
  water: {{temperature: 15 °C}}
  air: {{}}
  test_stand: {{depth: 500 mm}}
  battery: {{cells_in_series: 14, strings_in_parallel: 9, cell_resistance: 14 mΩ, fast_resistance: 5 mΩ,
    slow_resistance: 6 mΩ, state_of_charge: 80 %, {battery}}}
  wiring: {{battery_run: 500 mm, phase_run: 800 mm}}
  controller: {{{controller}}}
  motor: {{speed_constant: 90 rpm/V, resistance: 18 mΩ, no_load_current: 2.2 A}}
  shaft: {{{shaft}}}
  propeller: {{part: propeller_series, diameter: {diameter_mm} mm, pitch_ratio: {pitch_ratio}, area_ratio: 0.55,
    forward: 0 mm, below: 0 mm}}
"
        )
    }
}

fn craft(text: &str) -> Result<Craft, Diagnostics> {
    Craft::new(Setup::from_text("setup in a test", text, root())?, PARTS)
}

/// Asks of one setup, or of one against another.
fn ask(text: &str, other: Option<&str>, said: &[(&str, &str)]) -> Result<Answer, Diagnostics> {
    let analysis = analysis();
    let mut given = Given::new(craft(text)?, PARTS, analysis.options)?;
    let option = |name: &str| analysis.options.iter().find(|o| o.name == name).unwrap();
    for (name, value) in said {
        given.say(option(name), value)?;
    }
    if let Some(other) = other {
        given.beside(option("against"), craft(other)?);
    }
    (analysis.answer)(&given)
}

fn told(text: &str, said: &[(&str, &str)]) -> Answer {
    ask(text, None, said).unwrap_or_else(|e| panic!("{e}"))
}

fn rows(answer: &Answer) -> &[Value] {
    answer.values["throttles"].as_array().unwrap()
}

fn number(row: &Value, key: &str) -> f64 {
    row[key].as_f64().unwrap_or_else(|| panic!("{key} in {row}"))
}

/// A text without its line breaks.
fn plain(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn near(found: f64, expected: f64, share: f64, what: &str) {
    assert!((found / expected - 1.0).abs() < share, "{what}: {found} instead of {expected}");
}

/// Key in the document, quantity of a run, factor from SI.
const READINGS: [(&str, &str, f64); 5] = [
    ("thrust_N", "propeller.thrust", 1.0),
    ("shaft_speed_rpm", "shaft.shaft_speed", 30.0 / std::f64::consts::PI),
    ("motor_current_A", "shaft.motor_current", 1.0),
    ("battery_current_A", "shaft.battery_current", 1.0),
    ("bus_voltage_V", "shaft.bus_voltage", 1.0),
];

/// The end of a time run whose throttle opens within a second and stays for one more.
fn slowly(text: &str, throttle: f64) -> Vec<f64> {
    let mut run = Run::new(craft(text).unwrap().model, Options::default());
    let probe = run.model().find("controller.throttle").unwrap();
    run.input(probe).unwrap().change(0.0, 1.0, throttle);
    run.advance(2.0, &[]).unwrap();
    let found = READINGS.map(|(_, name, factor)| factor * run.value(run.model().find(name).unwrap()));
    found.to_vec()
}

/// The reading is what a time run comes to. In its two seconds at no more than 4.2 A a cell where voltage counts, the
/// pack polarises by 4.2 A (5 mΩ (1 − e^(−2/12)) + 6 mΩ · 2/180) = 3 mV of 3.9 V, 0.1 %, and the winding warms by some
/// 3 K, 1.2 % of a resistance that takes 1.5 % of the voltage: 0.1 % of speed together, 0.2 % of thrust and currents.
#[test]
fn readings_agree_with_slow_time_runs() {
    let with_inertia = Bench { shaft: "inertia: 0.002 kg·m²", ..PLAIN };
    let by_current = Bench {
        controller: "motor_current: 75 A, battery_current: 120 A, throttle_sets: current",
        shaft: "inertia: 0.002 kg·m²",
        ..PLAIN
    };
    let small = Bench { diameter_mm: 110.0, ..PLAIN };
    for bench in [PLAIN, with_inertia, by_current, small] {
        let answer = told(&bench.text(), &[("throttles", "30 %,60 %,100 %"), ("lasting", "1 s")]);
        for row in rows(&answer) {
            let run = slowly(&bench.text(), number(row, "throttle"));
            for ((key, ..), expected) in READINGS.iter().zip(run) {
                near(number(row, key), expected, 2e-3, key);
            }
        }
    }
}

/// With and without inertia the steady state is one: the speed is sought by two ways, both down to round-off.
#[test]
fn inertia_does_not_change_a_steady_state() {
    let said = [("throttles", "30 %,70 %,100 %"), ("lasting", "1 s")];
    let (at_once, later) =
        (told(&PLAIN.text(), &said), told(&Bench { shaft: "inertia: 0.01 kg·m²", ..PLAIN }.text(), &said));
    for (a, b) in rows(&at_once).iter().zip(rows(&later)) {
        for (key, ..) in READINGS {
            near(number(b, key), number(a, key), 1e-9, key);
        }
        assert_eq!(a["held_by"], b["held_by"]);
    }
}

/// Momentum theory: no disc gives its thrust for less than the ideal power. And a wider throttle never gives less.
#[test]
fn no_propeller_beats_the_ceiling_and_thrust_rises_with_throttle() {
    for diameter_mm in [90.0, 130.0, 170.0, 220.0] {
        for pitch_ratio in [0.5, 0.8, 1.1, 1.4] {
            let bench = Bench { diameter_mm, pitch_ratio, ..PLAIN };
            let answer = told(
                &bench.text(),
                &[("throttles", "5 %,10 %,20 %,40 %,60 %,80 %,90 %,100 %"), ("lasting", "1 s")],
            );
            for row in rows(&answer) {
                let (merit, overall) =
                    (number(row, "figure_of_merit"), number(row, "figure_of_merit_overall"));
                // the drive's losses lie between the two; a screw at rest that lost nothing would have 1
                assert!(0.0 < overall && overall < merit && merit < 1.0, "{row}");
                // the definition, from the numbers told
                let (t, a) = (number(row, "thrust_N"), std::f64::consts::PI / 4e6 * diameter_mm.powi(2));
                // density of fresh water of 15 °C, 999.1 kg/m³ (from memory); the root of its last digit
                let ideal = t.powf(1.5) / (2.0 * 999.1 * a).sqrt();
                near(number(row, "shaft_power_W") * merit, ideal, 1e-4, "ideal power");
            }
            for pair in rows(&answer).windows(2) {
                let thrust = |row| number(row, "thrust_N");
                let (less, more) = (thrust(&pair[0]), thrust(&pair[1]));
                // equal where a limit holds both; round-off
                assert!(more >= less * (1.0 - 1e-12), "{diameter_mm} {pitch_ratio}: {less} {more}");
            }
        }
    }
}

/// Power goes in once and comes out once: battery amperes against duty, kilogram-force against newton.
#[test]
fn numbers_of_a_row_fit_together() {
    let answer = told(&PLAIN.text(), &[("lasting", "1 s")]);
    for row in rows(&answer) {
        let [i_m, i_b, v] =
            ["motor_current_A", "battery_current_A", "bus_voltage_V"].map(|key| number(row, key));
        // default controller: 5 W idle, 0.001 for switching; its conduction loss is in the duty; no reactance. Exact
        let taken = number(row, "duty") * i_m + 5.0 / v + 0.001 * i_m;
        near(i_b, taken, 1e-9, "battery current");
        near(number(row, "thrust_kgf") * 9.80665, number(row, "thrust_N"), 1e-12, "kgf");
        let omega = number(row, "shaft_speed_rpm") * std::f64::consts::PI / 30.0;
        near(number(row, "propeller_torque_N_m") * omega, number(row, "shaft_power_W"), 1e-12, "shaft power");
        let per = number(row, "thrust_N") / number(row, "battery_power_W");
        near(number(row, "thrust_per_battery_power_N_W"), per, 1e-12, "N/W");
        // the cables' loss lies between the pack's terminals and the bus
        assert!(number(row, "battery_power_W") > v * i_b && number(row, "battery_power_W") < 1.03 * v * i_b);
    }
}

/// Words for B against A, worked out anew: less than half a per cent is told as none.
fn word(a: f64, b: f64) -> &'static str {
    let share = (b - a) / a.max(b);
    if share > 5e-3 {
        "more"
    } else if share < -5e-3 {
        "less"
    } else {
        "as much"
    }
}

/// Reasons that may be told, and what must then be so of (motor current, duty, battery current, speed, torque
/// per speed squared, torque).
const REASONS: &[(&str, [&str; 6])] = &[
    ("gives both the same motor current", ["as much", "", "", "", "", ""]),
    ("with it the same torque", ["as much", "", "", "", "", "as much"]),
    ("turns faster until", ["as much", "", "", "more", "less", ""]),
    ("comes to its end at a lower speed", ["as much", "", "", "less", "more", ""]),
    ("A faster shaft", ["", "more", "", "more", "", ""]),
    ("A slower shaft", ["", "less", "", "less", "", ""]),
    ("The duty is the same", ["", "as much", "", "", "", ""]),
    ("the same motor amperes at a higher duty", ["as much", "more", "more", "", "", ""]),
    ("the same motor amperes at a lower duty", ["as much", "less", "less", "", "", ""]),
    ("fewer motor amperes at the same duty", ["less", "as much", "less", "", "", ""]),
    ("more motor amperes at the same duty", ["more", "as much", "more", "", "", ""]),
    ("more motor amperes at a higher duty", ["more", "more", "more", "", "", ""]),
    ("fewer motor amperes at a lower duty", ["less", "less", "less", "", "", ""]),
    ("the duty has grown by more", ["less", "more", "more", "", "", ""]),
    ("motor amperes have fallen by more", ["less", "more", "less", "", "", ""]),
    ("motor amperes have grown by more", ["more", "less", "more", "", "", ""]),
    ("the duty has fallen by more", ["more", "less", "less", "", "", ""]),
    ("make up for each other", ["", "", "as much", "", "", ""]),
    ("spends it on speed", ["", "", "", "more", "", "less"]),
    ("spends it on torque", ["", "", "", "less", "", "more"]),
    ("less torque, less current", ["less", "", "", "", "", "less"]),
    ("more torque, more current", ["more", "", "", "", "", "more"]),
    ("the easier to turn", ["less", "", "", "", "less", ""]),
    ("the harder to turn", ["more", "", "", "", "more", ""]),
];

/// What the comparison says of every pair, at one throttle each, checked against the rows told beside it.
fn check(answer: &Answer, seen: &mut BTreeSet<(String, String)>, told: &mut BTreeSet<&'static str>) -> usize {
    let against = &answer.values["against"];
    let comparison = against["comparison"].as_array().unwrap();
    for ((a, b), pair) in rows(answer).iter().zip(against["throttles"].as_array().unwrap()).zip(comparison) {
        let way = |key: &str| word(number(a, key), number(b, key));
        let text = pair["in_words"].as_str().unwrap();
        let (motor, battery, thrust) = (way("motor_current_A"), way("battery_current_A"), way("thrust_N"));
        let ways = [
            motor,
            way("duty"),
            battery,
            way("shaft_speed_rpm"),
            way("torque_per_speed_squared_N_m_s2"),
            way("propeller_torque_N_m"),
        ];
        assert_eq!(
            [&pair["motor_current"], &pair["battery_current"], &pair["thrust"]],
            [motor, battery, thrust]
        );
        let outcome = text.split("So B draws ").nth(1).unwrap();
        assert!(outcome.starts_with(&format!("{battery} from the battery (")), "{text}");
        assert!(outcome.contains(&format!("), {motor} in the motor (")), "{text}");
        assert!(outcome.contains(&format!("gives {thrust} thrust (")), "{text}");
        for (reason, needs) in REASONS {
            if text.contains(reason) {
                told.insert(reason);
                for (need, found) in needs.iter().zip(ways) {
                    assert!(need.is_empty() || *need == found, "\"{reason}\" with {ways:?}: {text}");
                }
            }
        }
        let held = |row: &Value| row["held_by"].as_str().unwrap().to_string();
        assert_eq!((&pair["held_by"][0], &pair["held_by"][1]), (&a["held_by"], &b["held_by"]));
        // the limits that are named are those that bind
        for (row, part) in
            [(a, text.split(" In B ").next().unwrap()), (b, text.split(" In B ").nth(1).unwrap())]
        {
            let words = match row["held_by"].as_str().unwrap() {
                "duty" if row["limits"].as_array().unwrap().contains(&"throttle".into()) => {
                    "the throttle holds the duty"
                }
                "duty" => "the duty holds the drive",
                "motor current" => "the motor-current limit holds the drive",
                "battery current" => "the battery-current limit holds the drive",
                "under-voltage" => "the lowest voltage holds the drive",
                "shaft speed" => "the limit on the shaft speed holds the drive",
                other => panic!("{other}: {text}"),
            };
            assert!(part.starts_with(words) || part.starts_with(&format!("In A {words}")), "{words}: {text}");
            let named = row["limits"].as_array().unwrap();
            let by_name = |limit: &Value| limit == &row["held_by"] || limit == "throttle";
            assert!(named.iter().any(by_name), "{row}");
        }
        seen.insert((held(a), held(b)));
    }
    comparison.len()
}

/// Every combination of limits: the words are those of the numbers, on the same drive with two propellers and on
/// drives whose limits differ.
#[test]
fn explanations_of_every_pair_of_limits_are_true() {
    let controllers = [
        "motor_current: 75 A, battery_current: 120 A",
        "motor_current: 110 A, battery_current: 35 A",
        "motor_current: 75 A, battery_current: 45 A, speed_max: 3800 rpm",
        "motor_current: 75 A, battery_current: 120 A, voltage_min: 55 V, speed_max: 4300 rpm",
    ];
    let diameters = [200.0, 165.0, 140.0, 120.0, 104.0];
    let bench = |&controller: &&'static str| {
        diameters.map(|diameter_mm| Bench { diameter_mm, controller, ..PLAIN }.text())
    };
    let benches: Vec<String> = controllers.iter().flat_map(bench).collect();
    let (mut seen, mut told, mut pairs) = (BTreeSet::new(), BTreeSet::new(), 0);
    for a in &benches {
        for b in &benches {
            let said = [("throttles", "45 %,75 %,100 %"), ("lasting", "0.1 s")];
            let answer = ask(a, Some(b), &said).unwrap_or_else(|e| panic!("{e}"));
            pairs += check(&answer, &mut seen, &mut told);
        }
    }
    println!("{pairs} pairs, {} combinations: {seen:?}", seen.len());
    assert_eq!(pairs, 20 * 20 * 3);
    // each of the five limits against each
    assert_eq!(seen.len(), 25, "{seen:?}");
    let untold: Vec<&str> = REASONS.iter().map(|(r, _)| *r).filter(|r| !told.contains(r)).collect();
    assert!(untold.is_empty(), "{untold:?}");
}

/// Drives that differ in more than their propeller are said to.
#[test]
fn differences_beside_the_propeller_are_named() {
    let other = Bench {
        controller: "motor_current: 60 A, battery_current: 120 A",
        battery: "cell_capacity: 5 A·h, temperature: 5 °C",
        diameter_mm: 140.0,
        ..PLAIN
    };
    let answer = ask(&PLAIN.text(), Some(&other.text()), &[("throttles", "100 %")]).unwrap();
    check(&answer, &mut BTreeSet::new(), &mut BTreeSet::new());
    for words in
        ["Not the propeller alone", "motor-current limit (60.0000 against 75.0000 A)", "resistance of pack"]
    {
        assert!(plain(&answer.text).contains(words), "{}", answer.text);
    }
    let same = ask(&PLAIN.text(), Some(&Bench { diameter_mm: 140.0, ..PLAIN }.text()), &[]).unwrap();
    assert!(!same.text.contains("Not the propeller alone"), "{}", same.text);
}

/// **Common practice, no source**, as in tests/common_practice/smaller_propeller.rs: with a smaller propeller a drive
/// on its motor-current limit draws more from the battery and as much in the motor, a drive at full duty less of
/// both, and across the crossover less in the motor and more from the battery.
#[test]
fn val_common_practice_the_smaller_propeller_is_told_rightly() {
    let tub = |diameter_mm: f64| Bench { diameter_mm, ..PLAIN }.text();
    let cases = [
        (190.0, 175.0, "motor current", "motor current", "more", "as much"),
        (175.0, 160.0, "motor current", "motor current", "more", "as much"),
        (120.0, 110.0, "duty", "duty", "less", "less"),
        (110.0, 100.0, "duty", "duty", "less", "less"),
        (190.0, 120.0, "motor current", "duty", "more", "less"),
    ];
    for (large, small, held_large, held_small, battery, motor) in cases {
        let answer = ask(&tub(large), Some(&tub(small)), &[("throttles", "100 %")]).unwrap();
        let pair = &answer.values["against"]["comparison"][0];
        assert_eq!(pair["held_by"][0], held_large);
        assert_eq!(pair["held_by"][1], held_small);
        assert_eq!([&pair["battery_current"], &pair["motor_current"]], [battery, motor], "{pair}");
        let text = pair["in_words"].as_str().unwrap();
        let expected = match (held_large, held_small) {
            ("motor current", "motor current") => "turns faster until it takes it all",
            ("duty", _) => "voltage sets the speed",
            _ => "before it has loaded the motor with all its current",
        };
        assert!(text.contains(expected), "{text}");
    }
}

/// The heat is that of a time run from cold, and a limit's time is when the winding comes to its fold-back.
#[test]
fn heat_is_that_of_a_run_from_cold() {
    let text = Bench { controller: "motor_current: 110 A, battery_current: 120 A", ..PLAIN }.text();
    let answer = told(&text, &[("throttles", "20 %,100 %"), ("lasting", "240 s")]);
    let [cool, hot] = rows(&answer) else { panic!() };
    assert_eq!(cool["temperature_limit"], Value::Null);
    assert_eq!(hot["temperature_limit"], "motor temperature");
    let reached = number(hot, "temperature_limit_reached_s");

    let mut run = Run::new(craft(&text).unwrap().model, Options::default());
    let throttle = run.model().find("controller.throttle").unwrap();
    *run.input(throttle).unwrap() = engine::profile::Profile::constant(1.0);
    let winding = run.model().find("motor.winding_temperature").unwrap();
    run.advance(reached, &[]).unwrap();
    // the limit begins to fall at 100 °C, by a smoothstep: half a per cent of it is gone 0.8 K later
    let at_limit = run.value(winding);
    assert!((100.0..101.0).contains(&at_limit), "{at_limit}");
    run.advance(240.0, &[]).unwrap();
    // both integrated to 1e-6 of 30 K a step; the one began a microsecond later
    assert!((run.value(winding) - number(hot, "winding_temperature_degC")).abs() < 0.01);
    assert!(number(hot, "winding_temperature_degC") > number(cool, "winding_temperature_degC"));
}

/// A pack that opens is told, with when: 2 s at 30 A.
#[test]
fn an_opened_pack_is_told() {
    let bench = Bench { battery: "trip_current: 30 A, trip_time: 2 s", ..PLAIN };
    let answer = told(&bench.text(), &[("throttles", "20 %,100 %"), ("lasting", "10 s")]);
    let [low, high] = rows(&answer) else { panic!() };
    assert_eq!(low["protection_opened_s"], Value::Null);
    // the timer runs at full rate 1 % above the threshold; looked at every 0.02 s
    assert!((number(high, "protection_opened_s") - 2.0).abs() < 0.021, "{high}");
    assert!(answer.text.contains("pack opened 2.0 s"), "{}", answer.text);
}

/// A whole board is held where it floats: the drive does there what it does on a stand at the same depth.
#[test]
fn a_board_is_held_at_rest_where_it_floats() {
    let load = |name: &str| {
        let setup = Setup::load(root().join("scenarios/setups").join(name), root()).unwrap();
        let given = Given::new(Craft::new(setup, PARTS).unwrap(), PARTS, analysis().options).unwrap();
        (analysis().answer)(&given).unwrap_or_else(|e| panic!("{e}"))
    };
    let (board, tub) = (load("demo_board.yaml"), load("demo_tub.yaml"));
    for (a, b) in rows(&board).iter().zip(rows(&tub)) {
        // the same drive with its propeller fully wet: round-off and a microsecond of idle current
        for (key, ..) in READINGS {
            near(number(a, key), number(b, key), 1e-6, key);
        }
        // what pulls forward is less by the cosine of the trim of 3° only
        near(
            number(a, "net_thrust_N"),
            number(b, "net_thrust_N") * 3f64.to_radians().cos(),
            1e-3,
            "net thrust",
        );
    }
    assert!(board.text.contains("held at rest where it floats"), "{}", board.text);
    assert!(!tub.text.contains("held at rest where it floats"), "{}", tub.text);
}

#[test]
fn headings_have_units_and_rows_fit() {
    let small = Bench { diameter_mm: 120.0, ..PLAIN }.text();
    for other in [None, Some(small.as_str())] {
        let answer = ask(&PLAIN.text(), other, &[]).unwrap();
        let setups = if other.is_some() { 2 } else { 1 };
        assert_eq!(answer.rows.len(), 5 * setups);
        for row in &answer.rows {
            assert_eq!(row.len(), answer.headings.len());
            for (heading, cell) in answer.headings.iter().zip(row) {
                // every number has its unit in its heading, and words have none
                assert!(!cell.is_number() || heading.ends_with(']'), "{heading}");
                assert!(!cell.is_string() || !heading.contains('['), "{heading}");
            }
        }
        let unique: BTreeSet<&String> = answer.headings.iter().collect();
        assert_eq!(unique.len(), answer.headings.len());
        assert!(
            plain(&answer.closing).contains("Lithium packs burn") && plain(&answer.closing).contains("J = 0")
        );
    }
}

#[test]
fn the_command_writes_table_and_document() {
    let folder = std::env::temp_dir().join(format!("foilborne-tub-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let file = folder.join("tub.csv");
    let run = Command::new(env!("CARGO_BIN_EXE_foilborne"))
        .args(["tub", "scenarios/setups/demo_tub.yaml", "--against", "scenarios/setups/demo_tub_small.yaml"])
        .args(["--throttles", "50 %,100 %", "--lasting", "10 s", "--json", "--csv"])
        .arg(&file)
        .current_dir(root())
        .output()
        .unwrap();
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    let document: Value = serde_json::from_slice(&run.stdout).unwrap();
    assert_eq!(document["motor_current_is"], "DC-equivalent");
    for place in [&document["throttles"][1], &document["against"]["throttles"][1]] {
        for (key, ..) in READINGS {
            assert!(place[key].is_number(), "{key} in {place}");
        }
    }
    assert!(document["against"]["comparison"][1]["in_words"].is_string());
    let table = std::fs::read_to_string(&file).unwrap();
    std::fs::remove_dir_all(&folder).unwrap();
    assert!(table.starts_with("setup,throttle [1],thrust [N],"), "{table}");
    assert_eq!(table.lines().count(), 1 + 2 * 2);
}

#[test]
fn setups_without_one_drive_are_refused() {
    let refused = |text: &str| match ask(text, None, &[]) {
        Err(problems) => problems.to_string(),
        Ok(answer) => panic!("{}", answer.text),
    };
    let none = refused("setup: 1\nparts:\n  water: {}\n  air: {}\n  test_stand: {}\n");
    for what in ["propeller", "controller", "battery", "motor", "shaft"] {
        assert!(none.contains(&format!("there is no {what} in this setup")), "{none}");
    }
    // a second drive beside the first, on the same pack
    let parts = PLAIN.text();
    let parts = parts.split_once("  controller:").unwrap();
    let twin = format!(
        "{}  controller:{}\n  second: {{part: propeller_series, diameter: 150 mm, pitch_ratio: 0.8, area_ratio: 0.55, \
         forward: 0 mm, below: 0 mm}}\n",
        parts.0,
        parts.1.replace("  shaft: {}", "  shaft: {from: {propeller_torque_law: propeller}}")
    );
    let two = refused(&twin);
    assert!(two.contains("there are 2 of propeller: propeller, second"), "{two}");
    let out_of_range = ask(&PLAIN.text(), None, &[("throttles", "20 %,120 %")]).err().unwrap().to_string();
    assert!(
        out_of_range.contains("--throttles is out of range") && out_of_range.contains("120 %"),
        "{out_of_range}"
    );
}

/// Nothing is divided by nothing: a closed throttle is a row like any other.
#[test]
fn a_closed_throttle_gives_nothing_and_no_nan() {
    for shaft in ["", "inertia: 0.002 kg·m²"] {
        let text = Bench { shaft, ..PLAIN }.text();
        let answer = ask(&text, Some(&text), &[("throttles", "0 %,0.5 %,100 %")]).unwrap();
        let closed = &rows(&answer)[0];
        assert_eq!((number(closed, "thrust_N"), number(closed, "motor_current_A")), (0.0, 0.0));
        assert_eq!(closed["figure_of_merit"], Value::Null);
        assert!(!answer.text.contains("NaN") && !answer.text.contains("inf"), "{}", answer.text);
        assert!(answer.rows.iter().flatten().all(|cell| cell != "NaN"));
    }
}
