//! Bad words in a study: told with their place and what to do, before anything is written.

use crate::harness::{AXES, Folder, RUN, TUB};

/// A study of these lines must be refused for these reasons.
#[track_caller]
fn refused(lines: &str, words: &[&str]) {
    let f = Folder::with(&format!("{TUB}{lines}\n{RUN}"));
    // all of them say where: the line after the trial's, or a later one
    let mut all = vec!["error: ", "s.rhai:"];
    all.extend(words);
    f.refuses("sweep s.rhai", &all);
}

/// As [`refused`], of a study whose axes are in order.
#[track_caller]
fn refused_after_axes(lines: &str, words: &[&str]) {
    refused(&format!("{AXES}{lines}"), words);
}

#[test]
fn axes_of_unknown_names_and_wrong_kinds() {
    let axis =
        |name: &str, values: &str, words: &[&str]| refused(&format!("s.axis(\"{name}\", {values});"), words);
    axis(
        "propellor.diameter",
        "list([\"150 mm\"])",
        &["no trial of this study has a part `propellor`", "did you mean `propeller`"],
    );
    axis("propeller.diametre", "list([\"150 mm\"])", &["no such parameter", "did you mean `diameter`"]);
    axis(
        "propeller.diameter",
        "linear(\"140 A\", \"200 A\", 5)",
        &["expected a length", "140 A", "an electric current"],
    );
    axis("propeller.diameter", "linear(140, 200, 5)", &["the unit is missing", "150 mm"]);
    axis(
        "propeller.diameter",
        "list([\"140 mm\", \"20 A\"])",
        &["one is a length and another an electric current"],
    );
    axis(
        "propeller.diameter",
        "linear(\"140 mm\", \"20 A\", 3)",
        &["one is a length and another an electric current"],
    );
    axis("propeller.diameter", "linear(\"140 mm\", \"20 m\", 3)", &["out of range", "1000 mm", "20000 mm"]);
    axis("propeller.diameter", "linear(\"140 mm\", \"150 mm\", 1)", &["from 2 to 1000000, not 1"]);
    axis("propeller.diameter", "logarithmic(\"-1 mm\", \"150 mm\", 4)", &["above 0, not -1 and 150"]);
    axis("propeller.diameter", "list([])", &["a list needs at least one value"]);
    axis("propeller.diameter", "list([0.0 / 0.0])", &["NaN is not a finite number"]);
    axis("propeller.diameter", "list([\"big\"])", &["not a number", "\"big\""]);
    axis(
        "propeller.diameter",
        "uniform(\"140 mm\", \"200 mm\")",
        &["has no list of values for a grid", "points("],
    );
    axis(
        "propeller.diameter",
        "uniform(\"200 mm\", \"140 mm\")",
        &["low of the distribution is 200, high is 140"],
    );
    axis("p", "choices([])", &["choices need at least one"]);
    axis("p", "choices([\"a\"])", &["expected choice(name, changes)"]);
    axis(
        "status",
        "choices([choice(\"a\", #{\"propeller.diameter\": \"1 m\"})])",
        &["two columns", "called status"],
    );
    let twice = "choices([choice(\"a\", #{\"propeller.diameter\": \"1 m\"}), choice(\"a\", #{})])";
    axis("p", twice, &["two choices are called \"a\""]);
    axis("p", "choices([choice(\"a\", #{\"propeller.diametre\": \"1 m\"})])", &["did you mean `diameter`"]);
}

#[test]
fn two_values_that_fight_over_one() {
    refused_after_axes(
        "s.axis(\"propeller.diameter\", list([\"1 m\"]));",
        &["varies propeller.diameter already"],
    );
    refused_after_axes(
        "s.uncertain(\"propeller.diameter\", uniform(\"0.1 m\", \"1 m\"));",
        &["varies propeller.diameter already"],
    );
    refused_after_axes(
        "s.axis(\"p\", choices([choice(\"a\", #{\"propeller.diameter\": \"1 m\"})]));",
        &["propeller.diameter and p both set propeller.diameter", "let one of them"],
    );
    refused_after_axes(
        "s.axis(\"d\", list([\"1 m\"]), |d| #{\"propeller.diameter\": d});",
        &["propeller.diameter and d both set propeller.diameter"],
    );
    refused_after_axes(
        "s.axis(\"p\", choices([choice(\"a\", #{\"propeller\": \"{part: propeller_series, diameter: 150 mm, \
         pitch_ratio: 0.6, area_ratio: 0.7, forward: 420 mm, below: 640 mm}\"})]));",
        &["both set propeller.diameter", "state first what exchanges a whole part"],
    );
}

#[test]
fn draws_that_do_not_fit() {
    let drawn = |draws: &str, words: &[&str]| {
        let uncertain = "s.uncertain(\"water.temperature\", uniform(\"10 °C\", \"20 °C\"));";
        refused_after_axes(&format!("{uncertain}\n{draws}"), words);
    };
    drawn("", &["`uncertain(…)` and `draws(…)` go together"]);
    refused_after_axes("s.draws(random(10));", &["`uncertain(…)` and `draws(…)` go together"]);
    drawn("s.draws(sobol(100));", &["a power of two", "take 64 or 128"]);
    drawn("s.draws(random(0));", &["at least 1"]);
    drawn("s.draws(random(-1));", &["a whole number from 1, not -1"]);
    drawn("s.draws(random(9223372036854775807));", &["points, no more than 100000000"]);
    drawn("s.draws(latin_hypercube(1000000000));", &["take fewer points"]);
    drawn("s.draws(grid());", &["not a grid"]);
    refused_after_axes("s.points(indices(8, 2));", &["belongs in `draws(…)`"]);
}

