//! Four rules of thumb of a lossless drive, 100 rpm/V on 50 V. **Common practice, no source.**

use foilborne::shaft::operating_point::{
    Controller, LIMIT_NAMES, Limits, Motor, OperatingPoint, Source, operating_point,
};
use std::f64::consts::PI;

/// No limit but full voltage.
const OPEN: Limits = Limits {
    duty: 1.0,
    motor_current: f64::INFINITY,
    battery_current: f64::INFINITY,
    cut_off: 0.0,
    speed: f64::INFINITY,
};

/// K of 100 rpm/V [N·m/A].
const TORQUE_CONSTANT: f64 = 30.0 / (100.0 * PI);

/// Where the drive settles under a load that hardly depends on speed, of so many motor amperes.
fn settled(limits: Limits, amperes: f64) -> OperatingPoint {
    let motor = Motor { torque_constant: TORQUE_CONSTANT, resistance: 0.0, reactance: 0.0 };
    let lossless = Controller { idle: 0.0, resistance: 0.0, switching: 0.0 };
    let load = |w: f64| amperes * TORQUE_CONSTANT * w.tanh();
    operating_point(Source { voltage: 50.0, resistance: 0.0 }, motor, lossless, limits, load).unwrap()
}

/// Speed constant times voltage is the top speed.
#[test]
fn val_common_practice_no_load_speed() {
    let p = settled(OPEN, 1e-6);
    // a lossless machine turns at V/K whatever it carries: round-off
    assert!((p.omega * 30.0 / PI - 5000.0).abs() < 1e-6, "{p:?}");
}

/// Battery amperes are duty times motor amperes.
#[test]
fn val_common_practice_half_duty_doubles_the_current() {
    let p = settled(Limits { duty: 0.5, ..OPEN }, 80.0);
    // a lossless bridge: exact but for round-off
    assert!((p.motor_current - 80.0).abs() < 1e-9 && (p.battery_current - 40.0).abs() < 1e-9, "{p:?}");
}

/// At full duty both currents are equal, and 56 A of 50 V are 2800 W.
#[test]
fn val_common_practice_full_duty_currents_are_equal() {
    let p = settled(OPEN, 56.0);
    assert!((p.duty - 1.0).abs() < 1e-12);
    assert!((p.battery_current - 56.0).abs() < 1e-9 && (p.motor_current - 56.0).abs() < 1e-9, "{p:?}");
    assert!((p.battery_voltage * p.battery_current - 2800.0).abs() < 1e-6, "{p:?}");
}

/// 40 A from the battery and 83 A in the motor mean a duty of 0.48.
#[test]
fn val_common_practice_duty_from_two_readings() {
    let p = settled(Limits { battery_current: 40.0, ..OPEN }, 83.0);
    let binding = (0..LIMIT_NAMES.len()).max_by(|&a, &b| p.margins[a].total_cmp(&p.margins[b]));
    assert_eq!(LIMIT_NAMES[binding.unwrap()], "battery current");
    // two digits quoted
    assert!((p.duty - 0.48).abs() < 0.005, "{p:?}");
}
