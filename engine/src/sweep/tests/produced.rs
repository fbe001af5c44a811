//! Rows from many threads, in order.

use std::sync::atomic::{AtomicU64, Ordering};

use super::*;

/// All rows that were taken, and their numbers.
fn collect(
    rows: u64,
    threads: usize,
    stop: &Stop,
    slow: impl Fn(u64) -> Duration + Sync,
) -> (Vec<u8>, Progress) {
    let worker = |desk: &Desk| -> Result<(), Never> {
        desk.serve(&mut |n| {
            thread::sleep(slow(n));
            row(n, 1)
        });
        Ok(())
    };
    let mut bytes = Vec::new();
    let mut next = 0;
    let progress = produce(0..rows, threads, stop, &worker, &mut |n, row| {
        assert_eq!(n, next);
        next += 1;
        bytes.extend_from_slice(row);
        Ok(())
    });
    (bytes, progress.unwrap())
}

#[test]
fn the_same_bytes_on_any_number_of_threads() {
    let random = |n: u64| Duration::from_micros(Pcg64::seed_from_u64(n).random_range(0..800));
    let bytes: Vec<u8> = (0..600).flat_map(|n| row(n, 1)).collect();
    for threads in [0, 1, 2, 8] {
        let (found, progress) = collect(600, threads, &Stop::never(), random);
        assert!(found == bytes, "{threads} threads");
        assert_eq!((progress.rows, progress.whole()), (600, true));
    }
}

#[test]
fn a_slow_row_does_not_let_the_others_run_far_ahead() {
    // the others could make thousands of rows in the time the first one takes
    let first_is_slow = |n: u64| Duration::from_millis(if n == 0 { 300 } else { 0 });
    for threads in [1, 2, 4] {
        let (found, progress) = collect(5000, threads, &Stop::never(), first_is_slow);
        assert_eq!(found, (0..5000).flat_map(|n| row(n, 1)).collect::<Vec<u8>>());
        assert!(progress.most_ahead <= AHEAD * threads, "{progress:?}");
        // the bound is reached, so it is this bound that held
        assert!(threads == 1 || progress.most_ahead == AHEAD * threads, "{progress:?}");
    }
}

#[test]
fn a_slow_writer_holds_the_workers_back() {
    static MADE: AtomicU64 = AtomicU64::new(0);
    let worker = |desk: &Desk| -> Result<(), Never> {
        desk.serve(&mut |n| {
            MADE.fetch_add(1, Ordering::SeqCst);
            row(n, 1)
        });
        Ok(())
    };
    // taken from the ring in one go, and again as many begun meanwhile
    let bound = 2 * AHEAD as u64 * 2;
    let taken = produce(0..3000, 2, &Stop::never(), &worker, &mut |n, _| {
        if n % 100 == 0 {
            thread::sleep(Duration::from_millis(3));
        }
        let ahead = MADE.load(Ordering::SeqCst) - n;
        assert!(ahead <= bound, "row {n}: {ahead} ahead");
        Ok(())
    });
    assert_eq!(taken.unwrap().rows, 3000);
}

#[test]
fn as_many_rows_as_were_begun_when_stopped() {
    for (rows, after) in [(100, 0), (100, 1), (100, 37), (100, 100), (100, 500), (0, 3)] {
        let (found, progress) =
            collect(rows, 4, &Stop::after(after), |n| Duration::from_micros(50 * (n % 5)));
        let made = after.min(rows);
        assert_eq!(found, (0..made).flat_map(|n| row(n, 1)).collect::<Vec<u8>>());
        assert_eq!((progress.rows, progress.of, progress.whole()), (made, rows, made == rows));
    }
}

#[test]
fn numbers_begin_where_asked_and_each_thread_serves_once() {
    static STARTED: AtomicU64 = AtomicU64::new(0);
    let worker = |desk: &Desk| -> Result<(), Never> {
        STARTED.fetch_add(1, Ordering::SeqCst);
        desk.serve(&mut |n| vec![n as u8]);
        Ok(())
    };
    let mut all = Vec::new();
    let take = &mut |n: u64, row: &[u8]| {
        assert_eq!(row, [n as u8]);
        all.push(n);
        Ok(())
    };
    produce(5..9, 3, &Stop::never(), &worker, take).unwrap();
    assert_eq!(all, [5, 6, 7, 8]);
    assert_eq!(STARTED.load(Ordering::SeqCst), 3);
}
