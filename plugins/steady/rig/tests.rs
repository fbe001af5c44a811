use std::path::Path;

use engine::analysis::{Answer, Craft, Given};
use engine::diagnostic::Diagnostics;
use engine::setup::Setup;
use serde_json::Value;

use super::ANALYSIS;
use crate::PARTS;

fn asked(changes: &[(&str, &str)]) -> Result<Answer, Diagnostics> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut setup = Setup::load(root.join("scenarios/setups/demo_rig.yaml"), root)?;
    for (path, value) in changes {
        setup.change(path, *value, "test")?;
    }
    (ANALYSIS.answer)(&Given::new(Craft::new(setup, PARTS)?, PARTS, ANALYSIS.options)?)
}

fn first(answer: &Answer, by: &str, key: &str) -> Value {
    answer.values[by][0][key].clone()
}

/// The pull at which the arm is strained as much as it may be, by closed form and by the search.
#[test]
fn the_first_margin_ends_where_the_closed_form_says() {
    let alone = [("key", "~"), ("fuse", "~"), ("arm.lateral_offset", "0 mm")];
    let answer = asked(&alone).unwrap();
    assert_eq!(first(&answer, "ends_by_current", "margin"), "arm.strength");
    // 40 × 50 × 4 mm: F = R_p I/(n φ a c), 150 MPa (above 3 mm), n = 3, φ = 1.5, a = 640 mm
    let i = (40.0 * 50f64.powi(3) - 32.0 * 42f64.powi(3)) / 12.0 * 1e-12;
    let pull = 150e6 * i / (3.0 * 1.5 * 0.64 * 0.025);
    let found = first(&answer, "ends_by_current", "net_thrust_N").as_f64().unwrap();
    // the root is found to round-off of the current
    assert!((found / pull - 1.0).abs() < 1e-9, "{found} {pull}");
}

#[test]
fn a_weld_lets_less_through_by_current_and_by_throttle() {
    let at = |answer: &Answer, by, key| first(answer, by, key).as_f64().unwrap();
    let (plain, welded) = (asked(&[]).unwrap(), asked(&[("arm.welded", "\"yes\"")]).unwrap());
    let limits = (at(&welded, "ends_by_current", "limit_A"), at(&plain, "ends_by_current", "limit_A"));
    assert!(limits.0 < limits.1, "{limits:?}");
    // the whole arm stands full throttle at the setup's limit, the welded one does not
    assert!(plain.values["ends_by_throttle"].as_array().unwrap().is_empty());
    let throttle = at(&welded, "ends_by_throttle", "throttle");
    assert!(throttle > 0.05 && throttle < 1.0);
    // the same pull breaks it, whichever way it was turned up: found to round-off of throttle and current
    let pulls = ["ends_by_current", "ends_by_throttle"].map(|by| at(&welded, by, "net_thrust_N"));
    assert!((pulls[0] / pulls[1] - 1.0).abs() < 1e-9, "{pulls:?}");
}

#[test]
fn what_an_ampere_is_called_changes_no_pull() {
    let (dc, peak) = (asked(&[]).unwrap(), asked(&[("controller.motor_current_is", "phase peak")]).unwrap());
    let of = |answer: &Answer, key: &str| first(answer, "ends_by_current", key).as_f64().unwrap();
    assert!((of(&dc, "net_thrust_N") / of(&peak, "net_thrust_N") - 1.0).abs() < 1e-9);
    // a peak ampere is worth √3/2 of a DC-equivalent one
    assert!((of(&dc, "limit_A") / of(&peak, "limit_A") - 0.75f64.sqrt()).abs() < 1e-9);
    assert!(peak.text.contains("DC-equivalent"));
}

#[test]
fn margins_of_the_table_fall_and_are_numbers() {
    let answer = asked(&[]).unwrap();
    // thirty limits and twenty throttles
    assert_eq!(answer.rows.len(), 50);
    assert!(
        answer.rows.iter().all(|row| row.len() == answer.headings.len() && row.iter().all(Value::is_number))
    );
    for pair in answer.rows[..30].windows(2) {
        // a drive held by its battery gives the same again, up to round-off
        assert!((5..pair[0].len()).all(|k| pair[1][k].as_f64() <= pair[0][k].as_f64().map(|x| x + 1e-9)));
    }
}

#[test]
fn what_is_too_weak_from_the_start_says_so() {
    let answer = asked(&[("lever.hook_capacity", "5 N")]).unwrap();
    assert_eq!(first(&answer, "ends_by_current", "place"), "at or below");
    assert!(answer.text.contains("lever.hook at or below 9.5 A"), "{}", answer.text);
}

#[test]
fn without_a_rig_it_asks_for_one() {
    let without = [("lever", "~"), ("arm", "~"), ("key", "~"), ("fuse", "~")];
    let told = asked(&without).map(|_| ()).unwrap_err().render(false);
    assert!(told.contains("margin of a bench rig") && told.contains("`lever`"), "{told}");
    let told = asked(&[("propeller", "~")]).map(|_| ()).unwrap_err().render(false);
    assert!(told.contains("propeller"), "{told}");
}
