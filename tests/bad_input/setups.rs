//! Setups: files that cannot be read, values that cannot be meant.

use crate::harness::Folder;

const RUN: &str = "let t = trial(\"x\", setup(\"setups/demo_tub.yaml\"));\nt.run();\n";
const DRIVE: &str = "setups/demo_drive.yaml";
const TUB: &str = "setups/demo_tub.yaml";

/// The demo in a tub, with one text of its drive replaced.
#[track_caller]
fn drive(old: &str, new: &str, words: &[&str]) {
    let f = Folder::new();
    f.edit(DRIVE, old, new).refuses(RUN, words);
}

/// Line of the first text in a demo setup, as a message would give it.
fn line(setup: &str, text: &str) -> String {
    let f = Folder::new();
    let content = std::fs::read_to_string(f.root().join(setup)).unwrap();
    let number = content.lines().position(|line| line.contains(text)).unwrap() + 1;
    format!("{setup}:{number}:")
}

#[test]
fn a_missing_setup_is_named_where_the_script_names_it() {
    let f = Folder::new();
    f.refuses(
        "// first\nlet c = setup(\"setups/demo_tubb.yaml\");",
        &["no such file", "s.rhai:2:", "setups/demo_tubb.yaml", "did you mean `demo_tub.yaml`?"],
    );
    f.run(&["explain", "nothing.yaml"]).is_refused(&["nothing.yaml", "no such file"]);
    f.run(&["expand", "setups"]).is_refused(&["setups", "folder", "expected a file"]);
}

#[test]
fn a_folder_is_no_setup() {
    Folder::new()
        .refuses("let c = setup(\"setups\");", &["folder", "\"setups\"", "s.rhai:1:", "expected a file"]);
}

#[test]
fn values_say_what_was_expected() {
    let mass = line(DRIVE, "mass: 8.4 kg");
    drive("mass: 8.4 kg", "mass: 8.4 m", &[&mass, "battery.mass", "expected a mass", "\"8.4 m\", a length"]);
    drive("mass: 8.4 kg", "mass: -8.4 kg", &[&mass, "battery.mass", "out of range", "\"-8.4 kg\""]);
    drive("mass: 8.4 kg", "mass: .nan", &[&mass, "battery.mass", "not a finite number"]);
    drive("mass: 8.4 kg", "mass: .inf", &[&mass, "battery.mass", "not a finite number"]);
    drive("mass: 8.4 kg", "mass: 1e999 kg", &[&mass, "battery.mass"]);
    drive("mass: 8.4 kg", "mass: [1, 2]", &[&mass, "battery.mass", "expected a mass"]);
    drive("mass: 8.4 kg", "masss: 8.4 kg", &[&mass, "battery.masss", "did you mean `mass`?"]);
    let doubled = line(DRIVE, "forward: 750 mm");
    drive("mass: 8.4 kg", "mass: 8.4 kg\n    mass: 8 kg", &[&doubled, "battery.mass", "twice"]);
    drive("  shaft: {}", "  shaft: {}\n  shafd: {}", &["shafd", "no kind of part", "did you mean `shaft`?"]);
    drive("blades: 3", "blades: 3.5", &[&line(DRIVE, "blades: 3"), "propeller.blades", "whole number"]);
}

/// An end in another unit differs from the end by its rounding, and is the end.
#[test]
fn the_ends_of_a_range_are_in_it_as_they_are_printed() {
    let resistance = |end: &str| {
        let f = Folder::new();
        f.edit(DRIVE, "fast_resistance: 5 mΩ", &format!("fast_resistance: {end}"));
        f.run(&["explain", TUB]).code
    };
    assert_eq!((resistance("10 µΩ"), resistance("0.01 mΩ"), resistance("1 Ω")), (Some(0), Some(0), Some(0)));
    assert_eq!((resistance("9.999 µΩ"), resistance("1.001 Ω")), (Some(2), Some(2)));
    let incidence = |end: &str| {
        let f = Folder::new();
        f.edit("setups/demo_board.yaml", "incidence: 2 deg", &format!("incidence: {end}"));
        f.run(&["explain", "setups/demo_board.yaml"])
    };
    incidence("90 deg").is_refused(&["front_wing.incidence", "expected -20.05 ° to 20.05 °"]);
    assert_eq!((incidence("20.05 °").code, incidence("-20.05 °").code), (Some(0), Some(0)));
    drive("blades: 3", "blades: 30", &["propeller.blades", "expected 2 to 7"]);
    let listed = Folder::new().run(&["parts", "propeller_series"]).out;
    assert!(listed.contains("default 3; allowed 2 to 7"), "{listed}");
}

#[test]
fn rings_of_inheritance_are_printed_whole() {
    let f = Folder::new();
    f.edit(DRIVE, "title: Demo drive", "title: Demo drive\nbased_on: demo_tub.yaml");
    let ring = "setups/demo_tub.yaml → setups/demo_drive.yaml → setups/demo_tub.yaml";
    f.refuses(RUN, &[&format!("{DRIVE}:3:"), "based_on", "based on each other", ring]);
    let f = Folder::new();
    f.edit(TUB, "demo_drive", "demo_tub").refuses(RUN, &[&format!("{TUB}:3:"), "based on each other"]);
    let f = Folder::new();
    f.edit(TUB, "demo_drive.yaml", "../../out.yaml")
        .refuses(RUN, &[&format!("{TUB}:3:"), "outside the project"]);
}

