//! A drive whose every reading follows from its own equations is reduced to what it was made from.

use super::super::checks::{Verdict, checks};
use super::super::drive::{Cause, Drive, DriveUnsure, Shift, ThrottleSets};
use super::super::row::{CurrentConvention, Row, Unsure};
use super::*;

pub const DRIVE: Drive = Drive {
    k: 0.083,
    r: 0.021,
    r_leads: 0.002,
    temperature: 20.0,
    reactance: 0.0,
    r_ctrl: 0.003,
    c0: 0.15,
    c1: 1e-4,
    c2: 1e-7,
    idle: 5.0,
    switching: 0.001,
    duty_max: 0.94,
    motor_current_max: 95.0,
    battery_current_max: 70.0,
    voltage_min: 39.0,
    shaft_speed_max: 1e6,
    diameter: 0.165,
    rho: 998.6,
    throttle_sets: ThrottleSets::Duty,
};

pub const UNSURE: Unsure = Unsure {
    time: None,
    throttle: None,
    bus_voltage: Some(0.1),
    battery_current: Some(0.5),
    motor_current: Some(1.0),
    shaft_speed: Some(1.0),
    duty: Some(0.005),
    scale_reading: None,
    thrust: Some(4.0),
    winding_temperature: Some(3.0),
    state_of_charge: None,
};

/// Readings that agree: 80 A, 240 rad/s, 52 V, the winding at 60 °C.
pub fn sound() -> Row {
    let (i, omega, v, t) = (80.0, 240.0, 52.0, 60.0);
    let r = 0.021 * (234.5 + t) / 254.5 + 0.002;
    let bridge = 0.083 * omega + (r + 0.003) * i;
    Row {
        line: 7,
        throttle: Some(1.0),
        bus_voltage: Some(v),
        battery_current: Some((bridge * i + 5.0 + 0.001 * v * i) / v),
        motor_current: Some(i),
        shaft_speed: Some(omega),
        duty: Some(bridge / v),
        thrust: Some(300.0),
        winding_temperature: Some(t),
        ..Row::default()
    }
}

#[test]
fn torque_and_duty_come_back() {
    let found = reduce(&sound(), &UNSURE, &DRIVE, &DriveUnsure::default());
    let of = |name: &str| found.get(name).unwrap().value().unwrap();
    let torque = 0.083 * 80.0 - (0.15 + 1e-4 * 240.0 + 1e-7 * 240.0 * 240.0);
    // the same arithmetic in another order: round-off
    assert!((of("shaft_torque") - torque).abs() < 1e-12);
    assert!((of("shaft_power") - 240.0 * torque).abs() < 1e-9);
    assert!((of("duty_by_currents") - of("duty_by_speed")).abs() < 1e-14);
    let n = 240.0 / TAU;
    assert!((of("thrust_coefficient") * 998.6 * n * n * 0.165f64.powi(4) - 300.0).abs() < 1e-9);
    assert!((of("torque_coefficient") / of("thrust_coefficient") - torque / 300.0 / 0.165).abs() < 1e-12);
    // what goes in comes out: shaft, copper, controller and the motor's loss torque
    let loss = 240.0 * (0.15 + 1e-4 * 240.0 + 1e-7 * 240.0 * 240.0);
    let sum = of("shaft_power") + of("copper_loss") + of("controller_loss") + loss;
    assert!((of("electrical_power") - sum).abs() < 1e-9, "{sum}");
}

#[test]
fn uncertainties_are_those_by_hand() {
    let k = Cause { name: "K".into(), shift: Shift { k: 0.001, ..Shift::default() } };
    let found = reduce(&sound(), &UNSURE, &DRIVE, &DriveUnsure { causes: vec![k] });
    let u = |name: &str| found.get(name).unwrap().u().unwrap();
    // torque: K · 1 A, 80 A · 0.001, slope of the losses (1e-4 + 2e-7 · 240) · 1 rad/s
    let torque = 0.083f64.hypot(0.08).hypot(1.48e-4);
    assert!((u("shaft_torque") / torque - 1.0).abs() < 1e-8);
    // a power product: relative parts 0.1/52 and 0.5/I_b
    let i_b = sound().battery_current.unwrap();
    let power = (0.1f64 / 52.0).hypot(0.5 / i_b) * 52.0 * i_b;
    assert!((u("electrical_power") / power - 1.0).abs() < 1e-8);
    // 4 N of 300, 2 · 1/240
    let k_t = (4.0f64 / 300.0).hypot(2.0 / 240.0);
    let relative = u("thrust_coefficient") / found.get("thrust_coefficient").unwrap().value().unwrap();
    assert!((relative / k_t - 1.0).abs() < 1e-3, "slopes of 1/n²: {relative} {k_t}");
}

