//! Fits: readings, what is told of them, what is asked.

use crate::harness::{Done, Folder};

const TABLE: &str = "propeller,throttle [%],scale [kg],pack [A],rpm [rpm]\n\
    stock,40,20.4,23.9,2098\nstock,40,20.1,23.6,2101\nstock,70,31.2,47.2,2607\nother,70,31.6,46.8,2611\n";

const SCRIPT: &str = "let read = readings(\"r.csv\");\n\
    read.group(\"propeller\");\n\
    read.column(\"throttle\", \"throttle\");\n\
    read.column(\"scale\", \"scale_reading\", #{u: \"0.3 kg\"});\n\
    read.column(\"pack\", \"battery_current\", #{share: 0.02});\n\
    let bench = fit(\"tub\", setup(\"setups/demo_rig.yaml\"));\n\
    bench.steady(\"stock\", read);\n\
    bench.find(\"propeller.thrust_factor\", log_normal(1.0, 1.1));\n\
    let found = bench.run();\n";

/// The fit with one text replaced in script or table.
fn fitted(table: (&str, &str), script: (&str, &str)) -> Done {
    let f = Folder::new();
    assert!(TABLE.contains(table.0) && SCRIPT.contains(script.0));
    f.put("r.csv", TABLE.replacen(table.0, table.1, 1)).put("s.rhai", SCRIPT.replacen(script.0, script.1, 1));
    f.run(&["fit", "s.rhai"])
}

#[track_caller]
fn bad_table(old: &str, new: &str, words: &[&str]) {
    fitted((old, new), ("", "")).is_refused(words);
}

#[track_caller]
fn bad_script(old: &str, new: &str, words: &[&str]) {
    fitted(("", ""), (old, new)).is_refused(words);
}

#[test]
fn the_fit_itself_is_fine_and_writes_one_setup() {
    let done = fitted(("", ""), ("", ""));
    assert_eq!(done.code, Some(0), "{}", done.err);
    assert_eq!(done.new_files.len(), 1, "{:?}", done.new_files);
    assert!(done.new_files[0].ends_with("s_fitted.yaml"), "{:?}", done.new_files);
    assert!(!done.out.contains("NaN"), "{}", done.out);
}

#[test]
fn sets_with_names_that_look_alike_in_a_file_are_all_written_and_rows_counted_twice_are_told() {
    let twice = "steady(\"a b\", read);\nbench.steady(\"a_b\", read);\n\
        bench.find(\"propeller.torque_factor\", log_normal(1.0, 1.1), \"a b\");\n\
        bench.find(\"propeller.torque_factor\", log_normal(1.0, 1.1), \"a_b\")";
    let f = Folder::new();
    let script = SCRIPT.replace("read.group(\"propeller\");\n", "").replace("steady(\"stock\", read)", twice);
    let done = f.put("r.csv", TABLE).put("s.rhai", script).run(&["fit", "s.rhai"]);
    assert_eq!(done.code, Some(0), "{}", done.err);
    // what they share, and one for each
    assert_eq!(done.new_files.len(), 3, "{:?}", done.new_files);
    assert!(done.out.contains("count twice"), "{}", done.out);
}

#[test]
fn tables_are_read_strictly() {
    bad_table("20.4", "2O.4", &["r.csv:2:", "2O.4"]);
    bad_table("20.4", "20,4", &["r.csv:2:", "5 cells"]);
    bad_table("scale [kg]", "scale [A]", &["r.csv:1:", "scale"]);
    bad_table("scale [kg]", "scale", &["r.csv:1:", "unit"]);
    bad_table("throttle [%]", "trottle [%]", &["throttle", "did you mean `trottle`?"]);
    bad_table("stock,40,20.4", "stock,,20.4", &["r.csv:2", "throttle is missing"]);
    bad_table("stock,40,20.4", "stock,400,20.4", &["r.csv:2", "out of range"]);
    bad_table("stock,40,20.4", "stock,nan,inf", &["r.csv:2:"]);
    bad_table(TABLE, "", &["r.csv:1:1", "no headings"]);
    let semicolons = TABLE.replace(',', ";");
    bad_table(TABLE, &semicolons, &["there is no column `propeller`", "separator(\";\")"]);
    bad_table(TABLE, "propeller,throttle [%],scale [kg],pack [A]\n", &["no readings"]);
}

