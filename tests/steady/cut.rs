//! Cutting blades: against tub and curve of the cut craft, against the law of a torque that is held, and what a plan does
//! without doubt.

use std::path::Path;

use engine::analysis::{Analysis, Answer, Craft, Given};
use engine::diagnostic::Diagnostics;
use engine::setup::Setup;
use foilborne::PARTS;
use foilborne::steady::ANALYSES;
use foilborne::steady::curve::findings::Findings;
use foilborne::steady::curve::sweep::Curve;
use foilborne::steady::trim::Trim;
use serde_json::Value;

use crate::craft::model;

const BOARD: &str = "scenarios/setups/demo_board.yaml";
const TUB: &str = "scenarios/setups/demo_tub.yaml";
/// A rider who can hold the pull of any of these cuts at the hump.
const LONG_ARMS: (&str, &str) = ("rider.reach", "600 mm");

fn analysis(name: &str) -> &'static Analysis {
    ANALYSES.iter().find(|a| a.name == name).unwrap()
}

fn asked(
    name: &str,
    file: &str,
    changes: &[(&str, &str)],
    said: &[(&str, &str)],
) -> Result<Answer, Diagnostics> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let analysis = analysis(name);
    let mut setup = Setup::load(root.join(file), root)?;
    for (path, value) in changes {
        setup.change(path, *value, "test")?;
    }
    let mut given = Given::new(Craft::new(setup, PARTS)?, PARTS, analysis.options)?;
    for (option, text) in said {
        given.say(analysis.options.iter().find(|o| o.name == *option).unwrap(), text)?;
    }
    (analysis.answer)(&given)
}

fn stage<'a>(answer: &'a Answer, way: &str, millimetres: f64) -> &'a Value {
    let all = answer.values["stages"].as_array().unwrap();
    let same =
        |s: &&Value| s["cut"] == way && (s["removed_m"].as_f64().unwrap() - 1e-3 * millimetres).abs() < 1e-9;
    all.iter().find(same).unwrap_or_else(|| panic!("no {way} {millimetres} mm"))
}

fn told(stage: &Value, measure: &str, what: &str) -> f64 {
    stage["measures"][measure][what].as_f64().unwrap_or_else(|| panic!("no {what} of {measure}: {stage}"))
}

#[test]
fn each_cut_reads_as_the_tub_does_with_the_cut_in_the_setup() {
    let answer = asked("cut", TUB, &[], &[("removed", "0 mm,5 mm,9 mm")]).unwrap();
    for way in ["tip", "outline", "scale"] {
        for removed in ["0 mm", "5 mm", "9 mm"] {
            let changes = [("propeller.cut", way), ("propeller.removed", removed)];
            let tub = asked("tub", TUB, &changes, &[("throttles", "100 %"), ("lasting", "0.1 s")]).unwrap();
            let tub = &tub.values["throttles"][0];
            let millimetres: f64 = removed[..1].parse().unwrap();
            let cut = stage(&answer, way, millimetres);
            // the same evaluation: to the last bit
            assert_eq!(told(cut, "static_thrust_N", "expected"), tub["thrust_N"].as_f64().unwrap());
            let amps = tub["battery_current_A"].as_f64().unwrap();
            assert_eq!(told(cut, "battery_current_A", "expected"), amps, "{way} {removed}");
            assert_eq!(cut["held_by"], tub["held_by"]);
        }
    }
}

#[test]
fn a_tub_leaves_out_what_moves_and_says_so() {
    let answer = asked("cut", TUB, &[], &[("removed", "0 mm,5 mm")]).unwrap();
    assert_eq!(answer.values["moves"], false);
    assert!(answer.text.contains("does not move"));
    assert!(!answer.headings.iter().any(|h| h.contains("hump") || h.contains("top_speed")));
    assert_eq!(answer.rows.len(), 6);
    for row in &answer.rows {
        assert_eq!(row.len(), answer.headings.len());
        assert!(row.iter().all(|cell| cell.is_number() || cell.is_string()), "{row:?}");
    }
    for heading in answer.headings.iter().skip(1).filter(|h| *h != "held_by") {
        assert!(heading.ends_with(']'), "{heading} has no unit");
    }
}

