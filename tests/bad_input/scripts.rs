//! Scripts: slips of the pen, told with line and what was meant.

use crate::harness::Folder;

/// A short trial in the tub, on the first line.
pub const TRIAL: &str =
    "let c = setup(\"setups/demo_tub.yaml\"); let t = trial(\"x\", c); t.lasts(\"0.2 s\");\n";

/// A script that begins with the trial must be refused for these reasons.
#[track_caller]
fn refused(rest: &str, words: &[&str]) {
    Folder::new().refuses(&format!("{TRIAL}{rest}"), words);
}

#[test]
fn a_script_must_be_a_file_of_text() {
    let f = Folder::new();
    let done = f.run(&["run", "s.rhai"]);
    done.is_refused(&["no such file"]);
    assert!(done.err.lines().next().is_some_and(|line| line.contains("s.rhai")), "{}", done.err);
    f.put("drive.rhai", "").run(&["run", "drivee.rhai"]).is_refused(&["did you mean `drive.rhai`?"]);
    std::fs::create_dir(f.root().join("d.rhai")).unwrap();
    f.run(&["run", "d.rhai"]).is_refused(&["d.rhai", "folder", "expected a file"]);
    f.put("s.rhai", b"// ok\n\xff\n").run(&["run", "s.rhai"]).is_refused(&["s.rhai:2:1", "UTF-8"]);
    f.run(&["run", "/dev/zero"]).is_refused(&["/dev/zero", "device"]);
    f.put("s.rhai", "//".repeat(200_000))
        .run(&["run", "s.rhai"])
        .is_refused(&["s.rhai", "larger than 256 KiB"]);
}

#[test]
fn a_script_without_a_trial_runs_and_says_so() {
    for script in ["", "// nothing\n", "title(\"x\");"] {
        let f = Folder::new();
        let done = f.put("s.rhai", script).run(&["run", "s.rhai"]);
        assert_eq!((done.code, done.err.as_str()), (Some(0), ""));
        assert!(done.out.contains("No trial was run"), "{}", done.out);
    }
}

#[test]
fn syntax_errors_have_a_line() {
    refused("t.run(", &["s.rhai:2:"]);
    refused("let x = ;", &["s.rhai:2:9"]);
    refused("\n\nif { }", &["s.rhai:4:"]);
    refused("\"open", &["s.rhai:2:"]);
    refused(&"(".repeat(10_000), &["s.rhai:2:"]);
    refused(&format!("let x = {}1;", "1 + ".repeat(10_000)), &["s.rhai:2:"]);
}

#[test]
fn an_unknown_function_suggests_the_nearest() {
    let throttle = "\"controller.throttle\"";
    refused(
        &format!("t.rmap({throttle}, 1, 1, 2);"),
        &["s.rhai:2:3", "rmap(trial, text,", "did you mean `ramp`?"],
    );
    refused("t.rum();", &["s.rhai:2:3", "did you mean `run`?"]);
    refused("seutp(\"a\");", &["s.rhai:2:1", "seutp(text)", "did you mean `setup`?"]);
    refused("fn glide(a) { a }\nglyde(1);", &["s.rhai:3:1", "did you mean `glide`?"]);
    refused(
        &format!("t.ramp({throttle}, 1);"),
        &["s.rhai:2:3", "there is ramp(trial, quantity, value, at, taking)"],
    );
    refused("let a = tt;", &["s.rhai:2:9", "no variable tt"]);
    refused("let second = 1;\nlet a = secnd;", &["s.rhai:3:9", "did you mean `second`?"]);
}

#[test]
fn an_error_in_a_function_is_shown_at_its_line() {
    refused("fn f(t) {\n  t.rmap(1)\n}\nf(t);", &["s.rhai:3:5", "rmap"]);
    refused("fn f(t) {\n  t.lasts(\"1 kg\")\n}\nf(t);", &["s.rhai:3:5", "is a mass"]);
}

#[test]
fn whole_numbers_do_not_lose_their_rest() {
    refused("let x = 7 / 2;", &["s.rhai:2:", "7 / 2", "write 7.0 / 2"]);
    refused("let x = 1 / 0;", &["s.rhai:2:", "division by zero"]);
    refused("let x = 9223372036854775807 + 1;", &["s.rhai:2:", "overflow"]);
    assert_eq!(Folder::new().takes("print(6 / 2); print(7.0 / 2);").trim(), "3\n3.5");
}