#[test]
fn files_that_are_no_setups_are_refused() {
    let f = Folder::new();
    f.put(TUB, b"setup: 1\ntitle: Gr\xfc\xdfe\n").refuses(RUN, &[&format!("{TUB}:2:10"), "UTF-8"]);
    f.put(TUB, b"setup: 1\0\n").refuses(RUN, &[&format!("{TUB}:1:9"), "control character"]);
    f.put(TUB, "").refuses(RUN, &[TUB]);
    f.put(TUB, "a: b: c").refuses(RUN, &[&format!("{TUB}:1:")]);
    f.put(TUB, "setup: 1\nparts: {}\n").refuses(RUN, &[TUB, "no parts"]);
    f.put(TUB, "setup: 99\nparts: {water: {}}\n").refuses(RUN, &[&format!("{TUB}:1:"), "99"]);
}

#[test]
fn bombs_do_not_go_off() {
    let f = Folder::new();
    let mut bomb = String::from("setup: 1\na: &a [x, x, x, x, x, x, x, x, x]\n");
    for (new, old) in "bcdefghijk".chars().zip("abcdefghij".chars()) {
        bomb.push_str(&format!("{new}: &{new} [{}]\n", vec![format!("*{old}"); 9].join(", ")));
    }
    f.put(TUB, bomb).refuses(RUN, &[TUB]);
    f.put(TUB, format!("setup: 1\nparts: {}{}", "[".repeat(10_000), "]".repeat(10_000)));
    f.refuses(RUN, &[&format!("{TUB}:2:"), "nested more than"]);
    let mut steps = String::from("setup: 1\nparts:\n");
    // indented one further each: kept below the size limit
    (1..600).for_each(|depth| steps.push_str(&format!("{}a:\n", " ".repeat(depth))));
    f.put(TUB, steps).refuses(RUN, &[TUB, "nested more than"]);
}

#[test]
fn a_large_file_is_refused_before_it_is_read() {
    let f = Folder::new();
    // 8 GiB that take no room on the disk: reading them would take memory and time
    let file = std::fs::File::create(f.root().join(TUB)).unwrap();
    file.set_len(8 << 30).unwrap();
    f.refuses(RUN, &["s.rhai:1:", TUB, "larger than 256 KiB"]);
    std::fs::File::create(f.root().join("big.rhai")).unwrap().set_len(8 << 30).unwrap();
    f.run(&["run", "big.rhai"]).is_refused(&["big.rhai", "larger than 256 KiB"]);
}

/// The demo with a propeller from a table.
fn table(rows: &str) -> Folder {
    let f = Folder::new();
    let text = std::fs::read_to_string(f.root().join(DRIVE)).unwrap();
    let (before, _) = text.split_once("  propeller:\n").unwrap();
    let propeller = format!(
        "  propeller:\n    part: propeller_table\n    diameter: 165 mm\n    forward: 420 mm\n    below: 640 mm\n    \
         open_water: {rows}\n"
    );
    f.put(DRIVE, format!("{before}{propeller}"));
    f
}

#[test]
fn tables_must_rise_and_be_finite() {
    let at = format!("{DRIVE}:");
    let wrong = |j: &str, kt: &str, words: &[&str]| {
        let rows = format!("{{J: [{j}], KT: [{kt}], KQ: [0.05, 0.04, 0.03, 0.01]}}");
        let words: Vec<&str> =
            [&at, "propeller.open_water"].into_iter().chain(words.iter().copied()).collect();
        table(&rows).refuses(RUN, &words);
    };
    wrong("0, 0.2, .nan, 0.8", "0.4, 0.3, 0.2, 0.1", &["not a finite number"]);
    wrong("0, 0.2, 0.5, 0.8", "0.4, .inf, 0.2, 0.1", &["not a finite number"]);
    wrong("0, 0.5, 0.2, 0.8", "0.4, 0.3, 0.2, 0.1", &["`J` must rise"]);
    wrong("0, 0.2, 0.5", "0.4, 0.3, 0.2, 0.1", &[]);
    let f = table("{file: rows.csv}");
    f.refuses(RUN, &[&at, "open_water", "no such file", "rows.csv"]);
    f.put("setups/rows.csv", "J,KT,KQ\n0,0.4,0.05\n0.4,nan,0.04\n0.8,0.1,0.01\n");
    f.refuses(RUN, &["setups/rows.csv:3:", "not a finite number"]);
}

/// The range of an option is told in one unit, and what a bare number was meant as.
#[test]
fn a_share_without_per_cent_is_put_right() {
    let f = Folder::new();
    let asked = |command: &str, option: &str, words: &[&str]| {
        f.run(&[command, "setups/demo_tub.yaml", option, "50"]).is_refused(words);
    };
    asked(
        "tub",
        "--throttles",
        &["--throttles is out of range", "expected 0 % to 100 %, found \"50\"", "write 50 %"],
    );
    asked("cut", "--throttle", &["expected 1 % to 100 %", "write 50 %"]);
}