/// On the motor-current limit the torque is held, so that T ∝ K_T/K_Q of the propeller: its relative uncertainty is
/// the root of the sum of squares.
#[test]
fn doubt_of_thrust_is_that_of_a_held_torque() {
    let said = [("removed", "0 mm,5 mm"), ("thrust-spread", "3 %"), ("torque-spread", "4 %")];
    let answer = asked("cut", TUB, &[], &said).unwrap();
    let now = stage(&answer, "tip", 0.0);
    assert_eq!(now["held_by"], "motor current");
    let share =
        told(now, "static_thrust_N", "standard_uncertainty") / told(now, "static_thrust_N", "expected");
    // 5 %; losses that grow with speed take some 3 % of the torque, the curvature of 1/K_Q some 1 % of the spread
    assert!((share / 0.05 - 1.0).abs() < 0.05, "{share}");
    assert!(told(now, "motor_current_dc_equivalent_A", "standard_uncertainty") < 1e-9, "held by its limit");
}

#[test]
fn without_doubt_there_is_none_in_the_plan() {
    let said = [
        ("removed", "0 mm,5 mm,9 mm"),
        ("thrust-spread", "0 %"),
        ("torque-spread", "0 %"),
        ("exponent-spread", "0"),
    ];
    let answer = asked("cut", TUB, &[], &said).unwrap();
    let plans = answer.values["plans"].as_array().unwrap();
    assert_eq!(plans.len(), 2, "tip and outline, by thrust alone");
    for plan in plans {
        for step in plan["steps"].as_array().unwrap() {
            let (gain, regret) = (step["gain"].as_f64().unwrap(), step["regret"].as_f64().unwrap());
            // eight equal numbers and their mean: round-off
            assert!(step["standard_uncertainty"].as_f64().unwrap() < 1e-9);
            assert_eq!(regret, if gain > 0.0 { 0.0 } else { 1.0 });
        }
    }
}

#[test]
fn on_the_water_it_is_what_the_curve_says_and_the_same_twice() {
    let ask = || asked("cut", BOARD, &[LONG_ARMS], &[("removed", "0 mm,5 mm")]).unwrap();
    let answer = ask();
    let measure = "least_margin_over_hump_N";
    for (way, millimetres) in [("tip", 0.0), ("outline", 5.0), ("scale", 5.0)] {
        let removed = format!("{millimetres} mm");
        let changes = [LONG_ARMS, ("propeller.cut", way), ("propeller.removed", &*removed)];
        let trim = Trim::of(&model(BOARD, &changes)).unwrap();
        let speeds: Vec<f64> = (0..60).map(|i| 0.5 + 0.15 * f64::from(i)).collect();
        let found = Findings::of(&Curve::new(&trim, 1.0, &speeds).unwrap());
        let cut = stage(&answer, way, millimetres);
        let margin = told(cut, measure, "expected");
        println!("{way} {removed}: {margin} N, {:?}", found.over);
        // both find the least between their speeds, to a millimetre a second or so: a tenth of a newton
        assert!((margin - found.over.margin().unwrap()).abs() < 0.1, "{way} {removed}");
        assert!(told(cut, "take_off_time_s", "expected") > 0.0);
    }
    assert!(answer.values["plans"].as_array().unwrap().iter().any(|p| p["measure"] == measure));
    let again = ask();
    assert_eq!((answer.text, answer.values, answer.rows), (again.text, again.values, again.rows));
}

#[test]
fn a_propeller_that_was_cut_goes_on_from_there_in_the_same_way() {
    let changes = [("propeller.cut", "tip"), ("propeller.removed", "4 mm")];
    let answer = asked("cut", TUB, &changes, &[("removed", "0 mm,2 mm,8 mm")]).unwrap();
    let all = answer.values["stages"].as_array().unwrap();
    let removed: Vec<f64> = all.iter().map(|s| (1e3 * s["removed_m"].as_f64().unwrap()).round()).collect();
    assert_eq!(removed, [4.0, 8.0]);
    assert!(all.iter().all(|s| s["cut"] == "tip"));
    assert!(answer.text.contains("does not grow back"));
}

