//! Work that ended early and goes on.

use super::*;

const ROWS: u64 = 40;

/// An undisturbed table, and a folder to spoil others in.
fn undisturbed(seed: u64) -> (tempfile::TempDir, (Vec<u8>, String)) {
    let folder = scratch();
    let out = folder.path().join("undisturbed.csv");
    let written = write(&order(ROWS, seed), &out, false, &Stop::never()).unwrap();
    let both = both(&out);
    assert_eq!(both.0, expected(ROWS, seed));
    assert!(both.1.contains(&written.csv_sha256));
    (folder, both)
}

/// A table as a killed process leaves it: this content, and a companion that says "under way".
fn left_behind(out: &Path, content: &[u8]) {
    let _ = fs::remove_file(out);
    let _ = fs::remove_file(sidecar_of(out));
    let stopped = write(&order(ROWS, 1), out, false, &Stop::after(0)).unwrap_err();
    assert!(stopped.retry());
    fs::write(out, content).unwrap();
}

#[test]
fn cut_at_any_byte_the_result_is_the_same() {
    let (folder, whole) = undisturbed(1);
    let out = folder.path().join("t.csv");
    for end in 0..=whole.0.len() {
        left_behind(&out, &whole.0[..end]);
        let written = write(&order(ROWS, 1), &out, true, &Stop::never()).unwrap();
        assert!(both(&out) == whole, "cut at {end}");
        assert!(!written.already);
        assert_eq!(written.rows, ROWS);
        // nothing that was whole is made again
        let kept = ROWS - written.made;
        let bytes = expected(kept, 1).len() as u64;
        let lost = if end < 16 { end as u64 } else { end as u64 - bytes };
        assert_eq!(written.cut.bytes, lost, "cut at {end}");
        assert!(kept == ROWS || expected(kept + 1, 1).len() > end, "cut at {end}: only {kept} kept");
    }
}

#[test]
fn a_tail_of_zeros_is_cut_off() {
    let (folder, whole) = undisturbed(1);
    let out = folder.path().join("t.csv");
    for end in (0..whole.0.len()).step_by(11) {
        for zeros in [1, 4096] {
            let mut content = whole.0[..end].to_vec();
            content.resize(end + zeros, 0);
            left_behind(&out, &content);
            let written = write(&order(ROWS, 1), &out, true, &Stop::never()).unwrap();
            assert!(both(&out) == whole, "zeros from {end}");
            assert!(written.cut.bytes >= zeros as u64 && written.cut.lines >= 1);
        }
        // zeros in the middle, as pages reach the disk in any order
        let mut content = whole.0.clone();
        content.iter_mut().skip(end).take(30).for_each(|byte| *byte = 0);
        left_behind(&out, &content);
        write(&order(ROWS, 1), &out, true, &Stop::never()).unwrap();
        assert!(both(&out) == whole, "hole at {end}");
    }
}

#[test]
fn what_is_no_next_row_is_cut_off_and_counted() {
    let (folder, whole) = undisturbed(1);
    let out = folder.path().join("t.csv");
    let good = expected(10, 1);
    let line = |n: u64| row(n, 1);
    let cases: [(&str, Vec<u8>, u64); 5] = [
        ("a row twice", [line(9), line(11)].concat(), 2),
        ("a row left out", [line(11), line(12)].concat(), 2),
        ("a field too many", b"10,0,0,0\n".to_vec(), 1),
        ("no numbers", b"what\nelse\nthere is".to_vec(), 3),
        ("an open quote", b"10,\"0,0\n11,0,0\n".to_vec(), 2),
    ];
    for (name, tail, lines) in cases {
        left_behind(&out, &[good.clone(), tail.clone()].concat());
        let written = write(&order(ROWS, 1), &out, true, &Stop::never()).unwrap();
        assert_eq!(written.cut, Cut { bytes: tail.len() as u64, lines }, "{name}");
        assert_eq!(written.made, ROWS - 10, "{name}");
        assert!(both(&out) == whole, "{name}");
    }
    // rows beyond the last
    left_behind(&out, &[whole.0.clone(), line(ROWS)].concat());
    let written = write(&order(ROWS, 1), &out, true, &Stop::never()).unwrap();
    assert_eq!((written.made, written.cut.lines), (0, 1));
    assert!(both(&out) == whole);
}

