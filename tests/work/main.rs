//! How much work a run is: a snapshot that a change which makes runs dearer
//! cannot slip past, and a right-hand side that allocates nothing.

// A counting allocator can only be written with `unsafe`; it hands everything on to the system's.
#![allow(unsafe_code)]

#[path = "../../benches/demo/mod.rs"]
mod demo;

use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::Cell;
use std::path::Path;

use demo::{Demo, FLIGHT, TUB};

struct Counting;

thread_local! {
    static ALLOCATIONS: Cell<usize> = const { Cell::new(0) };
}

fn count() {
    // a thread that ends allocates after its counter is gone
    let _ = ALLOCATIONS.try_with(|n| n.set(n.get() + 1));
}

unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        count();
        unsafe { System.alloc(layout) }
    }
    unsafe fn dealloc(&self, at: *mut u8, layout: Layout) {
        unsafe { System.dealloc(at, layout) }
    }
    unsafe fn realloc(&self, at: *mut u8, layout: Layout, size: usize) -> *mut u8 {
        count();
        unsafe { System.realloc(at, layout, size) }
    }
}

#[global_allocator]
static COUNTING: Counting = Counting;

/// Allocations of this thread during `f`.
fn allocations<T>(f: impl FnOnce() -> T) -> (usize, T) {
    let before = ALLOCATIONS.get();
    let result = f();
    (ALLOCATIONS.get() - before, result)
}

/// Evaluations, steps, rejected steps, segments, allocations.
fn work(demo: &Demo) -> [usize; 5] {
    let model = demo.model();
    let (allocations, run) = allocations(|| demo.run(&model));
    let work = run.work();
    [work.evaluations, work.steps, work.rejected, work.segments, allocations]
}

/// Set to any value, `UPDATE_GOLDEN` writes `tests/golden/work.csv` anew:
/// `UPDATE_GOLDEN=1 cargo test --test work`. Commit it by itself, with the reason.
#[test]
fn regress_work_of_the_demo_runs() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden/work.csv");
    let columns = ["evaluations", "steps", "rejected", "segments", "allocations"];
    let found = [("first_flight", work(&FLIGHT)), ("static_tub", work(&TUB))];
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        let mut text = format!("run,{}\n", columns.join(","));
        for (name, row) in found {
            text += &format!("{name},{}\n", row.map(|n| n.to_string()).join(","));
        }
        std::fs::write(&path, text).expect("the golden file can be written");
        return;
    }
    let mut reader = csv::Reader::from_path(&path).expect("the golden file is there");
    let golden: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    assert_eq!(golden.len(), found.len());
    for (row, (name, now)) in golden.iter().zip(found) {
        assert_eq!(&row[0], name);
        for (k, now) in now.into_iter().enumerate() {
            let then: usize = row[k + 1].parse().expect("a whole number");
            // another machine's sine rounds differently and may turn a step or two from
            // accepted to rejected; a segment more or less is another course of events
            let slack = if columns[k] == "segments" { 0 } else { 3 + then / 50 };
            assert!(now.abs_diff(then) <= slack, "{name}: {} {now}, golden {then}", columns[k]);
        }
    }
}

/// Benches and this test plan their runs without a script; the script must say the same.
#[test]
fn the_demo_runs_are_those_of_their_scenarios() {
    for demo in [FLIGHT, TUB] {
        let script = demo::root().join(demo.scenario);
        let outcome = engine::scenario::perform(&script, demo::root(), &foilborne::CATALOGUE)
            .unwrap_or_else(|error| panic!("{error}"));
        let told = &outcome.trials[0].trial.run;
        let run = demo.run(&demo.model());
        assert_eq!((told.work(), told.time()), (run.work(), run.time()), "{}", demo.scenario);
    }
}

#[test]
fn the_right_hand_side_allocates_nothing() {
    for demo in [FLIGHT, TUB] {
        let model = demo.model();
        let mut run = demo.run(&model);
        let (end, y) = (run.time(), run.scaled_states().to_vec());
        let mut dy = vec![0.0; y.len()];
        run.with_right_hand_side(|rates| {
            let (count, ()) = allocations(|| {
                for i in 0..100 {
                    rates(end * f64::from(i) / 100.0, &y, &mut dy);
                }
            });
            assert_eq!(count, 0, "{}", demo.setup);
        });
        assert!(dy.iter().all(|rate| rate.is_finite()));
    }
    // the counter does count
    assert_eq!(allocations(|| std::hint::black_box(Box::new(1))).0, 1);
}
