use super::*;

const SOURCE: Source = Source { voltage: 44.4, resistance: 0.028 };
const MOTOR: Motor = Motor { torque_constant: 0.0735, resistance: 0.016, reactance: 0.0 };
const CONTROLLER: Controller = Controller { idle: 5.0, resistance: 0.003, switching: 1e-3 };

fn limits() -> Limits {
    Limits {
        duty: 0.95,
        motor_current: 65.0,
        battery_current: f64::INFINITY,
        cut_off: 0.0,
        speed: f64::INFINITY,
    }
}

/// A propeller in an inflow: torque c ω (ω − free), driven by the water below `free`.
fn propeller(c: f64, free: f64) -> impl Fn(f64) -> f64 {
    move |omega| c * (omega * omega.abs() - free * omega.max(0.2 * free))
}

fn solve(limits: Limits, torque: impl Fn(f64) -> f64) -> OperatingPoint {
    operating_point(SOURCE, MOTOR, CONTROLLER, limits, torque).unwrap()
}

fn binding(p: &OperatingPoint) -> &'static str {
    let k = (0..LIMITS).max_by(|&a, &b| p.margins[a].total_cmp(&p.margins[b])).unwrap();
    LIMIT_NAMES[k]
}

/// Limits that bind below the ones that bind without them.
fn cases() -> Vec<(&'static str, Limits)> {
    let l = limits();
    vec![
        ("duty", Limits { duty: 0.5, ..l }),
        ("motor current", Limits { motor_current: 20.0, ..l }),
        ("battery current", Limits { battery_current: 15.0, ..l }),
        ("under-voltage", Limits { cut_off: 43.9, ..l }),
        ("shaft speed", Limits { speed: 250.0, ..l }),
    ]
}

#[test]
fn each_limit_binds_alone_where_it_is_the_lowest() {
    let load = |w: f64| 1.5e-5 * w * w;
    let free = solve(limits(), load);
    assert_eq!(binding(&free), "duty");
    for (name, l) in cases() {
        let p = solve(l, load);
        assert_eq!(binding(&p), name);
        let worst = p.margins.iter().copied().fold(f64::MIN, f64::max);
        // Brent stops within 2 units in the last place of ω; the margins' slopes are of order 1 in ω/ω
        assert!(worst.abs() < 1e-12, "{name}: {worst:e}");
        assert!(p.omega < free.omega, "{name}");
    }
}

#[test]
fn what_the_battery_gives_is_what_is_used() {
    for (_, l) in cases().into_iter().chain([("", limits())]) {
        for (c, free) in [(1.5e-5, 0.0), (6e-5, 0.0), (1.5e-5, 150.0), (3e-5, 900.0)] {
            let p = solve(l, propeller(c, free));
            let i = p.motor_current;
            let losses = CONTROLLER.idle
                + CONTROLLER.resistance * i * i
                + CONTROLLER.switching * p.battery_voltage * i;
            let used = p.motor_voltage * i + losses;
            let given = p.battery_voltage * p.battery_current;
            assert!((given / used - 1.0).abs() < 1e-12, "{p:?}");
            let sag = SOURCE.voltage - SOURCE.resistance * p.battery_current;
            assert!((sag - p.battery_voltage).abs() < 1e-12);
            let air_gap = MOTOR.torque_constant * i * p.omega + MOTOR.resistance * i * i;
            assert!((air_gap - p.motor_voltage * i).abs() < 1e-9);
        }
    }
}

#[test]
fn the_shaft_is_in_balance() {
    let load = propeller(1.5e-5, 150.0);
    let p = solve(limits(), &load);
    // exact by construction unless the shaft windmills
    assert!((MOTOR.torque_constant * p.motor_current - load(p.omega)).abs() < 1e-12);
}

#[test]
fn a_faster_water_turns_the_shaft_without_current() {
    // free-wheeling speed above the no-load speed 0.95 · 44.4 V / K = 574 rad/s
    let p = solve(limits(), propeller(1.5e-5, 900.0));
    assert!((p.omega - 900.0).abs() < 1e-9);
    assert_eq!(p.motor_current, 0.0);
    // throttle closed under way: windmills; at rest: stands
    for closed in [Limits { duty: 0.0, ..limits() }, Limits { motor_current: 0.0, ..limits() }] {
        let p = solve(closed, propeller(1.5e-5, 150.0));
        assert!((p.omega - 150.0).abs() < 1e-9 && p.motor_current == 0.0);
        let p = solve(closed, propeller(1.5e-5, 0.0));
        assert_eq!((p.omega, p.motor_current), (0.0, 0.0));
    }
}

#[test]
fn closing_the_throttle_reaches_windmilling_without_a_jump() {
    let by_duty = |x: f64| Limits { duty: 0.95 * x, ..limits() };
    let by_current = |x: f64| Limits { motor_current: 65.0 * x, ..limits() };
    for throttle in [&by_duty as &dyn Fn(f64) -> Limits, &by_current] {
        let at = |x| solve(throttle(x), propeller(1.5e-5, 150.0)).omega;
        let speeds: Vec<f64> = (0..=2000).map(|i| at(i as f64 / 2000.0)).collect();
        let step = speeds.windows(2).map(|w| w[1] - w[0]).fold(0.0, f64::max);
        assert!(speeds.windows(2).all(|w| w[1] >= w[0] - 1e-9));
        // whole range about 420 rad/s in 2000 steps is 0.2 each; a square-root start is steeper
        assert!(step < 2.0, "{step}");
    }
}

