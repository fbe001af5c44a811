//! Tables, and the cell that is named for each mistake.

use super::*;

#[test]
fn tables_name_their_cells() {
    let curve = |text: &str| with(&format!("    diameter: 0.1 m\n    curve: {text}\n"));
    let read = |text: &str| pod(&setup(&curve(text)).unwrap()).unwrap().curve;
    let wanted = Some([vec![0.0, 0.5], vec![0.0, 60.0]]);
    for good in [
        "{J: [0, 0.5], time: [0 s, 1 min]}",
        "{\"J [1]\": [0, 0.5], \"time [min]\": [0, 1]}",
        "[{J: 0, time: 0 s}, {time: 60 s, J: 0.5}]",
    ] {
        assert_eq!(read(good), wanted, "{good}");
    }
    fails(&curve("{J: [0, 0.5], time: [0 s, 1]}"), &[(6, 38, "pod.curve.time[1]: the unit is missing")]);
    fails(
        &curve("{J: [0, 1], time: [0 s]}"),
        &[(6, 12, "differ in length: found 2 values of J and 1 of time")],
    );
    fails(&curve("{J: [0, 1]}"), &[(6, 12, "the column `time` is missing")]);
    fails(
        &curve("{J: [0, 1], tmie: [0 s, 1 s]}"),
        &[
            (6, 24, "pod.curve.tmie: unknown column; did you mean `time`?"),
            (6, 12, "the column `time` is missing"),
        ],
    );
    fails(&curve("{J: 0, time: [0 s, 1 s]}"), &[(6, 16, "a column is a list")]);
    fails(&curve("{J: [0], time: [0 s]}"), &[(6, 12, "too few rows: expected at least 2, found 1")]);
    fails(
        &curve("{J: [0, 1, 1], time: [0 s, 1 s, 2 s]}"),
        &[(6, 23, "`J` must rise from row to row: found 1 after 1")],
    );
    fails(&curve("[{J: 0, time: 0 s}, {J: 1}]"), &[(6, 32, "this row has no `time`")]);
    fails(&curve("[{J: 0, time: 0 s}, {J: 1, t: 1 s}]"), &[(6, 39, "the first has no such column")]);
    fails(&curve("[0, 1]"), &[(6, 13, "a row names its columns")]);
    fails(&curve("7"), &[(6, 12, "no table: expected a table with columns J, time, found the number 7")]);
    fails(&curve("[]"), &[(6, 12, "`J` is missing"), (6, 12, "`time` is missing")]);
    fails(
        &curve("{\"J [1]\": [0, 1 m], time: [0 s, 1 s]}"),
        &[(6, 26, "below a heading with brackets stand bare numbers")],
    );
}
