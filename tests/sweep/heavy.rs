//! What takes minutes: `cargo test --release --test sweep -- --ignored --nocapture`.

use std::time::Duration;

use crate::harness::{Folder, RUN, TUB, finish, long, start, until};
use crate::killed::kill;

/// A hundred kills at random moments of studies of some seconds.
#[test]
#[ignore = "minutes: `cargo test --release --test sweep -- --ignored --nocapture kill`"]
fn a_hundred_kills_leave_no_trace_in_the_table() {
    let f = Folder::with(&long(5000));
    let reference = f.reference();
    let hits = kill(&f, &reference, 100, 100, Duration::from_millis(1200));
    println!("{hits:?}");
    assert_eq!(hits.kills(), 100);
    // a third of a second goes by before the first rows are written: the other moments are for rows
    assert!(hits.rows >= 30, "{hits:?}");
}

/// A million points in the memory of a small machine.
#[test]
#[ignore = "minutes: `cargo test --release --test sweep -- --ignored --nocapture million`"]
fn a_million_points_stay_below_200_mb() {
    let tub = TUB.replace("0.5 s", "0.001 s").replace("tub.ramp", "tub.start_as_set();\ntub.ramp");
    let axes = "s.axis(\"propeller.diameter\", linear(\"120 mm\", \"220 mm\", 1000));\n\
                s.axis(\"propeller.pitch_ratio\", linear(0.5, 1.2, 1000));\n\
                s.rank_highest(\"charge\", \"charge\");\ns.rank_lowest(\"energy\", \"energy\");\n\
                s.rank_lowest(\"duty\", \"peak.duty\");\n";
    let f = Folder::with(&format!("{tub}{axes}{RUN}"));
    let child = start(&mut f.command("sweep s.rhai --threads 2"));
    let status = format!("/proc/{}/status", child.id());
    let mut peak = 0;
    until("the end", || {
        let text = std::fs::read_to_string(&status).unwrap_or_default();
        let line = text.lines().find(|line| line.starts_with("VmHWM:"));
        let kib = line.and_then(|line| line.split_whitespace().nth(1)?.parse::<u64>().ok());
        peak = peak.max(kib.unwrap_or_default());
        // a process that has ended has a status without memory, until it is waited for
        text.contains("State:\tZ")
    });
    let done = finish(child);
    assert_eq!(done.code, Some(0), "{}", done.err);
    assert!(done.out.contains("1000000 of 1000000 points tried"), "{}", done.out);
    println!("peak resident memory {peak} KiB");
    assert!(peak > 1000, "nothing was measured");
    // the limit that the project sets itself
    assert!(peak * 1024 < 200_000_000, "{peak} KiB");
}
