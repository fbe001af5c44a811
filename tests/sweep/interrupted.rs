//! Ctrl-C: what was begun is finished and kept; a second one does not wait.

use std::process::{Child, Command};
use std::thread;
use std::time::Duration;

use crate::harness::{Folder, RUN, TUB, finish, long, start, until};

fn interrupt(child: &Child) {
    let sent = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(sent.success());
}

#[test]
fn an_interrupt_keeps_whole_rows_and_resuming_gives_the_same_bytes() {
    let f = Folder::with(&long(400));
    let reference = f.reference();
    let child = start(&mut f.command("sweep s.rhai --threads 2"));
    // rows are held back for less than half a second
    until("the first rows", || f.at("s.csv").metadata().is_ok_and(|about| about.len() > 2000));
    interrupt(&child);
    let done = finish(child);
    assert_eq!((done.code, done.out.as_str()), (Some(75), ""), "{}", done.err);
    assert!(done.err.contains("interrupted with ") && done.err.contains("--resume"), "{}", done.err);
    let csv = f.text("s.csv");
    assert!(csv.ends_with('\n') && reference.csv.starts_with(&csv) && csv.len() < reference.csv.len());
    assert!(f.text("s.csv.json").contains("under way"));
    // without being asked to, it does not go on
    let again = f.run("sweep s.rhai");
    assert_eq!((again.code, f.text("s.csv") == csv), (Some(75), true), "{}", again.err);
    assert!(again.err.contains("begun but not finished") && again.err.contains("--resume"), "{}", again.err);
    f.runs("sweep s.rhai --resume");
    assert_eq!(f.table("s.csv"), reference);
}

#[test]
fn an_interrupted_part_leaves_nothing_and_says_so() {
    let f = Folder::with(&long(400));
    let child = start(&mut f.command("sweep s.rhai --part 1/1"));
    // a part grows under a name that nobody knows
    until("the part's file", || f.names().iter().any(|name| name.ends_with(".tmp")));
    interrupt(&child);
    let done = finish(child);
    assert_eq!((done.code, done.out.as_str()), (Some(75), ""), "{}", done.err);
    assert!(done.err.contains("make it again"), "{}", done.err);
    assert_eq!(f.names(), ["s.rhai"]);
}

#[test]
fn a_second_interrupt_leaves_at_once() {
    // a row takes many times as long as the two interrupts are apart
    let slow = TUB.replace("0.5 s", "3600 s");
    let axis = "s.axis(\"propeller.diameter\", list([\"150 mm\", \"160 mm\", \"170 mm\", \"180 mm\"]));\n";
    let f = Folder::with(&format!("{slow}tub.tolerance(1e-12);\n{axis}{RUN}"));
    // where the row in flight ends between the two, the first one has its way: then once more
    for _ in 0..10 {
        let child = start(&mut f.command("sweep s.rhai --threads 1 --resume"));
        // it is there as soon as the work begins
        until("the companion", || f.at("s.csv.json").exists());
        thread::sleep(Duration::from_millis(100));
        interrupt(&child);
        thread::sleep(Duration::from_millis(20));
        interrupt(&child);
        match finish(child).code {
            Some(130) => return,
            code => assert_eq!(code, Some(75)),
        }
        for file in ["s.csv", "s.csv.json"] {
            std::fs::remove_file(f.at(file)).unwrap();
        }
    }
    panic!("in ten tries no second interrupt left at once");
}