#[test]
fn columns_that_are_not_there() {
    for (line, near) in [
        ("s.report(\"tub\", [\"static_trust\"]);", "there is no column static_trust"),
        ("s.rank_highest(\"thrust\", \"static_trust\");", "this study has no column static_trust"),
        ("s.rank_lowest(\"thrust\", \"static_trust\");", "this study has no column static_trust"),
        ("s.trade_off([\"static_trust\", \"energy\"]);", "this study has no column static_trust"),
        ("s.explain(\"static_trust\");", "this study has no column static_trust"),
    ] {
        refused_after_axes(line, &[near, "did you mean `static_thrust`"]);
    }
    refused_after_axes("s.report(\"tob\", [\"energy\"]);", &["no trial called \"tob\""]);
    refused_after_axes("s.report(\"tub\", [1]);", &["expected the name of a column"]);
    refused_after_axes("s.trade_off([\"energy\"]);", &["between 2 to 4 columns, not 1"]);
    refused_after_axes("s.trial(\"tub\", tub);", &["a trial called \"tub\" already"]);
    refused_after_axes("s.trial(\"a.b\", tub);", &["called by a word or two, not \"a.b\""]);
}

#[test]
fn functions_that_do_not_say_what_they_should() {
    let by = |function: &str, words: &[&str]| {
        refused(&format!("s.axis(\"d\", linear(\"140 mm\", \"200 mm\", 5), {function});"), words);
    };
    by("|d| d", &["the function of d says what changes: expected a map", "found f64"]);
    by("|d| throw \"no such size\"", &["error: no such size"]);
    by("|d| #{\"propeller.diametre\": d}", &["did you mean `diameter`"]);
    by("|d, e| #{}", &["another number of values than it takes: 1"]);
    by("|d| #{\"propeller.diameter\": d / 0}", &["error: "]);
    refused_after_axes("s.needs(\"x\", |p| 1);", &["the condition \"x\" is true or false, not i64"]);
    refused_after_axes(
        "s.needs(\"x\", true);",
        &["no function needs", "there is needs(study, label, condition"],
    );
    refused_after_axes(
        "s.needs(\"x\", |p| p[\"propeller.diametre\"] > 1);",
        &["no value `propeller.diametre`", "did you mean `propeller.diameter`"],
    );
    refused_after_axes(
        "s.needs(\"large\", |p| p[\"propeller.diameter\"] > 1);",
        &["no point of this study is left: \"large\" leaves out 4"],
    );
    let f = Folder::with(&format!(
        "let craft = setup(\"setups/demo_tub.yaml\");\nlet s = study(\"S\");\ns.trial(\"t\", craft, |c, p| 5);\n{AXES}{RUN}"
    ));
    f.refuses("sweep s.rhai", &["the function of trial \"t\" returns a trial, not i64"]);
}

#[test]
fn too_much_and_too_little() {
    let many = "s.axis(\"propeller.diameter\", linear(\"140 mm\", \"200 mm\", 1000000));\n\
                s.axis(\"propeller.pitch_ratio\", linear(0.5, 1.0, 1000000));";
    refused(many, &["this study has 1000000000000 points", "no more than 100000000", "points("]);
    refused("", &["this study varies nothing", "`axis(…)`"]);
    let f = Folder::with(&format!("let s = study(\"S\");\n{AXES}{RUN}"));
    f.refuses("sweep s.rhai", &["s.rhai:4:", "tries something at each point", "`trial(name, trial)`"]);
}

#[test]
fn commands_and_scripts_that_do_not_go_together() {
    let f = Folder::with(&format!("{TUB}{AXES}{RUN}"));
    f.refuses("run s.rhai", &["this scenario holds a study", "`sweep` runs it"]);
    f.put("s.rhai", format!("{TUB}{AXES}"));
    f.refuses("sweep s.rhai", &["this scenario holds no study", "study(…).run()"]);
    f.refuses("sweep none.rhai", &["none.rhai", "no such file"]);
    let action = "tub.once(\"propeller.thrust\", rises_above(\"1 N\"), |now| { s.run(); });\ntub.run();\n";
    f.put("s.rhai", format!("{TUB}{AXES}{action}"));
    f.refuses("sweep s.rhai", &["s.rhai:", "in use already"]);
}

/// Only after the first has come to its end is there a second to speak of.
#[test]
fn a_second_study_is_refused_and_the_first_stays_whole() {
    let f = Folder::with(&format!("{TUB}{AXES}{RUN}"));
    let reference = f.reference();
    f.put("s.rhai", format!("{TUB}{AXES}{RUN}s.run();\n"));
    let done = f.run("sweep s.rhai");
    assert_eq!((done.code, done.out.as_str()), (Some(2), ""));
    assert!(done.err.contains("a scenario has one study") && done.err.contains("s.rhai:"), "{}", done.err);
    assert_eq!(f.text("s.csv"), reference.csv);
}
