//! What does a whole run cost, and how much of it is the engine's bookkeeping?

mod demo;
mod monolith;
mod side_by_side;

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};

fn flight(c: &mut Criterion) {
    let (model, craft) = (demo::model(), demo::fused());
    c.bench_function("flight/engine", |b| b.iter(|| demo::flown(&model)));
    c.bench_function("flight/fused", |b| b.iter(|| craft.fly(demo::DURATION)));

    let work = demo::flown(&model).work();
    println!(
        "\nOne flight in the engine: {work:?}; fused: {} evaluations",
        craft.fly(demo::DURATION).evaluations
    );
    let medians = side_by_side::compare(
        "One flight",
        0,
        4,
        vec![
            ("fused", Box::new(|| _ = black_box(craft.fly(demo::DURATION)))),
            ("engine", Box::new(|| _ = black_box(demo::flown(&model)))),
        ],
    );
    println!("RATIO flight engine/fused {:.3}", medians[1] / medians[0]);
}

criterion_group!(benches, flight);
criterion_main!(benches);
