//! What stands there already and is not ours to write.

use fs4::FileExt;

use super::*;

fn refusal(order: &Order, out: &Path, resume: bool) -> SweepError {
    let before = fs::read(out).ok();
    let error = write(order, out, resume, &Stop::never()).unwrap_err();
    assert_eq!(fs::read(out).ok(), before, "{error}");
    error
}

#[test]
fn another_study_is_refused_with_what_differs() {
    let folder = scratch();
    let change: [(&str, Change, &str); 6] = [
        ("seed", |o| _ = o.origin.insert("seed".into(), json!(2)), "seed is 1 there and 2 here"),
        (
            "file",
            |o| o.origin["files"]["b.yaml"] = json!("abcd"),
            r#"files["b.yaml"] is "ff00" there and "abcd" here"#,
        ),
        ("step", |o| o.origin["step"] = json!(0.3), "step is 0.30000000000000004 there and 0.3 here"),
        ("new", |o| _ = o.origin.insert("new".into(), json!(true)), "new is nothing there and true here"),
        ("rows", |o| o.rows = 31, "rows is 30 there and 31 here"),
        ("header", |o| o.header = b"n,c,r\n".to_vec(), "the first line or the order of keys"),
    ];
    for unfinished in [false, true] {
        for (name, change, told) in &change {
            let out = folder.path().join(format!("{name}{unfinished}.csv"));
            let stop = if unfinished { Stop::after(9) } else { Stop::never() };
            let _ = write(&order(30, 1), &out, false, &stop);
            let mut other = order(30, 1);
            change(&mut other);
            for resume in [false, true] {
                let error = refusal(&other, &out, resume);
                let text = error.to_string();
                assert!(text.contains(told), "{text}");
                // one change is one difference
                assert!(!text.contains(';'), "{text}");
                assert!(!error.retry());
            }
        }
    }
}

#[test]
fn a_file_without_a_companion_is_refused() {
    let folder = scratch();
    let out = folder.path().join("t.csv");
    for content in [expected(5, 1), Vec::new(), b"my own notes".to_vec()] {
        fs::write(&out, content).unwrap();
        for resume in [false, true] {
            let error = refusal(&order(30, 1), &out, resume);
            assert!(matches!(error, SweepError::File(FileError::Unmarked { .. })), "{error}");
            assert!(error.diagnostic().to_string().contains("choose another name"), "{}", error.diagnostic());
        }
        let part = Part::new(1, 1).unwrap();
        let error = write_part(&order(5, 1), part, &out, 1, &Stop::never(), &worker(1), false).unwrap_err();
        assert!(matches!(error, SweepError::File(FileError::Unmarked { .. })), "{error}");
    }
    assert_eq!(names(folder.path()), ["t.csv"]);
}

#[test]
fn a_companion_that_says_nothing_is_refused() {
    let folder = scratch();
    let out = folder.path().join("t.csv");
    let _ = write(&order(9, 1), &out, false, &Stop::never());
    let good = fs::read_to_string(sidecar_of(&out)).unwrap();
    let torn = &good[..good.len() / 2];
    let deep = "[".repeat(100_000);
    for bad in
        ["", "[]", "{}", torn, &good.replace("whole", "half"), &good.replace("_sha256", "_sha1"), &deep]
    {
        fs::write(sidecar_of(&out), bad).unwrap();
        let error = refusal(&order(9, 1), &out, true);
        assert!(matches!(error, SweepError::File(FileError::Sidecar { .. })), "{error}");
    }
    fs::write(sidecar_of(&out), [0xff, 0xfe]).unwrap();
    let error = refusal(&order(9, 1), &out, true);
    assert!(error.to_string().contains("no text"), "{error}");
}

#[test]
fn unfinished_work_is_not_begun_anew_unasked() {
    let folder = scratch();
    let out = folder.path().join("t.csv");
    let _ = write(&order(30, 1), &out, false, &Stop::after(9));
    let error = refusal(&order(30, 1), &out, false);
    assert!(matches!(error, SweepError::File(FileError::Unfinished { .. })), "{error}");
    assert!(error.retry() && error.diagnostic().to_string().contains("--resume"));
}

#[test]
fn a_table_changed_by_hand_is_refused() {
    let folder = scratch();
    let out = folder.path().join("t.csv");
    write(&order(30, 1), &out, false, &Stop::never()).unwrap();
    fs::write(&out, [expected(30, 1), b"a remark\n".to_vec()].concat()).unwrap();
    for resume in [false, true] {
        let error = refusal(&order(30, 1), &out, resume);
        assert!(matches!(error, SweepError::File(FileError::Changed { .. })), "{error}");
        assert!(!error.retry());
    }
    // unfinished, and then replaced by something else: no torn header looks like this
    let out = folder.path().join("u.csv");
    let _ = write(&order(30, 1), &out, false, &Stop::after(9));
    fs::write(&out, "n;chance;remark\n0;1;\n").unwrap();
    let error = refusal(&order(30, 1), &out, true);
    assert!(error.to_string().contains("the first line is"), "{error}");
}

