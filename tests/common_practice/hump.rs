//! How much static thrust gets a home-made board foiling?
//!
//! **Common practice, no source**: about 30 kgf will do, about 20 kgf is doubtful. The board below was written
//! down once, as such boards are built (1.6 m, 150 L, 117 kg in all with a rider of 85 kg), and not touched after its
//! first run. Its drive is throttled by motor current until the propeller reads 15 to 30 kgf in a tub; the throttle
//! then opens in two seconds from rest. The hump of so short a board is not known: k_hump runs over its 68 %
//! range.
//!
//! | kgf | k_hump | outcome | take-off s | hump m/s | thrust there N | surplus N | missing N |
//! |---|---|---|---|---|---|---|---|
//! | 15 | 0.75 | flew | 26.5 | 2.5 | 126 | +9.1 |  |
//! | 15 | 0.90 | stuck |  | 2.4 | 127 | 0.0 | 7 |
//! | 15 | 1.00 | stuck |  | 2.3 | 128 | 0.0 | 17 |
//! | 15 | 1.50 | stuck |  | 2.1 | 129 | 0.0 | 69 |
//! | 20 | 0.75 | flew | 8.9 | 2.5 | 171 | +52.2 |  |
//! | 20 | 0.90 | flew | 9.6 | 2.5 | 171 | +37.9 |  |
//! | 20 | 1.00 | flew | 10.3 | 2.5 | 171 | +28.4 |  |
//! | 20 | 1.15 | flew | 12.3 | 2.5 | 171 | +14.4 |  |
//! | 20 | 1.30 | flew | 39.6 | 2.5 | 171 | +0.4 |  |
//! | 20 | 1.50 | stuck |  | 2.3 | 173 | 0.0 | 22 |
//! | 25 | 0.75 | flew | 6.3 | 2.5 | 216 | +95.4 |  |
//! | 25 | 1.00 | flew | 6.6 | 2.5 | 217 | +71.2 |  |
//! | 25 | 1.50 | flew | 8.5 | 2.5 | 217 | +24.4 |  |
//! | 30 | 0.75 | flew | 5.1 | 4.3 | 244 | +120.6 |  |
//! | 30 | 0.90 | flew | 5.2 | 2.5 | 262 | +124.4 |  |
//! | 30 | 1.00 | flew | 5.3 | 2.5 | 262 | +114.7 |  |
//! | 30 | 1.15 | flew | 5.4 | 2.5 | 262 | +100.0 |  |
//! | 30 | 1.30 | flew | 5.6 | 2.5 | 262 | +85.6 |  |
//! | 30 | 1.50 | flew | 5.8 | 2.5 | 262 | +66.7 |  |
//!
//! **In words.** 30 kgf flies in all six cases, never with less than 66 N to spare. 20 kgf flies in five of six; at 1.3 it
//! hangs on the hump for half a minute by half a newton, at 1.5 it is stuck and 22 N short: doubtful is the word. Of the
//! 20 kgf (196 N) in the tub 171 N are left at the hump, 2.5 m/s. At 15 kgf only the lowest hump is passed. The model
//! and the rule agree for this one board; a lighter or longer one needs less.
//!
//! **Weak.** At rest a quarter of this board's deck is under water at the trim the rider holds, where neither
//! resistance method holds (the run says so). The rider is the ideal one. At 45 kgf the same board leaps out
//! and the wing breaks the surface, because nobody throttles back.

use crate::stand::{KGF, reading, trial};
use engine::root::bracketed;

/// 68 % range of the board's hump, 0.75–1.5, and a few between.
const K_HUMP: [f64; 6] = [0.75, 0.9, 1.0, 1.15, 1.3, 1.5];

/// The drive, its throttle a fraction of the greatest motor current.
fn drive(throttle: f64) -> String {
    format!(
        "
setup: 1
parts:
  water: {{temperature: 18 °C}}
  air: {{}}
  ledger: {{}}
  battery:
    cells_in_series: 14
    strings_in_parallel: 8
    cell_capacity: 4 A·h
    cell_resistance: 14 mΩ
    fast_resistance: 5 mΩ
    slow_resistance: 6 mΩ
    state_of_charge: 90 %
    mass: 9 kg
    forward: 800 mm
    below: -70 mm
  wiring: {{battery_run: 400 mm, phase_run: 1000 mm}}
  controller:
    throttle_sets: current
    throttle: {throttle}
    motor_current: 120 A
    battery_current: 100 A
    mass: 700 g
    forward: 800 mm
    below: -70 mm
  motor:
    speed_constant: 100 rpm/V
    resistance: 20 mΩ
    no_load_current: 2.5 A
    mass: 2.2 kg
    forward: 600 mm
    below: 680 mm
  shaft: {{}}
  propeller:
    part: propeller_series
    diameter: 170 mm
    pitch_ratio: 0.8
    area_ratio: 0.55
    forward: 430 mm
    below: 680 mm
    wake_fraction: 5 %
    thrust_deduction: 5 %
"
    )
}

/// The drive in a tub: what is called static thrust.
fn tub(throttle: f64) -> String {
    drive(throttle) + "  test_stand: {}\n"
}