#[test]
fn stopped_again_and_again_it_is_a_beginning_at_all_times() {
    let (folder, whole) = undisturbed(1);
    let out = folder.path().join("t.csv");
    let mut done = 0;
    for resumed in 0.. {
        let now = write(&order(ROWS, 1), &out, resumed > 0, &Stop::after(7));
        done = ROWS.min(done + 7);
        assert_eq!(fs::read(&out).unwrap(), expected(done, 1));
        match now {
            Ok(written) => {
                assert_eq!(written.rows, ROWS);
                break;
            }
            Err(SweepError::Interrupted { done: told, rows: ROWS, kept: true, .. }) => assert_eq!(told, done),
            Err(other) => panic!("{other}"),
        }
        assert!(fs::read_to_string(sidecar_of(&out)).unwrap().contains("\"under way\""));
    }
    assert_eq!(done, ROWS);
    assert!(both(&out) == whole);
}

#[test]
fn a_whole_table_is_not_touched() {
    let (folder, whole) = undisturbed(1);
    let out = folder.path().join("undisturbed.csv");
    let before = fs::metadata(&out).unwrap().modified().unwrap();
    for resume in [false, true] {
        let never = |_: &Desk| -> Result<(), Never> { panic!("there is nothing to do") };
        let written = write_whole(&order(ROWS, 1), &out, resume, 2, &Stop::never(), &never, false).unwrap();
        assert_eq!((written.already, written.made, written.rows), (true, 0, ROWS));
    }
    assert_eq!(fs::metadata(&out).unwrap().modified().unwrap(), before);
    assert!(both(&out) == whole);
}

#[test]
fn a_table_without_rows_is_its_header() {
    let folder = scratch();
    let out = folder.path().join("t.csv");
    assert_eq!(write(&order(0, 1), &out, false, &Stop::never()).unwrap().rows, 0);
    assert_eq!(fs::read(&out).unwrap(), expected(0, 1));
    assert!(write(&order(0, 1), &out, false, &Stop::never()).unwrap().already);
}

#[test]
fn a_lost_table_beside_its_companion_is_made_again_when_asked() {
    let (folder, whole) = undisturbed(1);
    let out = folder.path().join("undisturbed.csv");
    fs::remove_file(&out).unwrap();
    let error = write(&order(ROWS, 1), &out, false, &Stop::never()).unwrap_err();
    assert!(matches!(error, SweepError::File(FileError::Unfinished { .. })));
    write(&order(ROWS, 1), &out, true, &Stop::never()).unwrap();
    assert!(both(&out) == whole);
}

#[test]
fn rows_reach_the_file_while_the_next_one_takes_its_time() {
    let folder = scratch();
    let out = folder.path().join("t.csv");
    let watched = out.clone();
    let slow = move |desk: &Desk| -> Result<(), Never> {
        desk.serve(&mut |n| {
            if n == 5 {
                // half a second is promised; ten are waited for, since a busy machine may sleep
                let there = || fs::read(&watched).unwrap_or_default() == expected(5, 1);
                let waited = (0..1000).any(|_| {
                    thread::sleep(Duration::from_millis(10));
                    there()
                });
                assert!(waited, "rows are held back");
            }
            row(n, 1)
        });
        Ok(())
    };
    write_whole(&order(8, 1), &out, false, 1, &Stop::never(), &slow, false).unwrap();
    assert_eq!(fs::read(&out).unwrap(), expected(8, 1));
}
