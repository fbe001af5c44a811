//! What a script must not do: run for ever, fill the memory, know the time.

use crate::harness::Folder;
use crate::scripts::TRIAL;

#[track_caller]
fn refused(script: &str, words: &[&str]) {
    Folder::new().refuses(script, words);
}

#[test]
fn endless_scripts_end() {
    let endless = "does not come to an end";
    refused("let x = 1;\nloop { }", &["s.rhai:2:", endless]);
    refused("let x = 1;\nwhile true { x += 1; }", &["s.rhai:2:", endless]);
    refused("fn f(x) { f(x + 1) }\nf(1);", &["s.rhai:2:", "too deeply"]);
    refused("fn f(x) { g(x) }\nfn g(x) { f(x) }\nf(1);", &["s.rhai:3:", "too deeply"]);
}

#[test]
fn endless_work_outside_the_script_ends_too() {
    let endless = "does not come to an end";
    refused("loop {\n setup(\"setups/demo_tub.yaml\"); }", &["s.rhai:2:", endless]);
    let short = TRIAL.replace("0.2 s", "0.001 s");
    refused(&format!("{short}loop {{ t.run(); }}"), &["s.rhai:2:", endless]);
    refused(
        &format!("{short}t.run();\nloop {{ t.highest(\"propeller.thrust\"); }}"),
        &["s.rhai:3:", endless],
    );
    refused(
        &format!("{TRIAL}t.once(\"time\", rises_above(0.1), |now| {{\n loop {{ }} }});\nt.run();"),
        &["s.rhai:", endless],
    );
    refused(
        &format!("{TRIAL}t.once(\"time\", rises_above(0.1), |now| now.run());\nt.run();"),
        &["s.rhai:2:", "under way"],
    );
    refused(&format!("{TRIAL}t.lasts(3600); t.every(0.0001);\nt.run();"), &["s.rhai:3:", "rows"]);
}

#[test]
fn memory_bombs_do_not_go_off() {
    let large = "larger than a script may use";
    refused("let s = \"x\";\nloop { s += s; }", &["s.rhai:2:", large]);
    refused("let a = [1];\nloop { a.push(a); }", &["s.rhai:2:", large]);
    refused("let m = #{a: 1};\nfor i in 0..100000 { m[i.to_string()] = m; }", &["s.rhai:2:"]);
    refused("let s = \"x\";\ns.pad(1000000000, \"y\");", &["s.rhai:2:", large]);
    refused("let a = [];\na.pad(1000000000, 1);", &["s.rhai:2:", large]);
}

#[test]
fn prints_are_cut_off_and_do_not_fill_the_memory() {
    let printed = Folder::new().takes("let s = \"x\"; s.pad(60000, \"x\");\nfor i in 0..20000 { print(s); }");
    assert_eq!(printed.lines().count(), 1001);
    assert!(printed.contains("more than 1000 lines"));
}

#[test]
fn there_is_no_clock_no_chance_and_no_evaluation() {
    refused("sleep(3);", &["s.rhai:1:1", "no function sleep"]);
    refused("let a = timestamp();", &["s.rhai:1:9", "no function timestamp"]);
    refused("let a = rand();", &["s.rhai:1:9", "no function rand"]);
    refused("eval(\"1\");", &["s.rhai:1:1", "eval"]);
    refused("open_file(\"/etc/passwd\");", &["s.rhai:1:1", "no function open_file"]);
}

#[test]
fn setups_outside_the_project_folder_are_refused() {
    let f = Folder::new();
    std::fs::write(f.path("out.yaml"), "setup: 1\nparts: {water: {}}\n").unwrap();
    for name in ["../out.yaml", "/etc/hostname", "setups/../../out.yaml"] {
        f.refuses(&format!("setup(\"{name}\");"), &["s.rhai:1:1", name, "outside the project folder"]);
    }
    f.refuses("setup(\"\");", &["s.rhai:1:1", "file name is missing"]);
}
