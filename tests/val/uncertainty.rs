//! Budgets of uncertainty against the worked examples of the guide and our notes.

use engine::readings::{Layout, Readings};
use engine::statistics::uncertainty::{
    Input, budget, covariance, coverage_factor, repeats_for_half_width, repeats_for_power,
};

#[track_caller]
fn within(found: f64, expected: f64, absolute: f64) {
    assert!((found - expected).abs() <= absolute, "found {found}, expected {expected} within {absolute:e}");
}

/// JCGM 100:2008 H.1: length of an end gauge, nm. u_c = 32 nm, 16 degrees of freedom (16.7), U_99 = 93 nm.
#[test]
fn val_gum_end_gauge() {
    let many = f64::INFINITY;
    let inputs = [
        // certificate: U = 75 nm at k = 3, 18 degrees of freedom
        Input::expanded("standard", 50_000_623.0, 75.0, 3.0).unwrap().with_freedom(18.0).unwrap(),
        Input::standard("comparison, repeated", 215.0, 5.8, 24.0).unwrap(),
        Input::standard("comparator, random", 0.0, 3.9, 5.0).unwrap(),
        Input::standard("comparator, systematic", 0.0, 6.7, 8.0).unwrap(),
        Input::rectangular("expansion", 11.5e-6, 2e-6).unwrap(),
        Input::standard("bed, mean", -0.1, 0.2, many).unwrap(),
        Input::arcsine("bed, swing", 0.0, 0.5).unwrap(),
        Input::rectangular("difference of expansion", 0.0, 1e-6).unwrap().with_freedom(50.0).unwrap(),
        Input::rectangular("difference of temperature", 0.0, 0.05).unwrap().with_freedom(2.0).unwrap(),
    ];
    let mut length = |x: &[f64]| {
        let (theta, comparison) = (x[5] + x[6], x[1] + x[2] + x[3]);
        x[0] + comparison - x[0] * (x[7] * theta + x[4] * x[8])
    };
    let found = budget(&inputs, &[], &mut length).unwrap();
    // 50.000 838 mm; all digits
    within(found.value, 50_000_838.0, 1e-6);
    // two digits
    within(found.u, 32.0, 0.5);
    // table H.1: contributions 25, 9.7 (of three), 0, 0, 2.9, 16.6 nm
    within(found.rows[0].contribution.abs(), 25.0, 0.05);
    within(found.rows[1..4].iter().map(|r| r.contribution.powi(2)).sum::<f64>().sqrt(), 9.7, 0.05);
    within(found.rows[4].contribution, 0.0, 1e-6);
    within(found.rows[5].contribution, 0.0, 1e-6);
    within(found.rows[7].contribution.abs(), 2.9, 0.05);
    within(found.rows[8].contribution.abs(), 16.6, 0.05);
    // the guide computes with u_c = 32 (16.7) and rounds down
    assert_eq!(found.freedom.floor(), 16.0, "{}", found.freedom);
    within(coverage_factor(0.99, 16.0).unwrap(), 2.92, 0.005);
    // 2.92 · 32: both rounded, 0.5/32 of 93
    within(coverage_factor(0.99, 16.0).unwrap() * found.u, 93.0, 1.5);
    // the nine shares are all
    within(found.rows.iter().map(|r| r.share).sum(), 1.0, 1e-12);
}