/// The drive under a board made at home: short, thick and heavy, aluminium mast, large wing; rider 85 kg.
fn board(k_hump: f64) -> String {
    format!(
        "{}
  motion: {{}}
  take_off: {{}}
  board:
    length: 1.6 m
    beam: 700 mm
    thickness: 170 mm
    volume: 150 L
    mass: 13 kg
    k_hump: {k_hump}
  mast:
    length: 750 mm
    chord: 125 mm
    thickness: 18 mm
    forward: 660 mm
    mass: 3 kg
  front_wing:
    part: foil
    span: 1000 mm
    area: 1700 cm²
    incidence: 2 deg
    forward: 800 mm
    below: 760 mm
    mass: 2.4 kg
  stabiliser:
    part: foil
    span: 450 mm
    area: 330 cm²
    incidence: -1 deg
    zero_lift_angle: 0 deg
    lift_ideal: 0
    moment: 0
    forward: 60 mm
    below: 760 mm
    mass: 600 g
    downwash_from: front_wing
  pod:
    diameter: 85 mm
    length: 280 mm
    forward: 600 mm
    below: 680 mm
    mass: 500 g
  rider:
    part: rider_ideal
    mass: 85 kg
    stance: crouched
    forward: 860 mm
    deck: 170 mm
",
        drive(0.0)
    )
}

/// Share of the greatest motor current at which the tub reads so much thrust.
fn throttle_for(kgf: f64) -> f64 {
    let excess = |throttle: f64| reading(&tub(throttle)).thrust / KGF - kgf;
    assert!(excess(0.1) < 0.0 && excess(1.0) > 0.0);
    bracketed(excess, 0.1, 1.0).unwrap()
}

/// One attempt: whether it flew, when it took off [s], and thrust and surplus at the hump [N], speed there [m/s].
struct Attempt {
    outcome: String,
    take_off: Option<f64>,
    thrust: f64,
    surplus: f64,
    speed: f64,
    /// Thrust still missing where it got stuck [N].
    missing: Option<f64>,
}

impl Attempt {
    fn new(throttle: f64, k_hump: f64) -> Attempt {
        // a run that takes a minute is not held up by its time
        let (finished, found) = trial(&board(k_hump), 60.0, Some(throttle));
        assert!(finished.error.is_none(), "{:?}", finished.error);
        let number = |key: &str, of: &str| found.values[key][of].as_f64();
        Attempt {
            outcome: found.values["outcome"].as_str().unwrap_or_default().to_string(),
            take_off: number("take_off", "time_s"),
            thrust: number("hump", "net_thrust_N").unwrap(),
            surplus: number("hump", "margin_N").unwrap(),
            speed: number("hump", "speed_m_s").unwrap(),
            missing: number("shortfall", "force_N"),
        }
    }

    fn flew(&self) -> bool {
        self.outcome == "flew"
    }

    fn row(&self, kgf: f64, k_hump: f64) -> String {
        let seconds = self.take_off.map_or(String::new(), |t| format!("{t:.1}"));
        let missing = self.missing.map_or(String::new(), |m| format!("{m:.0}"));
        format!(
            "| {kgf:.0} | {k_hump:.2} | {} | {seconds} | {:.1} | {:.0} | {:+.1} | {missing} |",
            self.outcome, self.speed, self.thrust, self.surplus
        )
    }
}

/// One row of attempts per static thrust, over [`K_HUMP`].
fn attempts() -> Vec<(f64, Vec<Attempt>)> {
    [15.0, 20.0, 25.0, 30.0]
        .into_iter()
        .map(|kgf| {
            let throttle = throttle_for(kgf);
            let row: Vec<Attempt> = K_HUMP.iter().map(|&k| Attempt::new(throttle, k)).collect();
            for (attempt, &k) in row.iter().zip(&K_HUMP) {
                println!("{}", attempt.row(kgf, k));
            }
            (kgf, row)
        })
        .collect()
}

/// Common practice, no source: more static thrust flies in every case in which less of it does, and 30 kgf flies in
/// more cases than 20 kgf, or in as many.
#[test]
fn val_common_practice_static_thrust_and_the_hump() {
    let attempts = attempts();
    for pair in attempts.windows(2) {
        let [(less, weak), (more, strong)] = pair else { unreachable!() };
        for ((weak, strong), k) in weak.iter().zip(strong).zip(K_HUMP) {
            assert!(strong.flew() || !weak.flew(), "k_hump {k}: {less} kgf flew, {more} kgf did not");
            // never is infinitely late
            let time = |a: &Attempt| a.take_off.unwrap_or(f64::INFINITY);
            assert!(time(strong) < time(weak) || !strong.flew(), "k_hump {k}: {more} kgf takes longer");
        }
    }
    for (kgf, row) in &attempts {
        for pair in row.windows(2) {
            // once a higher hump has stopped it, no still higher one lets it pass
            assert!(pair[0].flew() || !pair[1].flew(), "{kgf} kgf");
            if pair[1].flew() {
                assert!(pair[0].take_off < pair[1].take_off, "{kgf} kgf");
            }
        }
    }
    let flights = |of: f64| {
        let (_, row) = attempts.iter().find(|(kgf, _)| *kgf == of).unwrap();
        row.iter().filter(|a| a.flew()).count()
    };
    println!("flights of {}: 20 kgf {}, 30 kgf {}", K_HUMP.len(), flights(20.0), flights(30.0));
    assert!(flights(30.0) >= flights(20.0));
}

/// What was found: 30 kgf flies over the whole spread; 20 kgf flies up to 1.15, hangs by half a newton at 1.3
/// (not asked) and is stuck at 1.5.
#[test]
fn regress_static_thrust_and_the_hump() {
    let (twenty, thirty) = (throttle_for(20.0), throttle_for(30.0));
    for k in K_HUMP {
        assert!(Attempt::new(thirty, k).flew(), "30 kgf, {k}");
    }
    for k in [0.75, 0.9, 1.0, 1.15] {
        assert!(Attempt::new(twenty, k).flew(), "20 kgf, {k}");
    }
    assert_eq!(Attempt::new(twenty, 1.5).outcome, "stuck_below_hump");
}