#[test]
fn what_one_cause_does_to_several_constants_adds_with_its_signs() {
    let u = |shifts: &[Shift], name: &str| {
        let causes = shifts.iter().map(|&shift| Cause { name: "a cause".into(), shift }).collect();
        let found = reduce(&sound(), &Unsure::default(), &DRIVE, &DriveUnsure { causes });
        found.get(name).and_then(Reduced::u).unwrap()
    };
    let (c0, c1) = (Shift { c0: 0.01, ..Shift::default() }, Shift { c1: -0.01 / 240.0, ..Shift::default() });
    // together 0.01 − 0.01/240 · 240: nothing; each for itself √2 · 0.01
    let both = Shift { c1: c1.c1, ..c0 };
    assert!(u(&[both], "shaft_torque") < 1e-12);
    assert!((u(&[c0, c1], "shaft_torque") - 0.01 * 2f64.sqrt()).abs() < 1e-12);
    // 1 % on K and on all of the loss torque is 1 % on what is left
    let share = 0.01;
    let k = Shift {
        k: share * DRIVE.k,
        c0: share * DRIVE.c0,
        c1: share * DRIVE.c1,
        c2: share * DRIVE.c2,
        ..Shift::default()
    };
    let torque = value(&sound(), "shaft_torque");
    assert!((u(&[k], "shaft_torque") / torque / share - 1.0).abs() < 1e-9);
    // resistance of winding (60 °C) and leads, 80 A: both ends of one cause
    let warm = (234.5 + 60.0) / 254.5;
    let r = Shift { r: 0.001, r_leads: 0.0001, ..Shift::default() };
    assert!((u(&[r], "copper_loss") - 6400.0 * (0.001 * warm + 0.0001)).abs() < 1e-9);
}

fn value(row: &Row, name: &str) -> f64 {
    let found = reduce(row, &UNSURE, &DRIVE, &DriveUnsure::default());
    found.get(name).and_then(Reduced::value).unwrap()
}

#[test]
fn whatever_is_missing_is_named_and_nothing_is_made_up() {
    let bare = Row { thrust: Some(300.0), battery_current: Some(30.0), ..Row::default() };
    let found = reduce(&bare, &Unsure::default(), &DRIVE, &DriveUnsure::default());
    for q in &found.quantities {
        let why = q.result.as_ref().unwrap_err();
        assert!(why.contains("was not read"), "{}: {why}", q.name);
    }
    assert!(found.get("electrical_power").unwrap().result.as_ref().unwrap_err().contains("pack voltage"));
    let told = text("a", &found);
    assert!(told.to_lowercase().contains("a tub is not open water"), "{told}");
    assert!(!told.contains("NaN"), "{told}");
}

#[test]
fn nonsense_yields_reasons_not_numbers() {
    let zero = Some(0.0);
    let still = Row {
        motor_current: zero,
        shaft_speed: zero,
        bus_voltage: zero,
        thrust: zero,
        battery_current: zero,
        ..Row::default()
    };
    let found = reduce(&still, &UNSURE, &DRIVE, &DriveUnsure::default());
    for q in &found.quantities {
        assert!(q.result.as_ref().map_or(true, |b| b.value.is_finite() && b.u.is_finite()), "{q:?}");
    }
    let infinite = Row { motor_current: Some(f64::INFINITY), ..sound() };
    assert!(
        reduce(&infinite, &UNSURE, &DRIVE, &DriveUnsure::default())
            .get("shaft_torque")
            .unwrap()
            .result
            .is_err()
    );
}

#[test]
fn the_limit_that_binds_is_found_and_the_margins_of_the_others() {
    let full = Row { motor_current: Some(95.0), ..sound() };
    let found = reduce(&full, &UNSURE, &DRIVE, &DriveUnsure::default());
    assert_eq!(found.limits[0].name, "motor current");
    assert!(found.limits[0].binds && found.limits.iter().skip(1).all(|l| !l.binds), "{:?}", found.limits);
    let battery = found.limits.iter().find(|l| l.name == "battery current").unwrap();
    let expected = full.battery_current.unwrap() / 70.0 - 1.0;
    assert!((battery.margin.value().unwrap() - expected).abs() < 1e-14);
    // part throttle holds the duty
    let duty = sound().duty.unwrap();
    let part = Row { throttle: Some(duty / 0.94), ..sound() };
    let found = reduce(&part, &UNSURE, &DRIVE, &DriveUnsure::default());
    assert_eq!(found.limits.iter().filter(|l| l.binds).map(|l| l.name).collect::<Vec<_>>(), ["throttle"]);
}

#[test]
fn checks_pass_what_agrees_and_find_what_does_not() {
    let verdicts = |row: &Row| {
        checks(row, &UNSURE, &DRIVE, &DriveUnsure::default()).iter().map(|c| c.verdict).collect::<Vec<_>>()
    };
    use Verdict::{Agrees, NotTold, Odd};
    assert_eq!(verdicts(&sound()), [Agrees; 5]);
    // 1600 W at the shaft lift no more than 440 N with this disc
    assert_eq!(verdicts(&Row { thrust: Some(520.0), ..sound() })[2], Odd);
    // currents interchanged
    let (b, m) = (sound().battery_current, sound().motor_current);
    assert_eq!(verdicts(&Row { battery_current: m, motor_current: b, ..sound() })[4], Odd);
    // a low battery current: more comes out than goes in
    assert_eq!(verdicts(&Row { battery_current: Some(25.0), ..sound() })[3], Odd);
    assert_eq!(verdicts(&Row { duty: None, ..sound() })[1], NotTold);
    let untold = checks(&sound(), &Unsure::default(), &DRIVE, &DriveUnsure::default());
    assert!(untold.iter().all(|c| c.verdict == NotTold && c.score.is_none()));
}

#[test]
fn a_motor_current_in_another_convention_is_recognised() {
    for (convention, word) in [
        (CurrentConvention::PhasePeak, "phase peak"),
        (CurrentConvention::PhaseRms, "phase rms"),
        (CurrentConvention::PowerInvariant, "power-invariant"),
    ] {
        let wrong = Row { motor_current: Some(convention.from_dc(80.0)), ..sound() };
        let found = checks(&wrong, &UNSURE, &DRIVE, &DriveUnsure::default());
        let hint = found[0].hint.as_deref().unwrap();
        assert!(hint.contains(word), "{hint}");
    }
}
