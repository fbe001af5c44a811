//! Fits against certified results of tests/reference/regression and an example of the GUM.

use engine::fit::{Fitted, Observation, Options, Scatter, Unknown, fit};
use engine::readings::{Layout, Readings};

#[track_caller]
fn near(what: &str, found: f64, expected: f64, relative: f64) {
    let off = (found / expected - 1.0).abs();
    assert!(off <= relative, "{what}: found {found}, expected {expected}: {off:e} beyond {relative:e}");
}

fn rows(file: &str, dataset: &str) -> Vec<csv::StringRecord> {
    let path = format!("{}/tests/reference/regression/{file}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(&path).expect(&path);
    reader.records().map(|row| row.unwrap()).filter(|row| &row[0] == dataset).collect()
}

fn number(row: &csv::StringRecord, i: usize) -> f64 {
    row[i].parse().unwrap()
}

/// A dataset fitted from one of its two starts, all readings with the same unknown scatter.
fn fitted(dataset: &str, start: usize, model: fn(f64, &[f64]) -> f64) -> Fitted {
    let data = rows("data.csv", dataset);
    let observation = |row: &csv::StringRecord| Observation {
        label: format!("{dataset} at {}", &row[1]),
        value: number(row, 2),
        sd: 1.0,
    };
    let observations: Vec<Observation> = data.iter().map(observation).collect();
    let unknowns: Vec<Unknown> = rows("certified.csv", dataset)
        .iter()
        .map(|row| Unknown::new(&row[1], number(row, 1 + start)))
        .collect();
    let options = Options { scatter: Scatter::Estimated, tolerance: 1e-14, ..Options::default() };
    let x: Vec<f64> = data.iter().map(|row| number(row, 1)).collect();
    fit(&unknowns, &observations, &mut |b| Ok(x.iter().map(|&x| model(x, b)).collect()), &options).unwrap()
}

/// `values`, `errors`: relative tolerances.
fn check(dataset: &str, start: usize, values: f64, errors: f64, model: fn(f64, &[f64]) -> f64) {
    let found = fitted(dataset, start, model);
    for (j, row) in rows("certified.csv", dataset).iter().enumerate() {
        near(&format!("{dataset} {}", &row[1]), found.values[j], number(row, 4), values);
        near(&format!("{dataset} sd of {}", &row[1]), found.errors[j], number(row, 5), errors);
    }
    let residual = &rows("residual.csv", dataset)[0];
    // squares of parameters' errors, and the 11 digits printed
    near(&format!("{dataset} squares"), found.chi2, number(residual, 1), 1e-9);
    near(&format!("{dataset} scatter"), found.scatter, number(residual, 2), 1e-9);
}

// Values: slopes by differences are off by some 1e-9, and so is the place where they are normal to what is left
// over, in standard errors; ill-conditioned sets amplify that. Errors: 1e-9 of the slopes, amplified likewise.

#[test]
fn val_nist_misra1a() {
    for start in [1, 2] {
        check("misra1a", start, 1e-8, 1e-6, |x, b| b[0] * (1.0 - (-b[1] * x).exp()));
    }
}

#[test]
fn val_nist_rat42() {
    for start in [1, 2] {
        check("rat42", start, 1e-8, 1e-6, |x, b| b[0] / (1.0 + (b[1] - b[2] * x).exp()));
    }
}

#[test]
fn val_nist_mgh09() {
    for start in [1, 2] {
        check("mgh09", start, 1e-6, 1e-5, |x, b| b[0] * (x * x + x * b[1]) / (x * x + x * b[2] + b[3]));
    }
}

#[test]
fn val_nist_thurber() {
    for start in [1, 2] {
        check("thurber", start, 1e-6, 1e-5, |x, b| {
            let above = b[0] + x * (b[1] + x * (b[2] + x * b[3]));
            above / (1.0 + x * (b[4] + x * (b[5] + x * b[6])))
        });
    }
}

/// From the nearer start.
#[test]
fn val_nist_mgh10() {
    check("mgh10", 2, 1e-6, 1e-5, |x, b| b[0] * (b[1] / (x + b[2])).exp());
}

/// A straight line: certified, and from the closed form of linear regression.
#[test]
fn val_nist_norris() {
    for start in [1, 2] {
        // the intercept is small beside what it is the difference of
        check("norris", start, 1e-7, 1e-8, |x, b| b[0] + b[1] * x);
    }
    let found = fitted("norris", 1, |x, b| b[0] + b[1] * x);
    let x: Vec<f64> = rows("data.csv", "norris").iter().map(|row| number(row, 1)).collect();
    let mean = x.iter().sum::<f64>() / x.len() as f64;
    let square = x.iter().map(|x| x * x).sum::<f64>() / x.len() as f64;
    near("correlation", found.correlations[0][1], -mean / square.sqrt(), 1e-8);
    assert_eq!((found.dof, found.freedom), (34, 34.0));
}

/// JCGM 100:2008 H.3: correction of a thermometer, b = y1 + y2 (t − 20 °C), and its prediction at 30 °C.
#[test]
fn val_gum_thermometer_calibration() {
    let text = include_str!("../reference/gum/h3_thermometer.csv");
    let readings = Readings::parse("h3_thermometer.csv", text, &Layout::default()).unwrap();
    let t: Vec<f64> = readings.values(0, None).map(|(_, t)| t - 20.0).collect();
    let one = |(i, value): (usize, f64)| Observation { label: format!("line {}", i + 2), value, sd: 1.0 };
    let observations: Vec<Observation> = readings.values(1, None).map(one).collect();
    let unknowns = [Unknown::new("y1", 0.0), Unknown::new("y2", 0.0)];
    let options = Options { scatter: Scatter::Estimated, ..Options::default() };
    let mut line = |y: &[f64]| Ok(t.iter().map(|t| y[0] + y[1] * t).collect());
    let found = fit(&unknowns, &observations, &mut line, &options).unwrap();
    // to half of the last digit printed
    let checks = [
        ("y1", found.values[0], -0.1712, 5e-5),
        ("u(y1)", found.errors[0], 0.0029, 5e-5),
        ("y2", found.values[1], 0.00218, 5e-6),
        ("u(y2)", found.errors[1], 0.00067, 5e-6),
        ("r(y1, y2)", found.correlations[0][1], -0.930, 5e-4),
        ("s", found.scatter, 0.0035, 5e-5),
    ];
    let at_30 = found.predict_with(&mut |y| Ok(y[0] + 10.0 * y[1])).unwrap();
    let predicted = [("b(30)", at_30.mean, -0.1494, 5e-5), ("u(b(30))", at_30.sd, 0.0041, 5e-5)];
    for (what, value, expected, half) in checks.into_iter().chain(predicted) {
        assert!((value - expected).abs() <= half, "{what}: {value} for {expected}");
    }
}