#[test]
fn what_is_told_of_readings_must_make_sense() {
    bad_script("r.csv", "rr.csv", &["s.rhai:1:", "did you mean `r.csv`?"]);
    bad_script("r.csv", "../r.csv", &["outside the project folder"]);
    bad_script("scale_reading", "scale_readin", &["did you mean `scale_reading`?"]);
    bad_script("u: \"0.3 kg\"", "u: \"0.3 V\"", &["another kind", "a mass"]);
    bad_script("u: \"0.3 kg\"", "u: \"0 kg\", within: \"-1 kg\"", &["within is no uncertainty"]);
    bad_script("u: \"0.3 kg\"", "sd: \"0.3 kg\"", &["a column has no `sd`", "u, within"]);
    bad_script(", #{u: \"0.3 kg\"}", "", &["how well it is known is not told"]);
    for share in ["1", "2", "-0.02"] {
        bad_script("share: 0.02", &format!("share: {share}"), &["share is no relative uncertainty", "0.01"]);
    }
    bad_script("share: 0.02", "share: 0.02, counted: \"rms\"", &["battery_current", "one way of counting"]);
    bad_script("steady(\"stock\"", "steady(\"stok\"", &["did you mean `stock`?"]);
    bad_script(
        "steady(\"stock\", read)",
        "steady(\"stock\", read, #{\"propeler.diameter\": \"1 m\"})",
        &["did you mean `propeller`?"],
    );
    bad_script("read.group", "read.leave_out(99, \"scale\", \"x\"); read.group", &["no readings on line 99"]);
}

#[test]
fn what_is_sought_must_be_there() {
    bad_script("thrust_factor", "thrustfactor", &["s.rhai:8:", "did you mean `thrust_factor`?"]);
    bad_script("log_normal(1.0, 1.1)", "list([1, 2])", &["is a distribution"]);
    bad_script("log_normal(1.0, 1.1)", "normal(\"1 kg\", \"1 kg\")", &["numbers in kg"]);
    bad_script(
        "1.1));",
        "1.1)); bench.find(\"propeller.thrust_factor\", normal(1.0, 0.1));",
        &["found twice"],
    );
    bad_script("1.1));", "1.1), \"stick\");", &["did you mean `stock`?"]);
    bad_script("bench.find", "// bench.find", &["nothing is to be found"]);
    bad_script("bench.steady", "// bench.steady", &["no readings"]);
    bad_script("1.1));", "1.1)); bench.find(\"clock\", normal(\"0 s\", \"1 s\"));", &["clock of its own"]);
}

#[test]
fn readings_along_a_run_need_a_time_and_a_run_that_lasts() {
    let timed = "let t = trial(\"x\", setup(\"setups/demo_rig.yaml\")); bench.in_time(\"stock\", read, t);";
    bad_script("bench.steady(\"stock\", read);", timed, &["need a time"]);
    bad_script("setups/demo_rig.yaml", "setups/demo_board.yaml", &["scale_reading"]);
}