#[test]
fn what_has_no_blades_and_what_is_cut_away_is_refused() {
    let error = |changes: &[(&str, &str)], said: &[(&str, &str)]| {
        asked("cut", TUB, changes, said).map(|_| ()).unwrap_err().render(false)
    };
    let table = "{part: propeller_table, diameter: 160 mm, forward: 0 mm, below: 0 mm, \
                 open_water: {J: [0, 0.3, 0.6, 0.9], KT: [0.40, 0.31, 0.19, 0.05], KQ: [0.055, 0.046, 0.033, 0.016]}}";
    let told = error(&[("propeller", table)], &[]);
    assert!(told.contains("no blades to cut") && told.contains("propeller_outline"), "{told}");
    assert!(error(&[("propeller", "~")], &[]).contains("propeller"));
    assert!(error(&[], &[("removed", "0 mm,60 mm")]).contains("less than a third"));
    assert!(error(&[], &[("removed", "5")]).contains("removed"));
}

/// The demo's rider cannot hold the pull of full throttle at the hump: a margin there would be one of half a way.
#[test]
fn a_hump_that_no_equilibrium_leads_over_is_not_told() {
    let said = [
        ("removed", "0 mm,8 mm"),
        ("thrust-spread", "0 %"),
        ("torque-spread", "0 %"),
        ("exponent-spread", "0"),
        ("hump-spread", "0 %"),
    ];
    let answer = asked("cut", BOARD, &[], &said).unwrap();
    let now = stage(&answer, "tip", 0.0);
    assert!(now["measures"]["least_margin_over_hump_N"]["expected"].is_null());
    assert!(answer.text.contains("no equilibrium leads over the hump"));
    // runs through time do tell, and the best by them is none of the tub's
    assert!(told(now, "take_off_time_s", "expected") > 0.0);
    assert!(answer.values["best"].as_array().unwrap().iter().any(|b| b["measure"] == "take_off_time_s"));
}

/// … and can hold half of it: there the margin is the curve's, and the lever is told as what holds the drive.
#[test]
fn at_part_throttle_it_is_what_tub_and_curve_say_there() {
    let said = [
        ("removed", "0 mm,8 mm"),
        ("throttle", "50 %"),
        ("thrust-spread", "0 %"),
        ("torque-spread", "0 %"),
        ("exponent-spread", "0"),
        ("hump-spread", "0 %"),
    ];
    let answer = asked("cut", BOARD, &[], &said).unwrap();
    assert!(answer.text.contains("50 % throttle, cold") && answer.text.contains("opened further"));
    for removed in ["0 mm", "8 mm"] {
        let changes = [("propeller.cut", "tip"), ("propeller.removed", removed)];
        let stage = stage(&answer, "tip", removed.trim_end_matches(" mm").parse().unwrap());
        assert_eq!(stage["held_by"], "throttle");
        let tub = asked("tub", BOARD, &changes, &[("throttles", "50 %")]).unwrap();
        let thrust =
            tub.rows[0][tub.headings.iter().position(|h| h == "thrust [N]").unwrap()].as_f64().unwrap();
        // the same equilibrium, solved twice
        assert!((told(stage, "static_thrust_N", "expected") - thrust).abs() < 1e-6 * thrust, "{removed}");
        let trim = Trim::of(&model(BOARD, &changes)).unwrap();
        let speeds: Vec<f64> = (0..60).map(|i| 0.5 + 0.15 * f64::from(i)).collect();
        let found = Findings::of(&Curve::new(&trim, 0.5, &speeds).unwrap());
        let margin = told(stage, "least_margin_over_hump_N", "expected");
        // as at full throttle: the least is found to a millimetre a second
        assert!((margin - found.over.margin().unwrap()).abs() < 0.1, "{removed}");
    }
}

