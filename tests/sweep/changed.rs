//! A table belongs to what it was made from: nothing else goes on with it or over it.

use crate::harness::long;
use crate::harness::{AXES, Folder, RUN, TUB, start, until};

/// A study that was killed half way.
fn begun() -> Folder {
    let f = Folder::with(&long(2000));
    let mut child = start(&mut f.command("sweep s.rhai"));
    until("the first rows", || f.at("s.csv").metadata().is_ok_and(|about| about.len() > 2000));
    child.kill().unwrap();
    child.wait().unwrap();
    assert!(f.text("s.csv.json").contains("under way"));
    f
}

#[test]
fn resuming_refuses_what_has_changed_and_names_it() {
    let f = begun();
    for (file, old, new, words) in [
        ("s.rhai", "seed(7)", "seed(8)", &["seed is 7 there and 8 here"][..]),
        ("s.rhai", "\"Sizes\"", "\"Others\"", &["study.title", "\"Sizes\" there and \"Others\" here"]),
        ("s.rhai", "220 mm", "221 mm", &["study.axes", "inputs_sha256[\"s.rhai\"]"]),
        ("s.rhai", "title(\"Tub\")", "title(\"Tab\")", &["inputs_sha256[\"s.rhai\"]"]),
        (
            "setups/demo_drive.yaml",
            "setup: 1",
            "setup: 1 # touched",
            &["inputs_sha256[\"setups/demo_drive.yaml\"]"],
        ),
    ] {
        f.edit(file, old, new);
        let mut all = vec!["s.csv holds another study", "choose another name"];
        all.extend(words);
        f.refuses("sweep s.rhai --resume", &all);
        f.refuses("sweep s.rhai", &all);
        f.edit(file, new, old);
    }
}

#[test]
fn another_table_is_never_written_over() {
    let f = Folder::with(&format!("{TUB}{AXES}{RUN}"));
    f.runs("sweep s.rhai");
    f.put("other.rhai", f.text("s.rhai").replace("60 A", "61 A"));
    f.refuses("sweep other.rhai --out s.csv", &["s.csv holds another study", "other.rhai"]);
    f.refuses("sweep s.rhai --part 1/2 --out s.csv", &["s.csv holds another study", "part"]);
    // a table that was changed by hand is no longer this one either
    f.edit("s.csv", ",ran,", ",run,");
    f.refuses("sweep s.rhai", &["s.csv was finished and has changed since", "move it away"]);
    std::fs::remove_file(f.at("s.csv.json")).unwrap();
    f.refuses("sweep s.rhai --resume", &["s.csv is there, but s.csv.json is not"]);
    f.put("s.csv.json", "{}");
    f.refuses("sweep s.rhai --resume", &["s.csv.json does not say what the table was made from"]);
    // nor is the trace of a single run a table
    f.put("run.rhai", TUB.replace("let s", "tub.run();\nlet s"));
    f.runs("run run.rhai --trace t.csv");
    f.refuses("sweep s.rhai --out t.csv", &["t.csv.json does not say"]);
}

#[test]
fn inputs_are_not_written_over() {
    let f = Folder::with(&format!("{TUB}{AXES}{RUN}"));
    let tub = f.text("setups/demo_tub.yaml");
    f.refuses("sweep s.rhai --out s.rhai", &["s.rhai is there, but s.rhai.json is not"]);
    f.refuses("sweep s.rhai --resume --out setups/demo_tub.yaml", &["setups/demo_tub.yaml is there"]);
    f.refuses("merge s.rhai s.rhai", &["s.rhai: there is no s.rhai.json"]);
    assert_eq!(f.text("setups/demo_tub.yaml"), tub);
    for (out, words) in [
        ("setups", "setups cannot be written: this is a folder"),
        ("none/s.csv", "there is no folder none"),
        ("/dev/null", "device or pipe"),
        ("-", "standard output is for what the command tells"),
    ] {
        f.refuses(&format!("sweep s.rhai --out {out}"), &[words]);
        f.refuses(&format!("merge {out} s.csv"), &[words]);
    }
}
