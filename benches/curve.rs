//! What does a curve of 60 speeds cost, counted in flights?

mod demo;
mod side_by_side;

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use demo::FLIGHT;
use foilborne::steady::curve::findings::Findings;
use foilborne::steady::curve::sweep::Curve;
use foilborne::steady::trim::Trim;

/// Throttle of the flight.
const THROTTLE: f64 = FLIGHT.throttle.2;

fn curve(c: &mut Criterion) {
    let model = FLIGHT.model();
    let speeds: Vec<f64> = (0..60).map(|i| 0.25 + 8.75 / 59.0 * f64::from(i)).collect();
    let curve = || {
        let trim = Trim::of(&model).expect("the demo board moves");
        let curve = Curve::new(&trim, THROTTLE, &speeds).expect("the demo board floats");
        let found = Findings::of(&curve);
        (curve, found)
    };
    c.bench_function("curve/60 speeds", |b| b.iter(curve));

    let (one, _) = curve();
    let stations = Curve::found(&one.below).count();
    println!("\nOne curve: {stations} stations, {} evaluations on their equilibria", one.evaluations);
    println!("One flight: {:?}", FLIGHT.run(&model).work());
    let medians = side_by_side::compare(
        "One curve",
        0,
        4,
        vec![
            ("flight", Box::new(|| _ = black_box(FLIGHT.run(&model)))),
            ("curve", Box::new(|| _ = black_box(curve()))),
        ],
    );
    println!("RATIO curve/flight {:.3}", medians[1] / medians[0]);
}

criterion_group!(benches, curve);
criterion_main!(benches);