#[test]
fn two_processes_do_not_write_one_file() {
    let folder = scratch();
    let out = folder.path().join("t.csv");
    let _ = write(&order(30, 1), &out, false, &Stop::after(9));
    // locks belong to the open file, so this stands for another process
    let other = fs::OpenOptions::new().write(true).open(&out).unwrap();
    FileExt::lock(&other).unwrap();
    let error = refusal(&order(30, 1), &out, true);
    assert!(matches!(error, SweepError::File(FileError::Busy { .. })) && error.retry(), "{error}");
    drop(other);
    assert_eq!(write(&order(30, 1), &out, true, &Stop::never()).unwrap().made, 21);
}

#[test]
fn who_does_not_get_the_lock_leaves_the_companion_alone() {
    let folder = scratch();
    let out = folder.path().join("t.csv");
    write(&order(30, 1), &out, false, &Stop::never()).unwrap();
    let companion = fs::read(sidecar_of(&out)).unwrap();
    // another process found the table lost, has made it anew to lock it, and has not written yet
    fs::remove_file(&out).unwrap();
    let other = fs::OpenOptions::new().write(true).create_new(true).open(&out).unwrap();
    FileExt::lock(&other).unwrap();
    let error = refusal(&order(30, 1), &out, true);
    assert!(matches!(error, SweepError::File(FileError::Busy { .. })) && error.retry(), "{error}");
    assert_eq!(fs::read(sidecar_of(&out)).unwrap(), companion);
    // a kill at that moment leaves an empty table, which is made again
    drop(other);
    let error = refusal(&order(30, 1), &out, false);
    assert!(matches!(error, SweepError::File(FileError::Unfinished { .. })), "{error}");
    assert_eq!(write(&order(30, 1), &out, true, &Stop::never()).unwrap().made, 30);
    assert_eq!(fs::read(&out).unwrap(), expected(30, 1));
}

#[test]
fn of_many_that_begin_at_once_none_spoils_the_table() {
    let folder = scratch();
    for round in 0..500 {
        let out = folder.path().join(format!("{round}.csv"));
        let results: Vec<_> = thread::scope(|scope| {
            let begin = || scope.spawn(|| write(&order(60, 1), &out, true, &Stop::never()));
            let all: Vec<_> = (0..6).map(|_| begin()).collect();
            all.into_iter().map(|thread| thread.join().unwrap()).collect()
        });
        assert!(results.iter().any(Result::is_ok));
        for result in results {
            assert!(result.as_ref().err().is_none_or(SweepError::retry), "{result:?}");
        }
        assert_eq!(fs::read(&out).unwrap(), expected(60, 1));
        assert!(write(&order(60, 1), &out, false, &Stop::never()).unwrap().already);
    }
}

#[test]
fn places_where_no_table_can_be_are_refused() {
    let folder = scratch();
    let no_folder = folder.path().join("none").join("t.csv");
    for place in [folder.path(), &no_folder, Path::new("/dev/full"), Path::new("")] {
        let error = write(&order(3, 1), place, false, &Stop::never()).unwrap_err();
        assert!(matches!(error, SweepError::File(FileError::Place { .. })), "{error}");
        assert!(!error.retry());
    }
    assert!(names(folder.path()).is_empty());
}

#[test]
fn an_order_that_contradicts_itself_is_refused() {
    let folder = scratch();
    let out = folder.path().join("t.csv");
    let spoil: [(Change, &str); 4] = [
        (|o| _ = o.origin.insert("rows".into(), json!(1)), "`rows`"),
        (|o| o.fields = 4, "3 fields, the rows have 4"),
        (|o| o.header = b"n,a,b".to_vec(), "no line end"),
        (|o| o.header = b"n,a,b\n\n".to_vec(), "outside quotes"),
    ];
    for (spoil, told) in spoil {
        let mut order = order(3, 1);
        spoil(&mut order);
        let error = write(&order, &out, false, &Stop::never()).unwrap_err();
        assert!(error.to_string().contains(told), "{error}");
    }
    assert!(names(folder.path()).is_empty());
}

#[test]
fn the_hash_knows_everything_that_decides_a_byte() {
    let base = order(30, 1).hash();
    assert_eq!(base, order(30, 1).hash());
    let change: [Change; 4] = [
        |o| o.rows = 3,
        |o| o.header = b"a,b,c\n".to_vec(),
        |o| o.origin["step"] = json!(0.3),
        |o| _ = o.origin.shift_remove("seed").map(|seed| o.origin.insert("seed".into(), seed)),
    ];
    for change in change {
        let mut other = order(30, 1);
        change(&mut other);
        assert_ne!(other.hash(), base);
    }
}
