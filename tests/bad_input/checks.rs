//! `check`, and a command line that cannot be understood.

use crate::harness::Folder;
use crate::scripts::TRIAL;

#[test]
fn a_folder_must_hold_scenarios() {
    let f = Folder::new();
    f.run(&["check", "nowhere"]).is_refused(&["no folder nowhere"]);
    f.run(&["check", "setups"]).is_refused(&["no scenario in setups", ".rhai"]);
    f.put("s.rhai", "").run(&["check", "s.rhai"]).is_refused(&["s.rhai is not a folder", "`run`"]);
}

#[test]
fn a_broken_scenario_does_not_hide_the_good_ones() {
    let f = Folder::new();
    f.put("a.rhai", "expect(\"one\", 1, above(0));")
        .put("b.rhai", "let x = ;")
        .put("c.rhai", "title(\"c\");");
    let done = f.run(&["check", "."]);
    assert_eq!(done.code, Some(2));
    for line in ["a.rhai: all 1 expectations hold", "b.rhai: cannot be run", "c.rhai: ran"] {
        assert!(done.out.contains(line), "{line} in\n{}", done.out);
    }
    assert!(done.out.ends_with("2 scenarios hold, 0 do not, 1 cannot be run\n"), "{}", done.out);
    assert!(done.err.contains("b.rhai:1:9"), "{}", done.err);
    assert_eq!(done.new_files, [""; 0]);
}

#[test]
fn failing_expectations_are_listed_with_place_and_distance() {
    let f = Folder::new();
    f.put("good.rhai", "expect(\"one\", 1, above(0));");
    f.put("m.rhai", "fn must(x) {\n  expect(\"in a module\", x, is_true());\n}");
    let script = format!(
        "{TRIAL}t.run();\nexpect(\"end\", t.at_end(\"time\"), between(1, 2));\nexpect(\"none\", (), near(1, 0.1));\n\
         import \"m\" as m;\nm::must(false);"
    );
    f.put("bad.rhai", script);
    let done = f.run(&["check", "."]);
    assert_eq!((done.code, done.err.as_str()), (Some(1), ""), "{}", done.out);
    for line in [
        "bad.rhai:3: end: expected between 1 and 2, found 0.2, off by 0.8",
        "bad.rhai:4: none: expected 1 ± 0.1, found none",
        "m.rhai:2: in a module: expected true, found false",
        "bad.rhai: 3 of 3 expectations do not hold",
    ] {
        assert!(done.out.contains(line), "{line} in\n{}", done.out);
    }
}

#[cfg(unix)]
#[test]
fn links_in_a_ring_do_not_trap_the_search() {
    let f = Folder::new();
    f.put("a.rhai", "");
    for name in ["one", "two"] {
        std::os::unix::fs::symlink(f.root(), f.root().join(name)).unwrap();
    }
    let done = f.run(&["check", "."]);
    assert_eq!((done.code, done.out.lines().filter(|l| l.contains("a.rhai")).count()), (Some(0), 1));
}

#[test]
fn the_command_line_is_read_strictly() {
    let f = Folder::new();
    f.run(&["rum", "s.rhai"]).is_refused(&["rum", "run"]);
    f.run(&[]).is_refused(&["Usage"]);
    f.run(&["run"]).is_refused(&["SCENARIO"]);
    f.run(&["run", "--trce", "x", "s.rhai"]).is_refused(&["--trce"]);
    f.run(&["parts", "batery"]).is_refused(&["batery", "did you mean `battery`?"]);
    f.run(&["parts", "rider"]).is_refused(&["did you mean `rider_ideal` or `rider_reacting`?"]);
    f.run(&["parts", "nothing"]).is_refused(&["`parts` alone lists them all"]);
}
