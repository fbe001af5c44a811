//! Tables in parts.

use super::*;

fn path(folder: &Path, part: Part) -> PathBuf {
    folder.join(format!("p{}of{}.csv", part.k, part.of))
}

fn make(order: &Order, part: Part, folder: &Path, stop: &Stop) -> Result<Written, SweepError> {
    let seed = order.origin.get("seed").and_then(Value::as_u64).unwrap_or_default();
    write_part(order, part, &path(folder, part), 2, stop, &worker(seed), false)
}

/// All parts of a table of this seed.
fn all(rows: u64, seed: u64, of: u64, folder: &Path) -> Vec<PathBuf> {
    let parts = (1..=of).map(|k| Part::new(k, of).unwrap());
    parts
        .map(|part| {
            make(&order(rows, seed), part, folder, &Stop::never()).unwrap();
            path(folder, part)
        })
        .collect()
}

fn refusal(parts: &[PathBuf], folder: &Path) -> String {
    let out = folder.join("merged.csv");
    let error = merge(parts, &out).unwrap_err();
    assert!(!error.retry());
    assert!(!out.exists() && !sidecar_of(&out).exists());
    assert!(!names(folder).iter().any(|name| name.ends_with(".tmp")));
    error.diagnostic().to_string()
}

#[test]
fn parts_merged_are_the_whole() {
    let mut chance = Pcg64::seed_from_u64(8);
    for case in 0..220_u64 {
        // no rows, more parts than rows, and everything between
        let rows = if case % 20 == 0 { 0 } else { chance.random_range(0..60) };
        let of = chance.random_range(1..=12);
        let threads = chance.random_range(1..=4);
        let folder = scratch();
        let study = order(rows, case);
        let mut parts: Vec<_> = (1..=of).map(|k| Part::new(k, of).unwrap()).collect();
        let mut made = 0;
        for &part in &parts {
            let out = path(folder.path(), part);
            let written = write_part(&study, part, &out, threads, &Stop::never(), &worker(case), false);
            made += written.unwrap().rows;
        }
        assert_eq!(made, rows);
        // in any order, and one of them twice
        parts.rotate_left((case % of) as usize);
        parts.push(parts[0]);
        let files: Vec<_> = parts.iter().map(|&part| path(folder.path(), part)).collect();
        let (whole, merged) = (folder.path().join("whole.csv"), folder.path().join("merged.csv"));
        let result = merge(&files, &merged).unwrap();
        let one = write_whole(&study, &whole, false, threads, &Stop::never(), &worker(case), false).unwrap();
        assert!(both(&merged) == both(&whole), "{rows} rows in {of} parts");
        assert_eq!(result, Merged { rows, parts: of, already: false, csv_sha256: one.csv_sha256 });
        // and to both ways it is the same table
        assert!(merge(&files, &whole).unwrap().already);
        assert!(write(&study, &merged, false, &Stop::never()).unwrap().already);
        // each of the parts is a table with a header too
        assert!(fs::read(&files[0]).unwrap().starts_with(b"n,chance,remark\n"));
        assert_eq!(names(folder.path()).len(), 2 * (of as usize + 2));
    }
}

#[test]
fn ranges_join_without_gap_or_overlap() {
    for (rows, of) in
        [(0, 1), (0, 5), (1, 5), (10, 3), (7, 7), (u64::MAX, 3), (u64::MAX, 1000), (5, u64::MAX)]
    {
        let mut next = 0;
        for k in (1..=of.min(1000)).chain((of > 1000).then_some(of)) {
            let range = Part::new(k, of).unwrap().range(rows);
            assert!(k > 1000 || range.start == next);
            assert!(range.start <= range.end);
            next = range.end;
        }
        assert_eq!(next, rows);
    }
}

#[test]
fn what_is_no_part_is_told() {
    assert_eq!("3/8".parse(), Ok(Part { k: 3, of: 8 }));
    assert_eq!("1/1".parse::<Part>().unwrap().to_string(), "1/1");
    for bad in ["", "3", "/", "3/", "/8", "a/b", "+3/8", "-1/8", "3/8/9", "3.0/8", "99999999999999999999/8"] {
        let error = bad.parse::<Part>().unwrap_err();
        assert_eq!(error.to_string(), format!("expected a part such as \"3/8\", found {bad:?}"));
    }
    let range = |text: &str| text.parse::<Part>().unwrap_err().to_string();
    assert_eq!(range("9/8"), "there is no part 9 of 8: expected 1 to 8, of at least one part");
    assert_eq!(range("0/0"), "there is no part 0 of 0: expected 1 to 0, of at least one part");
    assert!(range("0/8").contains("no part 0 of 8"));
}