/// The board's factor at the hump moves the take-off; nothing at rest, and a tub has none.
#[test]
fn the_hump_is_in_doubt_on_the_water_only() {
    let said = |spread| [("removed", "0 mm,3 mm"), ("throttle", "55 %"), ("hump-spread", spread)];
    let (sure, drawn) =
        (asked("cut", BOARD, &[], &said("0 %")).unwrap(), asked("cut", BOARD, &[], &said("50 %")).unwrap());
    let sd = |answer: &Answer, measure| told(stage(answer, "tip", 0.0), measure, "standard_uncertainty");
    assert_eq!((sure.values["draws"].as_u64(), drawn.values["draws"].as_u64()), (Some(8), Some(10)));
    // the same numbers and one pair of equal ones more
    assert_eq!(sd(&sure, "static_thrust_N"), sd(&drawn, "static_thrust_N"));
    let share = |answer: &Answer| {
        sd(answer, "take_off_time_s") / told(stage(answer, "tip", 0.0), "take_off_time_s", "expected")
    };
    println!("{} {}", share(&sure), share(&drawn));
    assert!(share(&drawn) > share(&sure));
    // a shift that is the same for all cuts is no doubt of a gain: the plan hardly changes
    let gain = |answer: &Answer| {
        let plans = answer.values["plans"].as_array().unwrap();
        let plan = plans.iter().find(|p| p["measure"] == "take_off_time_s" && p["cut"] == "tip").unwrap();
        plan["steps"][0]["standard_uncertainty"].as_f64().unwrap()
    };
    println!("{} {}", gain(&sure), gain(&drawn));
    assert!(gain(&drawn) < sd(&drawn, "take_off_time_s"));
    let notes = drawn.values["notes"].to_string();
    assert!(notes.contains("k_hump -25 / +50 %") && notes.contains("30 %"), "{notes}");
    assert!(sure.values["notes"].to_string().contains("not the board's at the hump"));
    assert!(asked("cut", TUB, &[], &[("removed", "0 mm,3 mm")]).unwrap().values["k_hump"].is_null());
}

#[test]
fn no_table_is_wider_than_a_page_and_none_tells_minus_nil() {
    for file in [BOARD, "scenarios/setups/demo_traced.yaml"] {
        let answer = asked("cut", file, &[], &[("removed", "0 mm,10 mm")]).unwrap();
        // rows of a table have gaps, words have not
        let rows = answer.text.lines().filter(|line| line.trim().contains("  "));
        let widest = rows.map(|line| line.chars().count());
        assert!(widest.max().unwrap() <= 100, "{}", answer.text);
    }
    let spreads = ["thrust-spread", "torque-spread", "hump-spread"].map(|name| (name, "0 %"));
    let said = [&spreads[..], &[("exponent-spread", "0"), ("removed", "0 mm,10 mm")]].concat();
    let answer = asked("cut", BOARD, &[], &said).unwrap();
    assert!(!answer.text.contains("-0 ") && !answer.text.contains("± -"), "{}", answer.text);
}

/// All-up mass against what is carried: the one grows with the rider, the other with the volume.
#[test]
fn a_board_that_sinks_at_rest_is_told_so_in_kilograms() {
    let numbers = |changes: &[(&str, &str)]| -> [f64; 2] {
        let told = asked("cut", BOARD, changes, &[]).map(|_| ()).unwrap_err().render(false);
        assert!(told.contains("sinks at rest") && told.contains("more volume"), "{told}");
        let after = |words: &str| -> f64 {
            let rest = told.split(words).nth(1).unwrap_or_else(|| panic!("{words}: {told}"));
            rest.split_whitespace().next().unwrap().parse().unwrap()
        };
        [after("it weighs "), after("under water ")]
    };
    let [mass, carried] = numbers(&[("rider.mass", "150 kg")]);
    let [heavier, same] = numbers(&[("rider.mass", "160 kg")]);
    let [_, more] = numbers(&[("rider.mass", "160 kg"), ("board.volume", "158 L")]);
    assert!(mass > carried);
    // told to 0.1 kg each
    assert!((heavier - mass - 10.0).abs() < 0.11 && (same - carried).abs() < 0.01, "{mass} {heavier}");
    // 3 L of water weigh 2.99 to 3.08 kg, from fresh and warm to the sea's
    assert!((2.88..3.19).contains(&(more - carried)), "{carried} {more}");
    let curve = asked("curve", BOARD, &[("rider.mass", "150 kg")], &[("points", "20")]).unwrap();
    assert!(curve.text.contains("NOT AFLOAT: it sinks at rest"), "{}", curve.text);
}
