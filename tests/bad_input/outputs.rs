//! Outputs that cannot be written: told, not thrown, and nothing half-written left.

use std::fs::File;
use std::process::Stdio;

use crate::harness::{Folder, command};
use crate::scripts::TRIAL;

/// A folder with a script of two trials that runs.
fn ready() -> Folder {
    let f = Folder::new();
    f.put("s.rhai", format!("{TRIAL}t.run(); t.run();"));
    f
}

#[test]
fn a_trace_needs_a_place() {
    let f = ready();
    std::fs::create_dir(f.root().join("taken.csv")).unwrap();
    let trace = |file: &str, words: &[&str]| f.run(&["run", "s.rhai", "--trace", file]).is_refused(words);
    trace("nowhere/t.csv", &["nowhere/t.csv", "no folder nowhere"]);
    trace("taken.csv", &["taken.csv", "folder"]);
    trace("s.rhai/t.csv", &["s.rhai/t.csv", "cannot be written"]);
    trace("", &["--trace <FILE>"]);
    trace("-", &["`-` is no file", "expected the name of a file"]);
    trace("..", &["cannot be written"]);
    trace(&"x".repeat(300), &["cannot be written", "too long"]);
}

#[test]
fn a_trace_that_fails_half_way_leaves_nothing() {
    let f = ready();
    std::fs::create_dir(f.root().join("t-2.csv")).unwrap();
    f.run(&["run", "s.rhai", "--trace", "t.csv"]).is_refused(&["t-2.csv", "folder"]);
    std::fs::create_dir(f.root().join("u.csv.json")).unwrap();
    f.run(&["run", "s.rhai", "--trace", "u.csv"]).is_refused(&["u.csv.json", "folder"]);
    let done = f.run(&["run", "s.rhai", "--trace", "v.csv"]);
    assert_eq!((done.code, done.new_files.len()), (Some(0), 4), "{:?}", done.new_files);
}

#[test]
fn a_trace_does_not_take_the_place_of_an_input() {
    let f = ready();
    for input in ["s.rhai", "setups/demo_tub.yaml", "./setups/../s.rhai"] {
        f.run(&["run", "s.rhai", "--trace", input]).is_refused(&[input, "read by this scenario"]);
    }
    assert!(std::fs::read_to_string(f.root().join("s.rhai")).unwrap().starts_with("let c"));
}

#[cfg(target_os = "linux")]
#[test]
fn full_devices_are_told_of() {
    let f = ready();
    f.run(&["run", "s.rhai", "--trace", "/dev/full"]).is_refused(&["/dev/full", "device"]);
    for arguments in [&["parts"][..], &["run", "s.rhai"], &["run", "s.rhai", "--json"], &["check", "."]] {
        let mut command = command();
        command.args(arguments).stdout(Stdio::from(File::options().write(true).open("/dev/full").unwrap()));
        f.run_as(command).is_refused(&["output cannot be written", "No space left"]);
    }
}

#[test]
fn a_reader_that_has_left_is_no_failure() {
    let f = ready();
    for arguments in [&["parts"][..], &["run", "s.rhai"], &["expand", "setups/demo_tub.yaml"]] {
        let (reader, writer) = std::io::pipe().unwrap();
        // nobody reads from the first byte on
        drop(reader);
        let mut command = command();
        command.args(arguments).stdout(Stdio::from(writer));
        let done = f.run_as(command);
        assert_eq!((done.code, done.err.as_str()), (Some(0), ""), "{arguments:?}");
    }
}

#[cfg(unix)]
#[test]
fn a_reader_may_leave_and_standard_error_may_be_closed() {
    let f = ready();
    let shell = |script: &str| {
        let mut shell = std::process::Command::new("sh");
        shell.args(["-c", script, env!("CARGO_BIN_EXE_foilborne")]).stdout(Stdio::piped());
        f.run_as(shell)
    };
    let done = shell("\"$0\" parts | head -n 1");
    assert_eq!((done.code, done.out.lines().count()), (Some(0), 1));
    assert!(!done.err.contains("panicked"), "{}", done.err);
    f.put("p.rhai", "print(1);").put("bad.rhai", "x");
    assert_eq!(shell("\"$0\" run p.rhai 2>&-").code, Some(0));
    assert_eq!(shell("\"$0\" run bad.rhai 2>&-").code, Some(2));
}