#[test]
fn an_interrupted_part_leaves_nothing_behind() {
    let folder = scratch();
    let part = Part::new(2, 3).unwrap();
    let error = make(&order(30, 1), part, folder.path(), &Stop::after(4)).unwrap_err();
    assert!(
        matches!(error, SweepError::Interrupted { done: 4, rows: 10, kept: false, .. }) && error.retry(),
        "{error}"
    );
    assert!(names(folder.path()).is_empty(), "{:?}", names(folder.path()));
}

#[test]
fn a_part_may_be_repeated_whatever_a_kill_left() {
    let folder = scratch();
    let part = Part::new(2, 3).unwrap();
    let out = path(folder.path(), part);
    let again = || make(&order(30, 1), part, folder.path(), &Stop::never()).unwrap();
    assert_eq!((again().already, again().already), (false, true));
    let whole = both(&out);
    // between the two renames
    fs::remove_file(&out).unwrap();
    assert_eq!(again().made, 10);
    assert!(both(&out) == whole);
    // damaged on disk
    for spoilt in [whole.0[..whole.0.len() - 3].to_vec(), vec![0; whole.0.len()], Vec::new()] {
        fs::write(&out, spoilt).unwrap();
        assert_eq!(again().made, 10);
        assert!(both(&out) == whole);
    }
}

#[test]
fn a_part_of_something_else_is_not_overwritten() {
    let folder = scratch();
    let (first, second) = (Part::new(1, 3).unwrap(), Part::new(2, 3).unwrap());
    make(&order(30, 1), first, folder.path(), &Stop::never()).unwrap();
    let out = path(folder.path(), first);
    let before = both(&out);
    let refused = |order: &Order, part| {
        let error = write_part(order, part, &out, 1, &Stop::never(), &worker(1), false).unwrap_err();
        assert!(both(&out) == before && !error.retry());
        error.to_string()
    };
    assert!(refused(&order(30, 2), first).ends_with("seed is 1 there and 2 here"));
    assert!(refused(&order(30, 1), second).ends_with("part is 1/3 there and 2/3 here"));
    let whole = write(&order(30, 1), &out, true, &Stop::never()).unwrap_err().to_string();
    assert!(whole.ends_with("part is 1/3 there and the whole here"), "{whole}");
}

#[test]
fn missing_parts_are_named() {
    let folder = scratch();
    let mut parts = all(50, 1, 6, folder.path());
    parts.remove(5);
    parts.remove(2);
    let told = refusal(&parts, folder.path());
    assert!(told.contains("3/6 is missing; 6/6 is missing; make again"), "{told}");
    assert!(told.ends_with("`--part 3/6`, `--part 6/6`"), "{told}");
    // a companion that claims a great many takes no time and no memory
    let last = sidecar_of(&parts[3]);
    let text = fs::read_to_string(&last).unwrap().replace("\"of\": 6", "\"of\": 1000000000000000");
    fs::write(&last, text).unwrap();
    let told = refusal(&parts[3..], folder.path());
    assert!(
        told.contains("1/1000000000000000 is missing") && told.contains("999999999999980 more"),
        "{told}"
    );
}

#[test]
fn damaged_parts_are_named() {
    let folder = scratch();
    let parts = all(50, 1, 5, folder.path());
    let keep: Vec<_> = parts.iter().map(|part| fs::read(part).unwrap()).collect();
    type Spoil = fn(&mut Vec<u8>);
    let cases: [(&str, Spoil, &str); 5] = [
        ("torn", |b| b.truncate(b.len() - 2), "has 9 whole rows instead of 10"),
        ("longer", |b| b.extend_from_slice(b"50,1,\n"), "has 11 whole rows instead of 10"),
        ("a digit", |b| _ = b.iter_mut().rev().find(|b| b.is_ascii_digit()).map(|b| *b ^= 1), "has changed"),
        ("header", |b| b[0] = b'x', "does not begin as its study does"),
        ("empty", Vec::clear, "has 0 whole rows instead of 10"),
    ];
    for k in 0..5 {
        for (name, spoil, told) in &cases {
            let mut bytes = keep[k].clone();
            spoil(&mut bytes);
            fs::write(&parts[k], bytes).unwrap();
            let text = refusal(&parts, folder.path());
            assert!(text.contains(&format!("{}/5 {told}", k + 1)), "{name}: {text}");
            assert!(text.ends_with(&format!("`--part {}/5`", k + 1)), "{name}: {text}");
            fs::write(&parts[k], &keep[k]).unwrap();
        }
    }
    fs::remove_file(&parts[1]).unwrap();
    assert!(refusal(&parts, folder.path()).contains("2/5 cannot be read"));
    fs::remove_file(sidecar_of(&parts[2])).unwrap();
    let text = refusal(&parts, folder.path());
    assert!(text.contains("3/5 is missing") && text.contains("there is no"), "{text}");
}

