//! Which way the currents go with a smaller propeller: it depends on the limit.
//!
//! **Common practice, no source**: a drive on its motor current limit draws more from the battery and no more in the
//! motor with a smaller propeller; a drive at full duty draws less of both; and battery amperes over motor amperes
//! are the duty. The same drive (90 rpm/V, 14 cells in series, 75 A in the motor), P/D 0.8, A_E/A_0 0.55:
//!
//! | D mm | limit | motor A | battery A | duty | rpm | kgf |
//! |---|---|---|---|---|---|---|
//! | 190 | motor current | 75.0 | 27.7 | 0.37 | 1670 | 33.8 |
//! | 175 | motor current | 75.0 | 33.6 | 0.45 | 2050 | 36.6 |
//! | 160 | motor current | 75.0 | 41.5 | 0.55 | 2562 | 40.0 |
//! | 120 | duty | 57.1 | 54.4 | 0.95 | 4547 | 39.9 |
//! | 110 | duty | 39.5 | 37.6 | 0.95 | 4638 | 29.3 |
//! | 100 | duty | 26.3 | 25.1 | 0.95 | 4705 | 20.6 |

use crate::stand::{KGF, Reading, reading, trial};

fn tub(diameter_mm: f64) -> String {
    format!(
        "
setup: 1
parts:
  water: {{temperature: 15 °C}}
  air: {{}}
  ledger: {{}}
  test_stand: {{depth: 500 mm}}
  battery:
    cells_in_series: 14
    strings_in_parallel: 9
    cell_resistance: 14 mΩ
    fast_resistance: 5 mΩ
    slow_resistance: 6 mΩ
    state_of_charge: 80 %
  wiring: {{battery_run: 500 mm, phase_run: 800 mm}}
  controller: {{motor_current: 75 A, battery_current: 120 A, throttle: 100 %}}
  motor: {{speed_constant: 90 rpm/V, resistance: 18 mΩ, no_load_current: 2.2 A}}
  shaft: {{}}
  propeller:
    part: propeller_series
    diameter: {diameter_mm} mm
    pitch_ratio: 0.8
    area_ratio: 0.55
    forward: 0 mm
    below: 0 mm
"
    )
}

fn show(diameter: f64, r: &Reading) {
    println!(
        "| {diameter:.0} | {} | {:.1} | {:.1} | {:.2} | {:.0} | {:.1} |",
        r.limit,
        r.motor_current,
        r.battery_current,
        r.duty,
        60.0 * r.revs,
        r.thrust / KGF
    );
}

/// Large and small propeller on each side of where the limits meet.
fn sweep() -> [Reading; 6] {
    [190.0, 175.0, 160.0, 120.0, 110.0, 100.0].map(|d| {
        let r = reading(&tub(d));
        show(d, &r);
        r
    })
}

#[test]
fn val_common_practice_smaller_propeller_and_the_limit() {
    let [torque @ .., a, b, c] = sweep();
    for pair in torque.windows(2) {
        assert!(pair.iter().all(|r| r.limit == "motor current"), "{pair:?}");
        let ([large, small], limit) = ([&pair[0], &pair[1]], 75.0);
        // on the limit to round-off: not one ampere more in the motor
        assert!((large.motor_current - limit).abs() < 1e-6 && (small.motor_current - limit).abs() < 1e-6);
        // 8 % off the diameter is a fifth more speed, n ∝ D^−2.5; at least half of that in battery current
        assert!(small.battery_current > 1.1 * large.battery_current, "{pair:?}");
        assert!(small.thrust > large.thrust && small.duty > large.duty);
    }
    for pair in [a, b, c].windows(2) {
        assert!(pair.iter().all(|r| r.limit == "duty"), "{pair:?}");
        let [large, small] = [&pair[0], &pair[1]];
        // the speed hardly moves and torque goes as D⁵: a third off both for 8–9 % of diameter; a fifth at the least
        assert!(small.motor_current < 0.8 * large.motor_current, "{pair:?}");
        assert!(small.battery_current < 0.8 * large.battery_current, "{pair:?}");
        assert!(small.thrust < large.thrust);
    }
}

/// Common practice, no source: across the crossover motor amperes fall while battery amperes rise.
#[test]
fn val_common_practice_across_the_crossover() {
    let (large, small) = (reading(&tub(190.0)), reading(&tub(120.0)));
    assert!(small.motor_current < large.motor_current && small.battery_current > large.battery_current);
    assert_eq!((&*large.limit, &*small.limit), ("motor current", "duty"));
}

/// Common practice, no source: battery amperes over motor amperes are the duty.
#[test]
fn val_common_practice_current_ratio_is_the_duty() {
    for r in sweep() {
        // idle power, 5 W ÷ (V_b I_m), and switching, 0.001, come on top: 0.0046 at 26 A, less at more
        let ratio = r.battery_current / r.motor_current;
        assert!(ratio > r.duty && ratio < r.duty + 0.005, "{ratio} {}", r.duty);
        let losses = 5.0 / r.voltage + 0.001 * r.motor_current;
        // with them it is the controller's power balance, to round-off
        assert!((r.duty * r.motor_current + losses - r.battery_current).abs() < 1e-6, "{r:?}");
    }
}

/// What a person reads names the limit that decides which way to go.
#[test]
fn verdict_tells_the_limits_apart() {
    for (diameter, limit, other) in [(175.0, "motor current", "duty"), (110.0, "duty", "motor current")] {
        let (_, found) = trial(&tub(diameter), 3.0, None);
        let held: Vec<&str> =
            found.values["limits"].as_array().unwrap().iter().filter_map(|l| l["limit"].as_str()).collect();
        assert_eq!(held, [limit], "{diameter}");
        let told = found.text.split("What held the drive back").nth(1).unwrap();
        let told = told.lines().nth(1).unwrap();
        assert!(told.ends_with(limit) && !told.contains(other), "{}", found.text);
    }
}
