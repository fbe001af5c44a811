//! What does one evaluation of the right-hand side cost, and how much of it is
//! the engine's bookkeeping?

mod demo;
mod monolith;
mod side_by_side;

use std::cell::RefCell;
use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use demo::FLIGHT;
use monolith::rates::{NOMINAL, PER_NOMINAL, STATES, Seen, State};

/// Every accepted step of the flight, so that rest, hump and flight all count.
fn stations() -> Vec<(f64, State)> {
    let flight = monolith::craft().fly(FLIGHT.duration);
    flight.segments.iter().flat_map(|s| s.t.iter().copied().zip(s.y.iter().copied())).collect()
}

fn evaluation(c: &mut Criterion) {
    let craft = monolith::craft();
    let mut run = FLIGHT.ready(&FLIGHT.model());
    let scaled: Vec<(f64, State)> =
        stations().into_iter().map(|(t, y)| (t, std::array::from_fn(|i| y[i] / NOMINAL[i]))).collect();
    run.with_right_hand_side(|rates| {
        let dy = RefCell::new([0.0; STATES]);
        let engine = |i: usize| {
            let (t, y) = &scaled[i % scaled.len()];
            rates(*t, y, &mut *dy.borrow_mut());
            black_box(&dy);
        };
        let fused = |i: usize| {
            let (t, y) = &scaled[i % scaled.len()];
            // scaling is the integrator's business in both
            let si = std::array::from_fn(|i| y[i] * NOMINAL[i]);
            let found = craft.rates(*t, &si, false, &mut Seen::default());
            let dy: State = std::array::from_fn(|i| found[i] * PER_NOMINAL[i]);
            black_box(&dy);
        };
        let turn = |f: &dyn Fn(usize)| (0..scaled.len()).for_each(f);
        c.bench_function("evaluation/engine", |b| {
            let mut i = 0;
            b.iter(|| {
                i += 1;
                engine(i);
            });
        });
        c.bench_function("evaluation/fused", |b| {
            let mut i = 0;
            b.iter(|| {
                i += 1;
                fused(i);
            });
        });
        let medians = side_by_side::compare(
            "All accepted steps of a flight evaluated once",
            0,
            5,
            vec![("fused", Box::new(|| turn(&fused))), ("engine", Box::new(|| turn(&engine)))],
        );
        let per = 1e9 / scaled.len() as f64;
        println!(
            "  one evaluation: fused {:.0} ns, engine {:.0} ns\nRATIO evaluation engine/fused {:.3}",
            medians[0] * per,
            medians[1] * per,
            medians[1] / medians[0]
        );
    });
}

criterion_group!(benches, evaluation);
criterion_main!(benches);
