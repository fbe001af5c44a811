//! The engine and a program that fuses the whole demo board into one function
//! give the same flight: what the engine adds costs time, never digits.

#[path = "../../benches/demo/mod.rs"]
mod demo;
#[path = "../../benches/monolith/mod.rs"]
mod monolith;

use demo::FLIGHT;
use monolith::rates;

#[test]
fn the_engine_flies_what_the_fused_program_flies() {
    let model = FLIGHT.model();
    let mut run = FLIGHT.run(&model);
    let fused = monolith::craft().fly(FLIGHT.duration);
    let names: Vec<&str> = model.state_probes().into_iter().map(|p| model.name(p)).collect();
    assert_eq!(names, rates::names());

    // the same arithmetic, sums in another order aside: a step or two may be
    // accepted in one and rejected in the other where the error lies at the limit
    let work = run.work();
    let close = |fused: usize, engine: usize| {
        assert!((fused as f64 / engine as f64 - 1.0).abs() <= 0.01, "{fused} against {engine}");
    };
    close(fused.evaluations, work.evaluations);
    close(fused.steps.0, work.steps);
    assert_eq!(fused.segments.len(), work.segments);

    // an event is located to 1e-10 s; round-off of sums grows by some hundred along the flight
    assert!((fused.time - run.time()).abs() < 1e-9, "{} against {}", fused.time, run.time());
    for (i, probe) in model.state_probes().into_iter().enumerate() {
        let apart = (fused.states[i] - run.value(probe)) / rates::NOMINAL[i];
        assert!(apart.abs() < 1e-9, "{} is {apart:e} of its usual size apart", model.name(probe));
    }

    // and both saw the same ranges left
    let seen = fused.sightings.iter().flatten().count();
    assert_eq!(seen, run.warnings().len());
    let off = model.find("take_off.take_off_time").expect("a take-off is watched for");
    assert!((fused.take_off[0] - run.value(off)).abs() < 1e-9);
}

#[test]
fn one_evaluation_agrees_wherever_it_is_made() {
    let model = FLIGHT.model();
    let craft = monolith::craft();
    let flown = craft.fly(FLIGHT.duration);
    let mut run = FLIGHT.ready(&model);
    run.with_right_hand_side(|rates| {
        for segment in &flown.segments {
            for (t, y) in segment.t.iter().zip(&segment.y) {
                let scaled: Vec<f64> = y.iter().zip(rates::NOMINAL).map(|(y, nominal)| y / nominal).collect();
                let mut dy = vec![0.0; scaled.len()];
                rates(*t, &scaled, &mut dy);
                let fused = craft.rates(*t, y, false, &mut rates::Seen::default());
                for i in 0..dy.len() {
                    let fused = fused[i] * rates::PER_NOMINAL[i];
                    // round-off of sums of forces of some 1000 N over a mass of 100 kg
                    assert!(
                        (dy[i] - fused).abs() < 1e-11 * (1.0 + fused.abs()),
                        "{} at {t}",
                        rates::names()[i]
                    );
                }
            }
        }
    });
}
