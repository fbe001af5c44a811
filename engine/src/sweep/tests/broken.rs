//! Workers and writers that fail: nothing hangs, and the lowest failure is told.

use std::io;

use super::*;

/// Fails at these rows, in this way.
fn run(threads: usize, fail: &(dyn Fn(u64) -> Option<&'static str> + Sync)) -> (Broken<String>, u64) {
    let worker = |desk: &Desk| -> Result<(), String> {
        let mut why = None;
        desk.serve(&mut |n| {
            thread::sleep(Duration::from_micros(20 * (n % 3)));
            match fail(n) {
                Some("panic") => panic!("row {n} is not to be"),
                Some(reason) => {
                    why = Some(format!("{reason} {n}"));
                    Vec::new()
                }
                None => row(n, 1),
            }
        });
        match why {
            Some(why) if why.starts_with("silent") => Ok(()),
            Some(why) => Err(why),
            None => Ok(()),
        }
    };
    let mut taken = 0;
    let broken = produce(0..2000, threads, &Stop::never(), &worker, &mut |n, _| {
        assert_eq!(n, taken);
        taken += 1;
        Ok(())
    });
    (broken.unwrap_err(), taken)
}

#[test]
fn the_lowest_row_that_fails_is_told_and_all_before_it_are_taken() {
    for threads in [1, 2, 8] {
        let (broken, taken) = in_time(move || run(threads, &|n| (n >= 700 && n % 2 == 1).then_some("bad")));
        assert!(
            matches!(&broken, Broken::Worker { row: Some(701), error } if error == "bad 701"),
            "{threads} threads: {broken:?}"
        );
        assert_eq!(taken, 701);
    }
}

#[test]
fn a_panic_ends_the_work_and_is_told() {
    for threads in [1, 2, 8] {
        let (broken, taken) = in_time(move || run(threads, &|n| (n == 300).then_some("panic")));
        assert!(
            matches!(&broken, Broken::Panic { row: Some(300), message } if message == "row 300 is not to be"),
            "{broken:?}"
        );
        assert_eq!(taken, 300);
    }
}

#[test]
fn a_row_that_is_nothing_is_an_error_even_without_a_reason() {
    let (broken, taken) = in_time(|| run(2, &|n| (n == 40).then_some("silent")));
    assert!(matches!(broken, Broken::Lost { row: 40 }), "{broken:?}");
    assert_eq!(taken, 40);
}

#[test]
fn workers_that_never_serve_do_not_hang_the_writer() {
    let idle = in_time(|| {
        let worker = |_: &Desk| -> Result<(), Never> { Ok(()) };
        produce(0..100, 3, &Stop::never(), &worker, &mut |_, _| Ok(()))
    });
    assert!(matches!(idle, Err(Broken::Unserved { rows: 0, of: 100 })), "{idle:?}");

    let failing = in_time(|| {
        let worker = |_: &Desk| -> Result<(), &'static str> { Err("no such script") };
        produce(0..100, 3, &Stop::never(), &worker, &mut |_, _| Ok(()))
    });
    assert!(matches!(failing, Err(Broken::Worker { row: None, error: "no such script" })), "{failing:?}");

    let dying = in_time(|| {
        let worker = |_: &Desk| -> Result<(), Never> { panic!("at once") };
        produce(0..100, 3, &Stop::never(), &worker, &mut |_, _| Ok(()))
    });
    assert!(matches!(dying, Err(Broken::Panic { row: None, .. })), "{dying:?}");
}

#[test]
fn a_desk_that_outlives_the_work_gives_nothing() {
    thread_local!(static KEPT: std::cell::RefCell<Option<Desk>> = const { std::cell::RefCell::new(None) });
    let (rows, late) = in_time(|| {
        let late = std::sync::atomic::AtomicU64::new(0);
        let worker = |desk: &Desk| -> Result<(), Never> {
            KEPT.set(Some(desk.clone()));
            desk.serve(&mut |n| row(n, 1));
            let kept = KEPT.take().expect("just put there");
            kept.serve(&mut |n| {
                late.fetch_add(1, std::sync::atomic::Ordering::SeqCst);
                row(n, 1)
            });
            Ok(())
        };
        let made = produce(0..500, 2, &Stop::after(200), &worker, &mut |_, _| Ok(()));
        (made.unwrap().rows, late.into_inner())
    });
    assert_eq!((rows, late), (200, 0));
}

#[test]
fn one_worker_that_serves_is_enough() {
    let progress = in_time(|| {
        let worker = |desk: &Desk| -> Result<(), Never> {
            if thread::current().name() == Some("row maker 2") {
                desk.serve(&mut |n| row(n, 1));
            }
            Ok(())
        };
        produce(0..1000, 3, &Stop::never(), &worker, &mut |_, _| Ok(()))
    });
    assert_eq!(progress.unwrap().rows, 1000);
}

#[test]
fn a_writer_that_fails_ends_the_work() {
    for threads in [1, 2, 8] {
        let broken = in_time(move || {
            let mut left = 5000_usize;
            produce(0..100_000, threads, &Stop::never(), &worker(1), &mut |_, row| {
                left = left.checked_sub(row.len()).ok_or(io::Error::from(io::ErrorKind::StorageFull))?;
                Ok(())
            })
        });
        // the row at which 5000 bytes are used up, by counting
        let sizes = (0..).scan(0, |sum, n| {
            *sum += row(n, 1).len();
            Some(*sum)
        });
        let full = sizes.take_while(|&sum| sum <= 5000).count() as u64;
        assert!(
            matches!(&broken, Err(Broken::Taking { row, error })
                if *row == full && error.kind() == io::ErrorKind::StorageFull),
            "{broken:?}, {full}"
        );
    }
}

#[test]
fn a_writer_that_panics_does_not_hang_the_workers() {
    let caught = in_time(|| {
        std::panic::catch_unwind(|| {
            let _ = produce(0..100_000, 4, &Stop::never(), &worker(1), &mut |n, _| {
                assert!(n < 500, "enough");
                Ok(())
            });
        })
    });
    assert!(caught.is_err());
}

#[test]
fn a_worker_that_fails_leaves_the_rows_before_it_in_the_file() {
    let folder = scratch();
    let out = folder.path().join("t.csv");
    let failing = |desk: &Desk| -> Result<(), &'static str> {
        let mut failed = false;
        desk.serve(&mut |n| {
            failed |= n == 50;
            if failed { Vec::new() } else { row(n, 1) }
        });
        if failed { Err("mended later") } else { Ok(()) }
    };
    let error = write_whole(&order(90, 1), &out, false, 3, &Stop::never(), &failing, false).unwrap_err();
    assert!(matches!(error, SweepError::Work(Broken::Worker { row: Some(50), .. })), "{error:?}");
    assert!(!error.retry());
    assert_eq!(fs::read(&out).unwrap(), expected(50, 1));
    assert_eq!(write(&order(90, 1), &out, true, &Stop::never()).unwrap().made, 40);
    assert_eq!(fs::read(&out).unwrap(), expected(90, 1));
}

#[test]
fn a_row_that_resuming_would_cut_off_is_refused() {
    let folder = scratch();
    let bad: [(&str, &[u8]); 4] =
        [("torn", b"2,0,"), ("short", b"2,0\n"), ("other", b"3,0,\n"), ("zero", b"2,\0,\n")];
    for (name, bytes) in bad {
        let out = folder.path().join(name);
        let bad = |desk: &Desk| -> Result<(), Never> {
            desk.serve(&mut |n| if n == 2 { bytes.to_vec() } else { row(n, 1) });
            Ok(())
        };
        let error = write_whole(&order(9, 1), &out, false, 2, &Stop::never(), &bad, false).unwrap_err();
        assert!(matches!(error, SweepError::File(FileError::Row { row: 2, .. })), "{name}: {error}");
        assert_eq!(fs::read(&out).unwrap(), expected(2, 1));
    }
}
