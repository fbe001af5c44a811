//! What does a whole run cost, and how much of it is the engine's bookkeeping?

mod demo;
mod monolith;
mod side_by_side;

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use demo::FLIGHT;

fn flight(c: &mut Criterion) {
    let (model, craft) = (FLIGHT.model(), monolith::craft());
    c.bench_function("flight/engine", |b| b.iter(|| FLIGHT.run(&model)));
    c.bench_function("flight/fused", |b| b.iter(|| craft.fly(FLIGHT.duration)));

    let work = FLIGHT.run(&model).work();
    println!(
        "\nOne flight in the engine: {work:?}; fused: {} evaluations",
        craft.fly(FLIGHT.duration).evaluations
    );
    let medians = side_by_side::compare(
        "One flight",
        0,
        4,
        vec![
            ("fused", Box::new(|| _ = black_box(craft.fly(FLIGHT.duration)))),
            ("engine", Box::new(|| _ = black_box(FLIGHT.run(&model)))),
        ],
    );
    println!("RATIO flight engine/fused {:.3}", medians[1] / medians[0]);
}

criterion_group!(benches, flight);
criterion_main!(benches);
