//! Chance follows from the seed alone, and every design meets the same circumstances.

use crate::harness::{AXES, Folder, RUN, TUB};

const DRAWN: &str = r#"s.uncertain("water.temperature", uniform("10 °C", "24 °C"));
s.uncertain("propeller.wake_fraction", triangular("0 %", "5 %", "10 %"));
"#;

/// The cells of some columns, by row.
fn cells(csv: &str, columns: std::ops::Range<usize>) -> Vec<Vec<String>> {
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    reader
        .records()
        .map(|row| columns.clone().map(|i| row.as_ref().unwrap()[i].to_string()).collect())
        .collect()
}

#[test]
fn draws_are_common_to_all_designs_and_follow_from_the_seed() {
    for draws in ["random(5)", "latin_hypercube(4, 2)", "sobol(4, 2)", "indices(2, 2)"] {
        let script = format!("{TUB}{AXES}{DRAWN}s.draws({draws});\n{RUN}");
        let f = Folder::with(&script);
        let table = f.reference();
        // two axes of two values, then what is uncertain
        let (designs, drawn) = (cells(&table.csv, 1..3), cells(&table.csv, 3..5));
        let each = drawn.len() / 4;
        assert_eq!(each * 4, drawn.len());
        for design in 0..4 {
            let rows = design * each..(design + 1) * each;
            assert_eq!(drawn[rows.clone()], drawn[..each], "{draws}: design {design}");
            assert!(designs[rows.clone()].iter().all(|d| *d == designs[rows.start]), "{draws}");
        }
        // a design drawn from one stream: no two draws alike but where a scheme repeats a coordinate
        assert_ne!(drawn[0], drawn[1], "{draws}");
        f.runs("sweep s.rhai --threads 2 --out again.csv");
        assert_eq!(f.table("again.csv"), table, "{draws}");
        f.put("s.rhai", script.replace("seed(7)", "seed(8)"));
        f.runs("sweep s.rhai --out other.csv");
        let other = f.text("other.csv");
        assert_eq!(cells(&other, 1..3), designs, "{draws}: a seed does not move the axes");
        let moved = cells(&other, 3..5).iter().zip(&drawn).filter(|(a, b)| a != b).count();
        assert_eq!(moved, drawn.len(), "{draws}: another seed draws anew");
    }
}

#[test]
fn axes_that_are_sampled_follow_from_the_seed_too() {
    let axes = r#"s.axis("propeller.diameter", uniform("150 mm", "200 mm"));
s.axis("controller.motor_current", list(["30 A", "60 A"]));
s.points(latin_hypercube(8));
"#;
    let script = format!("{TUB}{axes}{RUN}");
    let f = Folder::with(&script);
    let table = f.reference();
    let cells_of = |csv: &str| cells(csv, 1..3);
    let found = cells_of(&table.csv);
    // each eighth of the range once, each value of a list for its share
    let mut eighths: Vec<u64> =
        found.iter().map(|c| ((c[0].parse::<f64>().unwrap() - 150.0) / 6.25) as u64).collect();
    eighths.sort_unstable();
    assert_eq!(eighths, [0, 1, 2, 3, 4, 5, 6, 7]);
    assert_eq!(found.iter().filter(|c| c[1] == "30").count(), 4);
    f.put("s.rhai", script.replace("seed(7)", "seed(8)"));
    f.runs("sweep s.rhai --out other.csv");
    assert_ne!(cells_of(&f.text("other.csv")), found);
}
