//! The whole drive: battery, leads, controller, motor and shaft together.

use foilborne::handbook::copper;
use foilborne::motor::equivalent_dc::SpeedConstant;
use foilborne::shaft::operating_point::{
    Controller, LIMIT_NAMES, Limits, Motor, OperatingPoint, Source, operating_point,
};
use foilborne::wiring::conductor;
use std::f64::consts::PI;

const LOSSLESS: Controller = Controller { idle: 0.0, resistance: 0.0, switching: 0.0 };

/// No limit but full voltage.
const OPEN: Limits = Limits {
    duty: 1.0,
    motor_current: f64::INFINITY,
    battery_current: f64::INFINITY,
    cut_off: 0.0,
    speed: f64::INFINITY,
};

fn ideal_motor(rpm_per_volt: f64) -> Motor {
    Motor {
        torque_constant: SpeedConstant::LineLinePeak.torque_constant(rpm_per_volt * PI / 30.0),
        resistance: 0.0,
        reactance: 0.0,
    }
}

fn ideal_battery(voltage: f64) -> Source {
    Source { voltage, resistance: 0.0 }
}

fn rows(file: &str) -> Vec<csv::StringRecord> {
    let path = format!("{}/tests/reference/drive/{file}", env!("CARGO_MANIFEST_DIR"));
    csv::Reader::from_path(&path).expect(&path).records().map(|row| row.unwrap()).collect()
}

fn binding(p: &OperatingPoint) -> &'static str {
    let k = (0..LIMIT_NAMES.len()).max_by(|&a, &b| p.margins[a].total_cmp(&p.margins[b])).unwrap();
    LIMIT_NAMES[k]
}

/// The synchronous motor of tests/reference/drive/pmsm_check.csv, run by the shaft's own solution at its duty.
#[test]
fn val_shaft_finds_the_simulated_operating_point() {
    let rows = rows("pmsm_check.csv");
    let get = |name: &str| -> f64 { rows.iter().find(|r| &r[0] == name).unwrap()[1].parse().unwrap() };
    let c = get("load_coefficient");
    let motor = Motor {
        resistance: 2.0 * get("R_phase"),
        reactance: 2.0 * get("pole_pairs") * get("L_q"),
        ..ideal_motor(get("Kv_line_line_peak"))
    };
    let limits = Limits { duty: get("modulation_ratio"), ..OPEN };
    let load = |w: f64| c * w * w;
    let p = operating_point(ideal_battery(get("V_dc")), motor, LOSSLESS, limits, load).unwrap();
    // 0.1 % in torque and current; the simulation scatters by 0.02 %
    for (found, expected) in [
        (p.omega, get("omega_rad_s")),
        (p.motor_current, get("i_dc_equivalent_A")),
        (p.battery_current, get("i_batt_A")),
        (load(p.omega), get("torque_Nm")),
    ] {
        assert!((found / expected - 1.0).abs() < 1e-3, "{found} {expected}");
    }
}

/// IEC 60228 class 5 resistances: tests/reference/drive/iec60228_class5.csv.
#[test]
fn val_iec_60228_conductors() {
    let rows = rows("iec60228_class5.csv");
    assert_eq!(rows.len(), conductor::CLASS_5.len());
    for row in rows {
        let [area, plain, tinned] = [0, 1, 2].map(|k| row[k].parse::<f64>().unwrap());
        for (tin, expected) in [(false, plain), (true, tinned)] {
            let found = conductor::resistance_per_metre(1e-6 * area, tin).unwrap();
            assert!((1e3 * found / expected - 1.0).abs() < 1e-12);
        }
    }
    // 10 mm², 1.5 m there and back, 60 A: 5.73 mΩ, 0.344 V, 20.6 W; three digits
    let per_metre = conductor::resistance_per_metre(10e-6, false).unwrap();
    let r = conductor::battery_side(per_metre, 1.5, 0.0, 0.0);
    assert!((r - 5.73e-3).abs() < 5e-6);
    assert!((60.0 * r - 0.344).abs() < 5e-4 && (3600.0 * r - 20.6).abs() < 0.05);
    assert!((copper::resistance_ratio(60.0, 20.0) - 1.157).abs() < 5e-4);
}

/// Static sweep of the propeller's diameter: our own numbers, tests/reference/drive/own_propeller_sweep.csv.
#[test]
fn regress_propeller_diameter_at_rest() {
    let source = Source { voltage: 44.4, resistance: 0.028 };
    let motor = Motor { resistance: 0.016, ..ideal_motor(130.0) };
    let controller = Controller { idle: 5.0, resistance: 0.003, switching: 0.0 };
    let limits = Limits { duty: 0.95, motor_current: 65.0, ..OPEN };
    let rho = 998.2; // fresh water, 20 °C
    for row in rows("own_propeller_sweep.csv") {
        let get = |k: usize| row[k].parse::<f64>().unwrap();
        let d = 1e-3 * get(0);
        let q = |w: f64| 0.030 * rho * (w / (2.0 * PI)).powi(2) * d.powi(5);
        let loss = |w: f64| 2.2 * motor.torque_constant * (w / 5.0).tanh();
        let p = operating_point(source, motor, controller, limits, |w| q(w) + loss(w)).unwrap();
        let n = p.omega / (2.0 * PI);
        let power = p.battery_voltage * p.battery_current;
        assert_eq!(binding(&p), &row[1], "{d}");
        // each printed to its last digit; the duty's conduction drop included
        for (k, found, half) in [
            (2, 60.0 * n, 0.6),
            (3, q(p.omega), 0.006),
            (4, p.motor_current, 0.06),
            (5, p.duty, 6e-4),
            (6, p.battery_current, 0.06),
            (7, p.battery_voltage, 0.06),
            (8, power, 0.6),
            (9, 0.30 * rho * n * n * d.powi(4), 0.6),
        ] {
            assert!((found - get(k)).abs() <= half, "{d} m, column {k}: {found} {}", get(k));
        }
    }
}
