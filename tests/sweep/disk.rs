//! A disk that is full: what could be written is kept, and the study goes on when there is room.

use std::process::Command;

use crate::harness::{Done, Folder, Table, finish, long, start};

/// KiB: enough for the first rows that are written together, not for all; and for none.
const ROOMS: [u64; 2] = [100, 20];

/// The shell lets no file grow beyond some KiB: writing is refused as it is on a full disk.
#[test]
fn a_file_that_may_not_grow_is_kept_and_resumed() {
    let command = env!("CARGO_BIN_EXE_foilborne");
    for room in ROOMS {
        let f = Folder::with(&long(400));
        let reference = f.reference();
        // blocks of 512 bytes; without the trap the shell's limit would be a signal
        let limited = format!("trap '' XFSZ; ulimit -f {}; exec {command} sweep s.rhai", 2 * room);
        let mut shell = Command::new("sh");
        let done = finish(start(shell.args(["-c", &limited]).current_dir(f.at("")).env("NO_COLOR", "1")));
        told_and_resumed(&f, &reference, room, &done);
    }
}

/// A disk of a few KiB; making one takes rights that not every system gives.
#[test]
#[ignore = "mounts a small disk in a name space of its own; needs `unshare`"]
fn a_full_disk_is_told_and_resumed() {
    let command = env!("CARGO_BIN_EXE_foilborne");
    for room in ROOMS {
        let f = Folder::with(&long(400));
        let reference = f.reference();
        std::fs::create_dir(f.at("disk")).unwrap();
        let small = format!(
            "mount -t tmpfs -o size={room}k none disk && \
             {{ {command} sweep s.rhai --out disk/s.csv; code=$?; cp disk/s.csv disk/s.csv.json .; exit $code; }}"
        );
        let mut shell = Command::new("unshare");
        let shell = shell.args(["-rm", "sh", "-c", &small]).current_dir(f.at("")).env("NO_COLOR", "1");
        let done = finish(start(shell));
        told_and_resumed(&f, &reference, room, &done);
    }
}

fn told_and_resumed(f: &Folder, reference: &Table, room: u64, done: &Done) {
    assert!(reference.csv.len() as u64 > room * 1024, "the study is too short");
    assert_eq!((done.code, done.out.as_str()), (Some(75), ""), "{}", done.err);
    assert!(
        done.err.contains("s.csv: writing failed") && done.err.contains("`--resume` goes on"),
        "{}",
        done.err
    );
    let csv = f.text("s.csv");
    // a row that is written in part is cut off again
    assert!(csv.is_empty() || csv.ends_with('\n'), "a torn row is left");
    assert!(reference.csv.starts_with(&csv) && csv.len() < reference.csv.len());
    assert_eq!(csv.is_empty(), room == ROOMS[1], "{room} KiB");
    // once there is room
    f.runs("sweep s.rhai --resume");
    assert_eq!(&f.table("s.csv"), reference);
}