#[test]
fn a_source_too_weak_is_a_limit_not_a_nan() {
    let weak = Source { voltage: 44.4, resistance: 0.5 };
    let open = Limits { motor_current: 1e4, ..limits() };
    // greatest power 44.4²/2 = 986 W
    let p = operating_point(weak, MOTOR, CONTROLLER, open, |w| 1e-3 * w * w).unwrap();
    assert!(p.battery_voltage > 0.0 && p.supplied);
    assert!(p.battery_voltage * p.battery_current <= 986.0);
    // without a duty limit in the way the greatest power itself binds
    let starved = Source { voltage: 44.4, resistance: 5.0 };
    let duty = Limits { duty: 100.0, ..open };
    let p = operating_point(starved, MOTOR, CONTROLLER, duty, |w| 1e-4 * w * w).unwrap();
    assert_eq!(binding(&p), "battery power");
    // half of what the switching part of the current leaves; the square root there halves the digits
    let left = 44.4 - 5.0 * CONTROLLER.switching * p.motor_current;
    assert!((2.0 * p.battery_voltage / left - 1.0).abs() < 1e-6, "{p:?}");
    for source in [
        Source { voltage: 0.0, resistance: 0.028 },
        Source { voltage: -3.0, resistance: 0.028 },
        Source { voltage: 0.1, resistance: 0.028 },
    ] {
        let p = operating_point(source, MOTOR, CONTROLLER, limits(), |w| w - 20.0).unwrap();
        assert!(!p.supplied && p.battery_current == 0.0);
        assert!((p.omega - 20.0).abs() < 1e-9);
    }
}

#[test]
fn a_stalled_shaft_draws_what_the_limits_allow() {
    let low = Limits { motor_current: 6.5, ..limits() };
    let p = solve(low, |w| 2.0 + 1e-5 * w * w);
    assert_eq!(p.omega, 0.0);
    assert!((p.motor_current - 6.5).abs() < 1e-9);
}

#[test]
fn nonsense_is_refused() {
    assert_eq!(operating_point(SOURCE, MOTOR, CONTROLLER, limits(), |_| f64::NAN), None);
    assert_eq!(operating_point(SOURCE, MOTOR, CONTROLLER, limits(), |_| -1.0), None);
    let mut motor = MOTOR;
    motor.torque_constant = 0.0;
    assert_eq!(operating_point(SOURCE, motor, CONTROLLER, limits(), |w| w), None);
}

#[test]
fn finite_for_every_sensible_and_senseless_number() {
    let values = [0.0, 1e-9, 0.02, 1.0, 48.0, 1e5];
    for v in values {
        for r in values {
            for t in [0.0, 1e-12, 0.3, 1.0, 7.0, -2.0] {
                for free in [0.0, 30.0, 3000.0] {
                    let source = Source { voltage: v, resistance: r };
                    let l = Limits { duty: 0.95 * t, cut_off: 30.0, ..limits() };
                    let p = operating_point(source, MOTOR, CONTROLLER, l, propeller(2e-5, free))
                        .unwrap_or_else(|| panic!("V {v} R {r} throttle {t} free {free}"));
                    let all = [
                        p.omega,
                        p.motor_current,
                        p.motor_voltage,
                        p.duty,
                        p.battery_current,
                        p.battery_voltage,
                    ];
                    assert!(all.iter().chain(&p.margins).all(|x| x.is_finite()), "{p:?}");
                    assert!(p.omega >= 0.0 && p.motor_current >= 0.0);
                }
            }
        }
    }
}

#[test]
fn a_shaft_with_inertia_comes_to_rest_where_the_one_without_is() {
    for (_, l) in cases().into_iter().chain([("", limits())]) {
        let load = propeller(1.5e-5, 150.0);
        let p = solve(l, &load);
        let d = driven(SOURCE, MOTOR, CONTROLLER, l, p.omega).unwrap();
        let surplus = |omega: f64| {
            let d = driven(SOURCE, MOTOR, CONTROLLER, l, omega).unwrap();
            MOTOR.torque_constant * d.motor_current - load(omega)
        };
        // both roots to round-off; at a voltage limit K²/R = 0.34 N·m·s magnifies that of ω.
        // A speed limit is a fade of ±2.5 % here.
        if l.speed.is_infinite() {
            assert!((d.motor_current / p.motor_current - 1.0).abs() < 1e-9, "{l:?} {d:?} {p:?}");
        }
        assert!(surplus(0.974 * p.omega) > 0.0 && surplus(1.026 * p.omega) < 0.0, "{l:?}");
    }
}

#[test]
fn driven_is_finite_at_any_speed_and_refuses_nonsense() {
    for omega in [-1e4, -10.0, 0.0, 1.0, 573.0, 575.0, 1e5] {
        let d = driven(SOURCE, MOTOR, CONTROLLER, limits(), omega).unwrap();
        let all = [d.motor_current, d.motor_voltage, d.battery_current, d.battery_voltage, d.duty];
        assert!(all.iter().chain(&d.margins).all(|x| x.is_finite()), "{d:?}");
        assert!((0.0..=65.0 + 1e-9).contains(&d.motor_current));
    }
    assert_eq!(driven(SOURCE, MOTOR, CONTROLLER, limits(), f64::NAN), None);
    let d = driven(Source { voltage: 0.0, resistance: 0.0 }, MOTOR, CONTROLLER, limits(), 30.0).unwrap();
    assert!(!d.supplied && d.motor_current == 0.0 && d.omega == 30.0);
}