/// JCGM 100:2008 H.2: resistance, reactance and impedance from voltage, current and phase that were read together.
#[test]
fn val_gum_resistance_and_reactance() {
    let text = include_str!("../reference/gum/h2_impedance.csv");
    let readings = Readings::parse("h2_impedance.csv", text, &Layout::default()).unwrap();
    let column = |i: usize| readings.values(i, None).map(|(_, x)| x).collect::<Vec<f64>>();
    let columns = [column(0), column(1), column(2)];
    let names = ["voltage", "current", "phase"];
    let inputs: Vec<Input> =
        names.iter().zip(&columns).map(|(name, x)| Input::repeated(name, x).unwrap()).collect();
    // table H.2: means and their standard uncertainties, to the digits printed
    for (input, (mean, u, digit)) in
        inputs.iter().zip([(4.9990, 0.0032, 5e-5), (19.661e-3, 0.0095e-3, 5e-8), (1.04446, 0.00075, 5e-6)])
    {
        within(input.value, mean, digit);
        within(input.u, u, digit);
    }
    let r = |i: usize, j: usize| {
        let products = columns[i].iter().zip(&columns[j]);
        let sum: f64 = products.map(|(a, b)| (a - inputs[i].value) * (b - inputs[j].value)).sum();
        sum / (20.0 * inputs[i].u * inputs[j].u)
    };
    let told =
        [("voltage", "current", r(0, 1)), ("voltage", "phase", r(0, 2)), ("current", "phase", r(1, 2))];
    for (found, expected) in told.iter().zip([-0.36, 0.86, -0.65]) {
        within(found.2, expected, 0.006);
    }
    let of = |f: &mut dyn FnMut(&[f64]) -> f64| budget(&inputs, &told, f).unwrap();
    let resistance = of(&mut |x| x[0] / x[1] * x[2].cos());
    let reactance = of(&mut |x| x[0] / x[1] * x[2].sin());
    let impedance = of(&mut |x| x[0] / x[1]);
    // table H.3; one of the last digit, as the guide rounds correlations in between
    for (found, value, u) in
        [(&resistance, 127.732, 0.071), (&reactance, 219.847, 0.295), (&impedance, 254.260, 0.236)]
    {
        within(found.value, value, 1e-3);
        within(found.u, u, 1e-3);
        // five readings each
        assert_eq!(found.freedom, 4.0);
    }
    let correlation = |a, b, u: f64| covariance(a, b, &told).unwrap() / u;
    let pairs = [
        (correlation(&resistance, &reactance, resistance.u * reactance.u), -0.588),
        (correlation(&resistance, &impedance, resistance.u * impedance.u), -0.485),
        (correlation(&reactance, &impedance, reactance.u * impedance.u), 0.993),
    ];
    for (found, expected) in pairs {
        // from memory, and sensitive to the rounding of correlations
        within(found, expected, 5e-3);
    }
}

/// A bench with a lever: five readings of a scale, mean 20.00 kg, s 0.25 kg; scale ± 0.05 kg; arms 900 and 600 mm,
/// each ± 1 mm. By hand after JCGM 100:2008: 294.2 N, u_c 0.59 % or 1.7 N, U 3.5 N at k = 2.
#[test]
fn val_lever_bench_by_hand() {
    let inputs = [
        Input::repeated("reading", &[19.65, 19.95, 20.00, 20.05, 20.35]).unwrap(),
        Input::rectangular("scale", 0.0, 0.05).unwrap(),
        Input::rectangular("scale arm", 0.9, 1e-3).unwrap(),
        Input::rectangular("force arm", 0.6, 1e-3).unwrap(),
    ];
    let found = budget(&inputs, &[], &mut |x| (x[0] + x[1]) * 9.80665 * x[2] / x[3]).unwrap();
    within(found.value, 294.2, 0.05);
    within(found.u, 1.7, 0.05);
    within(100.0 * found.u / found.value, 0.59, 0.005);
    within(2.0 * found.u, 3.5, 0.05);
    let percent = |i: usize| 100.0 * found.rows[i].contribution.abs() / found.value;
    // the notes go on with 0.112 and 0.029 kg: 0.0002 and 0.0001 kg of 20
    within(percent(0).hypot(percent(1)), 0.578, 1.2e-3);
    within(percent(2), 0.064, 5e-4);
    within(percent(3), 0.096, 5e-4);
    // four degrees in 0.559 % of 0.589 %: 4 (0.589/0.559)⁴
    within(found.freedom, 4.0 * (found.u / found.rows[0].contribution).powi(4), 1e-6);
}

/// Numbers of pairs for 80 % power at 5 % (two-sided) by the noncentral t, as tables of power have them; from memory.
#[test]
fn val_pairs_for_a_power_of_80_percent() {
    for (size, pairs) in [(0.2, 199), (0.5, 34), (0.8, 15)] {
        assert_eq!(repeats_for_power(size, 1.0, 0.95, 0.8).unwrap(), pairs, "{size}");
    }
}

/// Closed form: with t at n − 1, half-width = t s/√n; t of 4 and 24 degrees at 95 % is 2.776 and 2.064 (tables).
#[test]
fn val_pairs_for_a_half_width() {
    assert_eq!(repeats_for_half_width(2.777 / 5f64.sqrt(), 1.0, 0.95).unwrap(), 5);
    assert_eq!(repeats_for_half_width(2.775 / 5f64.sqrt(), 1.0, 0.95).unwrap(), 6);
    assert_eq!(repeats_for_half_width(2.0645 / 5.0, 1.0, 0.95).unwrap(), 25);
    assert_eq!(repeats_for_half_width(2.0630 / 5.0, 1.0, 0.95).unwrap(), 26);
}
