use super::*;

fn row(line: usize, throttle: f64, thrust: f64, time: f64) -> Row {
    Row { line, throttle: Some(throttle), thrust: Some(thrust), time: Some(time), ..Row::default() }
}

fn ask(a: &[Row], b: &[Row], covariate: Option<Covariate>) -> Comparison {
    compare(("thin", "thick"), (a, b), &PULL, Step::Throttle, covariate, 0.02, 0.95)
}

#[test]
fn rows_pair_at_equal_steps_in_their_order() {
    let a = [row(2, 0.4, 100.0, 0.0), row(3, 0.8, 200.0, 1.0), row(4, 0.4, 104.0, 2.0)];
    let b =
        [row(5, 0.8, 190.0, 3.0), row(6, 0.4, 99.0, 4.0), row(7, 0.405, 98.0, 5.0), row(8, 0.6, 1.0, 6.0)];
    let found = ask(&a, &b, None);
    assert_eq!(found.pairs.iter().map(|p| p.lines).collect::<Vec<_>>(), [(2, 6), (4, 7), (3, 5)]);
    assert_eq!(found.unpaired, (0, 1));
}

#[test]
fn a_clear_difference_is_told_both_ways() {
    let a: Vec<Row> = (0..4).map(|i| row(i, 0.5, 210.0 + i as f64, 0.0)).collect();
    let b: Vec<Row> = (0..4).map(|i| row(i, 0.5, 200.0 - i as f64, 0.0)).collect();
    let found = ask(&a, &b, None);
    assert!(found.result().unwrap().settled());
    assert!(found.text().contains("Yes, thin is better"), "{}", found.text());
    assert!(ask(&b, &a, None).text().contains("No, thick is better"));
    let same = ask(&a, &a, None);
    assert!(same.text().contains("Not settled") && !same.text().contains("NaN"), "{}", same.text());
}

/// The display shows 26.8 and 26.7 each time: that says nothing of how sure the readings are.
#[test]
fn readings_that_do_not_scatter_are_no_surer_than_what_is_told_of_them() {
    let a = [row(2, 0.5, 268.0, 0.0), row(3, 0.5, 268.0, 0.0)];
    let b = [row(4, 0.5, 267.0, 0.0), row(5, 0.5, 267.0, 0.0)];
    let told = ask(&a, &b, None).at_least(0.01);
    let p = told.result().unwrap();
    // 1 % over √2, times 1.96
    assert!((p.interval.high - p.difference - 0.01 / 2f64.sqrt() * 1.959_964).abs() < 1e-7, "{p:?}");
    assert!(!told.settled() && told.text().contains("Not settled"), "{}", told.text());
    let untold = ask(&a, &b, None).at_least(0.0);
    assert!(!untold.settled() && untold.text().contains("Cannot be told: the differences do not scatter"));
    // what scatters more than is told stays as it was
    let wide = [row(2, 0.5, 260.0, 0.0), row(3, 0.5, 280.0, 0.0)];
    let (plain, told) = (ask(&wide, &b, None), ask(&wide, &b, None).at_least(0.001));
    assert_eq!(plain.result().unwrap().interval, told.result().unwrap().interval);
}

#[test]
fn what_drifted_between_two_blocks_is_not_told_from_their_difference() {
    let block = |from: usize, pull: f64| -> Vec<Row> {
        (from..from + 4).map(|i| row(i, 0.5, pull + (i % 2) as f64, 10.0 * i as f64)).collect()
    };
    let mut told = ask(&block(2, 210.0), &block(6, 200.0), Some(Covariate::Time)).at_least(0.002);
    told.in_blocks = true;
    // the clock is as far apart in each pair
    assert!(told.confounded() && !told.settled(), "{:?}", told.corrected);
    assert!(told.text().contains("Cannot be told: pull"), "{}", told.text());
    let mut unasked = ask(&block(2, 210.0), &block(6, 200.0), None).at_least(0.002);
    unasked.in_blocks = true;
    assert!(unasked.settled() && unasked.text().contains("whatever drifted meanwhile"), "{}", unasked.text());
}

#[test]
fn scatter_asks_for_more_repeats() {
    let noise = [6.0, -5.0, 4.0, -7.0, 3.0, -2.0];
    let a: Vec<Row> = noise.iter().map(|e| row(1, 0.5, 202.0 + e, 0.0)).collect();
    let b: Vec<Row> = noise.iter().map(|e| row(1, 0.5, 200.0 - e, 0.0)).collect();
    let found = ask(&a, &b, None);
    let p = found.result().unwrap();
    assert!(!p.settled());
    let needed = found.to_settle.clone().unwrap().unwrap();
    assert!(needed > 6, "{needed}");
    assert_eq!(needed, repeats_for_power(p.difference, p.scatter, 0.95, POWER).unwrap());
    assert!(found.text().contains(&format!("{needed} pairs")), "{}", found.text());
}

#[test]
fn a_creep_with_time_is_taken_out_where_the_order_allows_it() {
    // A is 4 % better; all readings fall by 1 % of 200 N per 100 s; a pair's second comes 100 s later, in both orders
    let creep = |t: f64| 1.0 - 1e-4 * t;
    let times = [(0.0, 100.0), (300.0, 200.0), (400.0, 500.0), (700.0, 600.0), (800.0, 900.0)];
    let a: Vec<Row> = times.iter().map(|(t, _)| row(1, 0.5, 204.0 * creep(*t), *t)).collect();
    let b: Vec<Row> = times.iter().map(|(_, t)| row(1, 0.5, 196.0 * creep(*t), *t)).collect();
    let found = ask(&a, &b, Some(Covariate::Time));
    let plain = found.plain.as_ref().unwrap().difference;
    let clean = found.result().unwrap().difference;
    // the creep is no line in shares of a falling mean: 8 % fall of the whole series times 1 %, and squares of that
    assert!((clean - 0.04).abs() < 1e-4 && (plain - 0.04).abs() > 1e-3, "{clean} {plain}");
    // always the same order: creep and difference are one
    let late: Vec<Row> = a.iter().map(|r| row(1, 0.5, 196.0, r.time.unwrap() + 100.0)).collect();
    let found = ask(&a, &late, Some(Covariate::Time));
    assert!(found.corrected.as_ref().unwrap().1.is_err());
    assert!(found.text().contains("not taken out"), "{}", found.text());
}

#[test]
fn nothing_to_compare_is_said() {
    for (a, b) in [(vec![], vec![]), (vec![row(1, 0.5, 1.0, 0.0)], vec![row(1, 0.5, f64::NAN, 0.0)])] {
        let found = ask(&a, &b, Some(Covariate::Charge));
        let text = found.text();
        assert!(text.contains("Cannot be told") && !text.contains("NaN"), "{text}");
    }
}