#[test]
fn a_sound_copy_stands_in_for_a_damaged_one() {
    let folder = scratch();
    let mut parts = all(50, 1, 4, folder.path());
    let copy = folder.path().join("copy.csv");
    fs::copy(&parts[1], &copy).unwrap();
    fs::copy(sidecar_of(&parts[1]), sidecar_of(&copy)).unwrap();
    fs::write(&parts[1], "n,chance,remark\n12,0,\n").unwrap();
    parts.push(copy);
    let out = folder.path().join("merged.csv");
    merge(&parts, &out).unwrap();
    assert_eq!(fs::read(out).unwrap(), expected(50, 1));
}

#[test]
fn parts_that_do_not_belong_together_are_refused() {
    let folders: Vec<_> = (0..4).map(|_| scratch()).collect();
    let [one, two, three, four] = [0, 1, 2, 3].map(|i| folders[i].path());
    let (mine, foreign, other) = (all(40, 1, 4, one), all(40, 2, 4, two), all(40, 1, 5, three));
    let told = refusal(&[&mine[..], &foreign[2..3]].concat(), one);
    assert!(told.contains("seed is 2 there and 1 here") && told.contains("p3of4.csv"), "{told}");
    let told = refusal(&[&mine[..3], &other[4..]].concat(), one);
    assert!(told.contains("is part 1/4") && told.contains("is part 5/5"), "{told}");
    // the same part of the same study with other bytes: one of the programs lies about its origin
    let part = Part::new(3, 4).unwrap();
    let lying = path(four, part);
    write_part(&order(40, 1), part, &lying, 1, &Stop::never(), &worker(7), false).unwrap();
    let told = refusal(&[&mine[..], &[lying]].concat(), one);
    assert!(told.contains("are both part 3/4, but differ"), "{told}");
    assert!(refusal(&[], one).contains("no parts to merge"));
    let whole = four.join("whole.csv");
    write(&order(40, 1), &whole, false, &Stop::never()).unwrap();
    assert!(refusal(std::slice::from_ref(&whole), one).contains("a whole table, not a part"));
}

#[test]
fn what_stands_where_the_table_should_go_is_looked_at() {
    let folder = scratch();
    let parts = all(40, 1, 3, folder.path());
    let out = folder.path().join("merged.csv");
    let refused = || {
        let before = both(&out);
        let error = merge(&parts, &out).unwrap_err();
        assert!(both(&out) == before && !error.retry());
        error
    };
    // begun by a single run
    let _ = write(&order(40, 1), &out, false, &Stop::after(9));
    assert!(matches!(refused(), SweepError::File(FileError::Begun { .. })));
    // a kill between the two renames of a merge: companion without table
    fs::remove_file(&out).unwrap();
    assert!(!merge(&parts, &out).unwrap().already);
    assert_eq!(fs::read(&out).unwrap(), expected(40, 1));
    assert!(merge(&parts, &out).unwrap().already);
    // spoilt afterwards
    fs::write(&out, "n").unwrap();
    assert!(matches!(refused(), SweepError::File(FileError::Changed { .. })));
    // of another study, and of none
    fs::remove_file(&out).unwrap();
    fs::remove_file(sidecar_of(&out)).unwrap();
    write(&order(40, 2), &out, false, &Stop::never()).unwrap();
    assert!(refused().to_string().contains("seed is 2 there and 1 here"));
    fs::remove_file(sidecar_of(&out)).unwrap();
    let error = merge(&parts, &out).unwrap_err();
    assert!(matches!(error, SweepError::File(FileError::Unmarked { .. })), "{error}");
    // one of its own parts
    let before = both(&parts[0]);
    assert!(
        merge(&parts, &parts[0]).unwrap_err().to_string().contains("part is 1/3 there and the whole here")
    );
    assert!(both(&parts[0]) == before);
}
