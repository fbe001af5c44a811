//! Points that fail are rows like all others, and what stands in a cell stays text.

use crate::harness::{AXES, Folder, RUN, TUB};

fn records(csv: &str) -> Vec<csv::StringRecord> {
    csv::Reader::from_reader(csv.as_bytes()).records().map(Result::unwrap).collect()
}

/// Places of columns by their headings.
fn places<const N: usize>(csv: &str, names: [&str; N]) -> [usize; N] {
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let heads = reader.headers().unwrap().clone();
    names
        .map(|name| heads.iter().position(|head| head == name).unwrap_or_else(|| panic!("{name}: {heads:?}")))
}

#[test]
fn a_point_that_fails_is_a_row_and_the_others_are_as_they_would_be() {
    // 150, 160, … 200 mm; the function throws at one, leaves the range at one, and at one sets what no
    // column shows
    let by = r#"|d| {
    if d == 0.16 { throw "not for sale"; }
    if d == 0.17 { return #{"propeller.diameter": 5.0}; }
    if d == 0.18 { return #{"propeller.diameter": d, "propeller.below": 0.5}; }
    #{"propeller.diameter": d}
}"#;
    let axis = format!("s.axis(\"size\", linear(\"150 mm\", \"200 mm\", 6), {by});\n");
    let f = Folder::with(&format!("{TUB}{axis}{RUN}"));
    let table = f.reference();
    let [index, status, failure, thrust, set] =
        places(&table.csv, ["index", "status", "failure", "peak.thrust [N]", "propeller.diameter [m]"]);
    let rows = records(&table.csv);
    let found: Vec<[&str; 3]> = rows.iter().map(|r| [&r[index], &r[status], &r[set]]).collect();
    assert_eq!(
        found,
        [
            ["0", "ran", "0.15"],
            ["1", "refused", ""],
            ["2", "refused", "5"],
            ["3", "refused", "0.18"],
            ["4", "ran", "0.19"],
            ["5", "ran", "0.2"],
        ]
    );
    assert_eq!(&rows[1][failure], "not for sale");
    assert!(
        rows[2][failure].contains("propeller.diameter") && rows[2][failure].contains("range"),
        "{:?}",
        rows[2]
    );
    assert!(rows[3][failure].contains("propeller.below"), "{:?}", rows[3]);
    for row in &rows {
        assert_eq!(row[thrust].is_empty(), &row[status] != "ran", "{row:?}");
    }
    // a study without the bad ones has the same good rows
    let good =
        "s.axis(\"size\", list([\"150 mm\", \"190 mm\", \"200 mm\"]), |d| #{\"propeller.diameter\": d});\n";
    f.put("s.rhai", format!("{TUB}{good}{RUN}"));
    f.runs("sweep s.rhai");
    let tail = |csv: &str, wanted: &str| -> Vec<String> {
        let rows = csv.lines().skip(1).filter(|row| row.contains(wanted));
        rows.map(|row| row.split_once(',').unwrap().1.to_string()).collect()
    };
    assert_eq!(tail(&f.text("s.csv"), ",ran,"), tail(&table.csv, ",ran,"));
    // and the summary counts them
    f.put("s.rhai", format!("{TUB}{axis}{RUN}expect(\"refused\", found.refused, between(3, 3));\n"));
    let told = f.runs("sweep s.rhai --out told.csv");
    assert!(told.contains("3 ran, 3 refused") && told.contains("1 hold, 0 do not"), "{told}");
}

#[test]
fn no_cell_is_a_formula() {
    let axis = r#"s.axis("@x", choices([
    choice("=1+1", #{"propeller.diameter": "150 mm"}),
    choice("+cmd, \"quoted\"", #{"propeller.diameter": "160 mm"}),
    choice("-2", #{"propeller.diameter": "170 mm"}),
    choice("two\nlines", #{"propeller.diameter": "180 mm"}),
]));
s.axis("=y", list(["60 A"]), |i| #{"controller.motor_current": i});
"#;
    let f = Folder::with(&format!("{TUB}{axis}{RUN}"));
    let table = f.reference();
    let mut reader = csv::Reader::from_reader(table.csv.as_bytes());
    assert_eq!(&reader.headers().unwrap()[1], "'@x");
    assert_eq!(&reader.headers().unwrap()[2], "'=y [A]");
    let cells: Vec<String> = records(&table.csv).iter().map(|r| r[1].to_string()).collect();
    // a number is no formula, whatever its sign
    assert_eq!(cells, ["'=1+1", "'+cmd, \"quoted\"", "-2", "two lines"]);
    for row in records(&table.csv) {
        for cell in &row {
            let harmless = !cell.starts_with(['=', '+', '-', '@', '\t', '\r']) || cell.parse::<f64>().is_ok();
            assert!(harmless, "{cell:?} in {row:?}");
        }
    }
}

#[test]
fn points_left_out_are_counted_and_the_others_keep_their_numbers() {
    let needs = r#"s.needs("no small ones at 60 A", |p| p["propeller.diameter"] > 0.16 || p["controller.motor_current"] < 50.0);
s.needs("no large ones", |p| p["propeller.diameter"] < 0.165);
"#;
    let f = Folder::with(&format!("{TUB}{AXES}{RUN}"));
    let full = f.reference();
    f.put("s.rhai", format!("{TUB}{AXES}{needs}{RUN}"));
    let told = f.runs("sweep s.rhai");
    // of (150, 30), (150, 60), (170, 30), (170, 60) the second misses the first condition, the last two the second
    assert!(told.contains("1 points left out: not \"no small ones at 60 A\""), "{told}");
    assert!(
        told.contains("2 points left out: not \"no large ones\"") && told.contains("1 of 4 points tried"),
        "{told}"
    );
    assert!(f.text("s.csv.json").contains("\"because\": \"no large ones\",\n        \"points\": 2"));
    let kept: Vec<&str> = full.csv.lines().take(2).collect();
    assert_eq!(f.text("s.csv").lines().collect::<Vec<_>>(), kept);
    // numbers are those of the whole grid, also in the middle of it
    f.edit("s.rhai", "p[\"propeller.diameter\"] < 0.165", "p[\"propeller.diameter\"] > 0.165");
    f.runs("sweep s.rhai --out large.csv --threads 2");
    let kept: Vec<&str> =
        full.csv.lines().filter(|row| !row.starts_with("0,") && !row.starts_with("1,")).collect();
    assert_eq!(f.text("large.csv").lines().collect::<Vec<_>>(), kept);
}