#[test]
fn quantities_and_values_are_checked_where_they_are_stated() {
    let set = |what: &str, words: &[&str]| {
        // the run is on the third line; the slip is on the second
        let words: Vec<&str> = ["s.rhai:2:"].into_iter().chain(words.iter().copied()).collect();
        refused(&format!("{what};\nt.run();"), &words);
    };
    set(
        "t.set(\"controller.throtle\", 1)",
        &["no quantity controller.throtle", "did you mean controller.throttle?"],
    );
    set(
        "t.set(\"propeller.thrust\", 1)",
        &["propeller.thrust", "cannot be prescribed", "controller.throttle"],
    );
    set("t.set(\"controller.throttle\", \"3 kg\")", &["\"3 kg\" is a mass"]);
    set("t.set(\"controller.throttle\", 0.0 / 0.0)", &["controller.throttle", "NaN", "finite"]);
    set("t.set(\"controller.throttle\", 1.0 / 0.0)", &["controller.throttle", "inf", "finite"]);
    set("t.set(\"controller.throttle\", true)", &["expected a number", "bool"]);
    set("t.step(\"controller.throttle\", 1, -1)", &["cannot be negative", "-1 s"]);
    set("t.ramp(\"controller.throttle\", 1, 0, \"-2 s\")", &["cannot be negative"]);
    set("t.step(\"controller.throttle\", 1, \"1 m\")", &["\"1 m\" is a length"]);
    set("t.step(\"controller.throttle\", 1, 0.0 / 0.0)", &["not a finite number"]);
    set("t.pulse(\"propeller.thrust\", 1, 0.1, 0.1)", &["cannot be prescribed"]);
    set("t.hold(\"propeller.thrust\", 1)", &["not a state"]);
    set("t.start(\"controller.throttle\", 1)", &["not a state"]);
    set("t.lasts(0)", &["a trial lasts from"]);
    set("t.lasts(1e9)", &["a trial lasts from"]);
    set("t.tolerance(0)", &["tolerance lies between"]);
    set("t.once(\"propeller.thrst\", rises_above(1), |now| 0)", &["did you mean propeller.thrust?"]);
    set("t.stop_when(\"propeller.thrust\", rises_above(\"1 V\"))", &["\"1 V\" is a voltage"]);
}

#[test]
fn a_changed_value_is_told_of_at_its_change() {
    let changed = |what: &str, words: &[&str]| {
        let words: Vec<&str> = ["s.rhai:2:"].into_iter().chain(words.iter().copied()).collect();
        refused(&format!("{what};\nt.run();"), &words);
    };
    changed("c.change(\"battery.mas\", \"1 kg\")", &["battery.mas", "did you mean `mass`?"]);
    changed("c.change(\"batery.mass\", \"1 kg\")", &["no part `batery`", "did you mean `battery`?"]);
    changed("c.change(\"battery.mass\", \"1 m\")", &["battery.mass", "expected a mass"]);
    changed("c.change(\"battery.mass\", \"-1 kg\")", &["battery.mass", "out of range"]);
    changed("c.change(\"battery.mass\", 0.0 / 0.0)", &["finite"]);
    changed("c.change(\"battery.mass\", \"{{{\")", &["battery.mass"]);
    changed("c.change(\"\", \"1 kg\")", &[]);
}

#[test]
fn a_changed_value_is_checked_without_a_run() {
    let changed = |what: &str, words: &[&str]| refused(&format!("{what};"), words);
    changed("c.change(\"battery.mas\", \"1 kg\")", &["s.rhai:2:3", "battery.mas", "did you mean `mass`?"]);
    changed("c.change(\"battery.mass\", \"1 m\")", &["s.rhai:2:3", "expected a mass"]);
    changed("c.change(\"battery.part\", \"batery\")", &["s.rhai:2:3", "no kind of part called `batery`"]);
    // parameters that only go together, or are missing after a change of kind, may still follow
    let script = format!(
        "{TRIAL}c.change(\"propeller.part\", \"propeller_series\");\n\
         c.change(\"propeller.diameter\", \"165 mm\");\nprint(\"here\");"
    );
    assert_eq!(Folder::new().takes(&script).trim(), "here");
}

#[test]
fn a_mistake_that_was_caught_does_not_come_back() {
    let caught = "try { setup(\"none.yaml\"); } catch (err) { print(err); }\n";
    assert!(Folder::new().takes(caught).contains("no such file"));
    let f = Folder::new();
    let done = f.put("s.rhai", format!("{caught}let x = y;")).run(&["run", "s.rhai"]);
    done.is_refused(&["s.rhai:2:9", "no variable y"]);
    assert!(!done.err.contains("no such file"));
}

#[test]
fn a_thrown_text_of_any_length_fits_a_screen() {
    refused("throw \"no wind\";", &["s.rhai:2:1", "no wind"]);
    refused("let s = \"\"; for i in 0..2000 { s += \"line\\n\"; }\nthrow s;", &["s.rhai:3:1", "line"]);
}

#[test]
fn a_result_lists_what_it_has() {
    let at = "s.rhai:3:15";
    refused(
        "let r = t.run();\nexpect(\"a\", r.static_thrust, above(1));",
        &[at, "did you mean `static_thrust_N`?"],
    );
    refused("let r = t.run();\nexpect(\"a\", r.thrust, above(1));", &[at, "no `thrust`", "static_thrust_N"]);
    refused("let r = t.run();\nexpect(\"a\", r.xyzzy, above(1));", &[at, "no `xyzzy`", "a result has"]);
    refused("expect(\"a\", 0.0 / 0.0, above(1));", &["s.rhai:2:1", "finite"]);
    refused("expect(\"a\", 1, above(\"x\"));", &["s.rhai:2:"]);
    refused("expect(\"a\", 1, between(2, 1));", &["s.rhai:2:", "holds for nothing"]);
    refused("t.at_end(\"propeller.thrust\");", &["s.rhai:2:3", "not been run yet"]);
    refused("t.run();\nt.at_end(\"propeller.thrst\");", &["s.rhai:3:3", "did you mean propeller.thrust?"]);
}
