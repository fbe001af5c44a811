//! Readings from a bench: reduced as published machines have it, budgets as worked by hand.

use foilborne::handbook::lever::{Lever, Scale};
use foilborne::propeller::b_series::BSeries;
use foilborne::workbench::drive::{Drive, DriveUnsure, ThrottleSets};
use foilborne::workbench::reduce::{Reduced, budget_table, reduce};
use foilborne::workbench::thrust::{Balance, BalanceUnsure, anywhere_within};
use foilborne::workbench::{Row, Unsure};

#[track_caller]
fn within(found: f64, expected: f64, absolute: f64) {
    assert!((found - expected).abs() <= absolute, "found {found}, expected {expected} within {absolute:e}");
}

/// A machine at 100 V and 100 A on a source of direct current: duty 1, a controller without losses.
fn machine(k: f64, r: f64, loss: f64) -> Drive {
    Drive {
        k,
        r,
        r_leads: 0.0,
        temperature: 20.0,
        reactance: 0.0,
        r_ctrl: 0.0,
        c0: loss,
        c1: 0.0,
        c2: 0.0,
        idle: 0.0,
        switching: 0.0,
        duty_max: 1.0,
        motor_current_max: 200.0,
        battery_current_max: 200.0,
        voltage_min: 0.0,
        shaft_speed_max: f64::INFINITY,
        diameter: 0.2,
        rho: 1000.0,
        throttle_sets: ThrottleSets::Duty,
    }
}

fn reading(rpm: f64, temperature: f64) -> Row {
    Row {
        pack_voltage: Some(100.0),
        battery_current: Some(100.0),
        motor_current: Some(100.0),
        shaft_speed: Some(rpm * std::f64::consts::PI / 30.0),
        winding_temperature: Some(temperature),
        ..Row::default()
    }
}

fn value(row: &Row, drive: &Drive, name: &str) -> f64 {
    let found = reduce(row, &Unsure::default(), drive, &DriveUnsure::default());
    found.get(name).and_then(Reduced::value).unwrap()
}

/// Modelica Standard Library, permanent-magnet DC machine, defaults: 100 V, 100 A, 1425 rpm, 0.05 Ω; 95 V inner
/// voltage, so 9.5 kW and 63.66 N·m.
#[test]
fn val_a_published_machine_without_losses() {
    let omega = 1425.0 * std::f64::consts::PI / 30.0;
    let drive = machine(95.0 / omega, 0.05, 0.0);
    let of = |name: &str| value(&reading(1425.0, 20.0), &drive, name);
    // printed to four digits
    within(of("shaft_torque"), 63.66, 0.005);
    within(of("shaft_power"), 9500.0, 1e-6);
    within(of("duty_by_speed"), 1.0, 1e-12);
    within(of("duty_by_currents"), 1.0, 1e-12);
    within(of("drive_efficiency"), 0.95, 1e-12);
}

/// The same library's machine with losses: 1417.5 rpm, 0.03864 Ω at 20 °C, winding at 95 °C, inner voltage 94.5 V behind
/// 0.5 V of brushes; copper 500 W, core 200, stray 50, friction 100 W: 9100 W, 61.30 N·m.
#[test]
fn val_a_published_machine_with_losses() {
    let omega = 1417.5 * std::f64::consts::PI / 30.0;
    let drive = machine(94.5 / omega, 0.03864, 350.0 / omega);
    let of = |name: &str| value(&reading(1417.5, 95.0), &drive, name);
    within(of("shaft_power"), 9100.0, 1e-6);
    within(of("shaft_torque"), 61.30, 0.005);
    // the library warms copper by 0.392 % per kelvin of 20 °C, IEC 60228 by 1/254.5: 0.05 % of 500 W
    within(of("copper_loss"), 500.0, 0.4);
    // without the brushes' 0.5 V, 0.3 W of copper beside
    within(of("duty_by_speed"), 0.995, 1e-4);
}

/// Our own worked example of a lever bench, after JCGM 100:2008: five readings, mean 20.00 kg, s 0.25 kg; scale ± 0.05 kg;
/// arms of 900 and 600 mm, each ± 1 mm. 294.2 N, u_c 0.59 % or 1.7 N, U 3.5 N at k = 2.
#[test]
fn regress_the_budget_of_a_lever_bench() {
    let balance = Balance {
        lever: Lever { propeller_arm: 0.6, scale_arm: 0.9, misalignment: 0.0, pivot_between: true },
        scale: Scale { slope: 1.0, offset: 0.0, tare: 0.0 },
        moment: 0.0,
    };
    let unsure = BalanceUnsure {
        scale: anywhere_within(0.05),
        scale_arm: anywhere_within(1e-3),
        propeller_arm: anywhere_within(1e-3),
        ..BalanceUnsure::default()
    };
    let found = balance.thrust(&[19.65, 19.95, 20.00, 20.05, 20.35], &unsure).unwrap();
    within(found.value, 294.2, 0.05);
    within(found.u, 1.7, 0.05);
    within(100.0 * found.u / found.value, 0.59, 0.005);
    within(2.0 * found.u, 3.5, 0.05);
    let table = budget_table(&found, "N");
    assert!(table.contains("scale arm") && table.contains("294.2 N, standard uncertainty 1.73"), "{table}");
    // misaligned by 5°: 0.4 % less pull for the same reading
    let lever = Lever { misalignment: 5f64.to_radians(), ..balance.lever };
    let off = Balance { lever, ..balance }.thrust(&[20.0], &BalanceUnsure::default()).unwrap();
    within(100.0 * (1.0 - off.value / 294.2), 0.4, 0.03);
}

/// Exponents of D for tips cut by 5 % at rest, pitch in metres kept, that the checks between propellers expect: from our
/// own B-series, blade area as before or 3 % smaller.
#[test]
fn regress_cut_tips_by_the_b_series() {
    for (blades, area_ratio) in [(3, 0.50), (4, 0.55)] {
        for pitch_ratio in [0.7, 0.8, 1.0] {
            let whole = BSeries { blades, area_ratio, pitch_ratio };
            for area in [1.0, 0.97] {
                let cut = BSeries { blades, area_ratio: area * area_ratio, pitch_ratio: pitch_ratio / 0.95 };
                let exponent = |k: f64, power: i32| (k * 0.95f64.powi(power)).ln() / 0.95f64.ln();
                let t = exponent(cut.k_t()[0] / whole.k_t()[0], 4);
                let q = exponent(cut.k_q()[0] / whole.k_q()[0], 5);
                // half-widths that the checks take
                within(t, 3.08, 0.18);
                within(q, 3.25, 0.15);
            }
        }
    }
}