#[test]
fn questions_take_their_own_words_only() {
    let asked = |question: &str| {
        let f = Folder::new();
        f.put("r.csv", TABLE).put("s.rhai", format!("{SCRIPT}{question}"));
        f.run(&["fit", "s.rhai"])
    };
    asked("found.compare(#{betwen: [\"stock\", \"x\"]});")
        .is_refused(&["s.rhai:10:", "did you mean `between`?"]);
    asked("found.compare(#{between: [\"stock\"]});").is_refused(&["two names"]);
    asked("found.compare(#{between: [\"stock\", \"stick\"]});").is_refused(&["did you mean `stock`?"]);
    asked("found.compare(#{between: [\"stock\", \"stock\"], of: \"pul\"});")
        .is_refused(&["did you mean `pull`?"]);
    asked("found.compare(#{between: [\"stock\", \"stock\"]});")
        .is_refused(&["not the same", "\"stock\" twice"]);
    asked("found.cuts(#{removed: [\"2 kg\"]});").is_refused(&["removed"]);
    asked("found.cuts(#{removed: [\"2 m\"]});").is_refused(&["out of range"]);
    asked("found.value(\"motor.resistance\");").is_refused(&["none of the unknowns"]);
    asked("found.apply(setup(\"setups/demo_cell.yaml\"));").is_refused(&["nothing that was found"]);
    asked("found.glide();").is_refused(&["there is no function"]);
}

#[test]
fn a_scenario_without_a_fit_is_told_where_to_go() {
    let f = Folder::new();
    f.put("s.rhai", "title(\"x\");").run(&["fit", "s.rhai"]).is_refused(&["does no fit"]);
    f.put("r.csv", TABLE).put("s.rhai", SCRIPT);
    f.run(&["fit", "s.rhai", "--out", "r.csv"]).is_refused(&["is read by this scenario"]);
    f.run(&["fit", "s.rhai", "--out", "no/x.yaml"]).is_refused(&["no folder"]);
    f.run(&["fit", "s.rhai", "--csv", "-"]).is_refused(&["`-` is no file"]);
}

/// The question is all right, the readings are not enough: the fit and the other answers are told all the same.
#[test]
fn what_readings_do_not_answer_is_told_and_ends_nothing() {
    let script =
        format!("{SCRIPT}let told = found.drift(#{{}});\nprint(told.not_told);\nfound.filled_card(#{{}});\n");
    let done = Folder::new().put("r.csv", TABLE).put("s.rhai", script).run(&["fit", "s.rhai"]);
    assert_eq!(done.code, Some(0), "{}", done.err);
    assert!(done.out.contains("Not told: ") && done.out.contains("readings.time(heading)"), "{}", done.out);
    assert!(done.out.contains("Bench card, filled in") && done.new_files.len() == 1, "{}", done.out);
}

/// Rows that differ in what was put are no repeats of each other, whatever their throttle.
#[test]
fn rows_of_one_throttle_in_water_that_flows_and_in_still_water_are_two_steps() {
    let table = "throttle [%],flow [m/s],scale [kg],pack [A]\n40,0,20.4,23.9\n40,0.5,22.0,25.1\n40,0,20.1,23.6\n40,0.5,21.7,25.4\n";
    let script = SCRIPT.replace("read.group(\"propeller\")", "read.column(\"flow\", \"water.current\")")
        + "found.filled_card(#{});\n";
    let done = Folder::new().put("r.csv", table).put("s.rhai", script).run(&["fit", "s.rhai"]);
    assert_eq!(done.code, Some(0), "{}", done.err);
    let line = |head: &str, with: &str| {
        let found = done.out.lines().find(|l| l.trim_start().starts_with(head) && l.contains(with));
        found.unwrap_or_else(|| panic!("no {head:?} with {with:?} in {}", done.out)).to_string()
    };
    for step in ["40 %, current 0 m/s", "40 %, current 0.5 m/s"] {
        let rows = line(step, " ± ")[line(step, " ± ").find(step).unwrap() + step.len()..].to_string();
        assert_eq!(rows.split_whitespace().next(), Some("2"), "{rows}");
    }
    // a following current makes the propeller pull harder, which the card must expect
    let expected = |step: &str| -> f64 {
        let told = line(step, "expected");
        told.split("expected").nth(1).unwrap().split_whitespace().next().unwrap().parse().unwrap()
    };
    assert!(expected("40 %, current 0.5 m/s") > expected("40 %, current 0 m/s") + 0.5);
}
