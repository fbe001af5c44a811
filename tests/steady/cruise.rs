//! Cruise: steady flight, against runs through time.

use engine::profile::Profile;
use engine::run::{Options, Run};
use foilborne::steady::cruise::attempts::{self, Opening};
use foilborne::steady::cruise::heat;
use foilborne::steady::cruise::level::{Flight, Level};
use foilborne::steady::cruise::pack::Endurance;
use foilborne::steady::trim::Trim;

use crate::craft::{demo, find};

fn level(flight: &Flight, speed: f64) -> Level {
    flight.at(speed, None).unwrap_or_else(|why| panic!("{speed} m/s: {why}"))
}

/// A run that begins in this flight, at its throttle.
fn flown(trim: &Trim, level: &Level, options: Options) -> Run {
    let model = trim.model();
    let mut run = Run::new(model.clone(), Options { settle: false, ..options });
    for state in model.state_probes() {
        if !model.name(state).starts_with("integral.") {
            run.place(state, level.point.value(state));
        }
    }
    let throttle = trim.throttle()[0];
    *run.input(throttle).unwrap() = Profile::constant(level.throttle);
    run
}

#[test]
fn a_craft_left_alone_in_steady_flight_stays_there() {
    let trim = demo();
    let flight = Flight::of(&trim).unwrap();
    for speed in [5.5, 7.0, 8.5] {
        let level = level(&flight, speed);
        let mut run = flown(&trim, &level, Options::default());
        let model = trim.model();
        let [u, amps, depth] =
            ["motion.surge_speed", "shaft.battery_current", "motion.cg_depth"].map(|name| find(model, name));
        run.advance(20.0, &[]).unwrap();
        // what is slow has gone on for 20 s: the voltage has sagged by less than 0.2 %, and with it the speed
        assert!((run.value(u) / speed - 1.0).abs() < 5e-3, "{speed}: {}", run.value(u));
        assert!((run.value(amps) / level.battery_current - 1.0).abs() < 1e-2, "{speed}");
        // a tenth of its height above the water
        assert!((run.value(depth) - level.point.value(depth)).abs() < 0.1 * level.height, "{speed}");
    }
}

#[test]
fn the_pack_lasts_as_long_as_a_run_that_draws_it_down() {
    let trim = demo();
    let flight = Flight::of(&trim).unwrap();
    let level = level(&flight, 7.0);
    let endurance = Endurance::of(&flight, &level);
    let model = trim.model();
    // the same in time: motion held, the throttle opened as the quadrature says, cells as warm
    let mut run = flown(&trim, &level, Options { max_step: 5.0, ..Options::default() });
    for &state in trim.quick().iter().chain([&trim.speed()]) {
        run.hold(state, Profile::constant(level.point.value(state)));
    }
    for name in ["battery.cell_temperature", "motor.winding_temperature", "motor.case_temperature"] {
        let state = find(model, name);
        run.hold(state, Profile::constant(model.start_value(state)));
    }
    let throttle = run.input(trim.throttle()[0]).unwrap();
    for pair in endurance.history.windows(2) {
        throttle.change(pair[0].0, pair[1].0 - pair[0].0, pair[1].2);
    }
    let charge = find(model, "battery.state_of_charge");
    let full = model.start_value(charge);
    for &(time, expected, _) in endurance.history.iter().skip(6).step_by(6) {
        run.advance(time, &[]).unwrap();
        let used = (full - run.value(charge)) / (full - expected);
        // the quadrature has 24 steps, and between them the run's throttle is a smoothstep
        assert!((used - 1.0).abs() < 0.01, "{time} s: {used}");
    }
    let capacity = endurance.charge / (full - endurance.history.last().unwrap().1);
    assert!(endurance.charge <= capacity * full);
}

#[test]
fn faster_flight_takes_more_power_and_no_balance_needs_more_than_full_throttle() {
    let trim = demo();
    let flight = Flight::of(&trim).unwrap();
    let levels: Vec<Level> = [5.5, 6.5, 7.5, 8.5, 9.5].map(|v| level(&flight, v)).into();
    for pair in levels.windows(2) {
        assert!(pair[1].power > pair[0].power && pair[1].throttle > pair[0].throttle);
    }
    assert!(levels.iter().all(|l| l.throttle < 1.0 && l.height > 0.0));
    assert!(flight.at(20.0, None).is_err_and(|why| why.contains("short")), "no such craft does 20 m/s");
    assert!(flight.at(1.0, None).is_err(), "it does not fly at walking pace");
}

#[test]
fn each_attempt_takes_charge_and_leaves_heat() {
    let trim = demo();
    let all = attempts::in_a_row(trim.model(), &trim, 3, 10.0, Opening { to: 1.0, within: 1.0 });
    assert_eq!(all.len(), 3);
    let winding = |a: &attempts::Attempt| a.hottest.iter().find(|(n, _)| n.starts_with("winding")).unwrap().1;
    for pair in all.windows(2) {
        assert!(pair[0].take_off.is_some() && pair[1].take_off.is_some());
        assert!(pair[1].charge < pair[0].charge);
        assert!(winding(&pair[1]) > winding(&pair[0]));
    }
}

/// Full throttle at the fastest steady flight: the drive holds it for a while, the pack ends it, and what is too warm is what the
/// bench card stops at.
#[test]
fn full_throttle_ends_with_the_pack_and_warmth_is_judged_as_on_the_bench() {
    let trim = demo();
    let flight = Flight::of(&trim).unwrap();
    let fast = level(&flight, 10.0);
    let heat = heat::full_throttle(&flight, &fast).unwrap();
    let (short, by) = heat.short.clone().unwrap();
    let rides = Endurance::of(&flight, &fast).time;
    println!("short after {short} s by {by}, rides {rides} s, lasted {} s: {:?}", heat.lasted, heat.ended);
    // wide open it draws more than it takes to hold the speed, and is warmer: never later than steady flight ends
    assert!(short > 0.0 && short <= rides + 2.0);
    assert!(heat.ended.unwrap().contains("the pack is empty") && heat.lasted < 1800.0);
    let bearable = heat::bearable(&flight);
    let of = |name: &str| bearable.iter().find(|(known, _)| known == name).unwrap().1;
    // as told on the card: to half a kelvin of the corner
    assert!(
        (of("winding temperature") - 100.0).abs() < 0.5 && (of("controller temperature") - 85.0).abs() < 0.5
    );
    assert_eq!(of("cell temperature"), 60.0);
}
