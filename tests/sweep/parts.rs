//! Parts made on machines that know nothing of each other, and what a merge says of bad ones.

use crate::harness::{AXES, Folder, RUN, TUB};

/// A study with all three parts made.
fn parted() -> Folder {
    let f = Folder::with(&format!("{TUB}{AXES}{RUN}"));
    for k in 1..=3 {
        f.runs(&format!("sweep s.rhai --part {k}/3"));
    }
    f
}

const PARTS: &str = "s.part-1-of-3.csv s.part-2-of-3.csv s.part-3-of-3.csv";

#[test]
fn a_part_made_twice_is_left_as_it_is() {
    let f = parted();
    let changed = || std::fs::metadata(f.at("s.part-2-of-3.csv")).unwrap().modified().unwrap();
    let (before, table) = (changed(), f.table("s.part-2-of-3.csv"));
    let told = f.runs("sweep s.rhai --part 2/3");
    assert!(told.contains("part 2/3 was there already"), "{told}");
    assert_eq!((changed(), f.table("s.part-2-of-3.csv")), (before, table.clone()));
    // damaged, it is made again without further ado
    f.edit("s.part-2-of-3.csv", ",ran,", ",run,");
    let told = f.runs("sweep s.rhai --part 2/3");
    assert!(told.contains("part 2/3 is whole"), "{told}");
    assert_eq!(f.table("s.part-2-of-3.csv"), table);
}

#[test]
fn a_merge_names_the_parts_to_make_again() {
    let f = parted();
    let whole = f.text("s.part-2-of-3.csv");
    f.refuses("merge m.csv s.part-1-of-3.csv s.part-3-of-3.csv", &["2/3 is missing", "`--part 2/3`"]);
    f.refuses("merge m.csv s.part-2-of-3.csv", &["`--part 1/3`, `--part 3/3`"]);
    // one number changed, the last row lost, the last line torn
    let (head, last) = whole.trim_end().rsplit_once('\n').unwrap();
    for (damaged, why) in [
        (whole.replace(",ran,", ",run,"), "has changed since it was made"),
        (format!("{head}\n"), "whole rows instead of"),
        (format!("{head}\n{}", &last[..last.len() / 2]), "whole rows instead of"),
    ] {
        assert_ne!(damaged, whole);
        f.put("s.part-2-of-3.csv", damaged);
        f.refuses(&format!("merge m.csv {PARTS}"), &["2/3", why, "`--part 2/3`"]);
    }
    f.put("s.part-2-of-3.csv", &whole);
    std::fs::remove_file(f.at("s.part-2-of-3.csv.json")).unwrap();
    f.refuses(&format!("merge m.csv {PARTS}"), &["there is no s.part-2-of-3.csv.json", "`--part 2/3`"]);
    f.runs("sweep s.rhai --part 2/3 --out again.csv");
    f.runs("merge m.csv s.part-3-of-3.csv again.csv s.part-1-of-3.csv");
    assert_eq!(f.table("m.csv"), f.reference());
}

#[test]
fn parts_of_something_else_are_not_merged() {
    let f = parted();
    f.put("other.rhai", f.text("s.rhai").replace("60 A", "61 A"));
    f.runs("sweep other.rhai --part 2/3");
    let foreign = PARTS.replace("s.part-2", "other.part-2");
    f.refuses(&format!("merge m.csv {foreign}"), &["other.part-2-of-3.csv holds another study", "61"]);
    f.runs("sweep s.rhai --part 2/4");
    let divided = PARTS.replace("2-of-3", "2-of-4");
    f.refuses(&format!("merge m.csv {divided}"), &["part 1/3", "part 2/4", "divide the table differently"]);
    f.runs("sweep s.rhai");
    f.refuses(&format!("merge m.csv {PARTS} s.csv"), &["s.csv: this is a whole table, not a part"]);
    f.refuses("merge m.csv none.csv", &["there is no none.csv.json"]);
    f.refuses(&format!("merge s.rhai {PARTS}"), &["s.rhai is there, but s.rhai.json is not"]);
}

#[test]
fn what_is_no_part_is_refused() {
    let f = Folder::with(&format!("{TUB}{AXES}{RUN}"));
    for (part, words) in [
        ("0/3", "there is no part 0 of 3: expected 1 to 3"),
        ("4/3", "there is no part 4 of 3: expected 1 to 3"),
        ("1/0", "there is no part 1 of 0"),
        ("x", "expected a part such as \"3/8\", found \"x\""),
        ("1/99999999999999999999999", "expected a part such as \"3/8\""),
    ] {
        f.refuses(&format!("sweep s.rhai --part {part}"), &["--part", words]);
    }
    for threads in ["0", "5000"] {
        f.refuses(&format!("sweep s.rhai --threads {threads}"), &["--threads is from 1 to 1024", threads]);
    }
    f.refuses("sweep s.rhai --part 1/2 --resume", &["--resume", "--part"]);
}
