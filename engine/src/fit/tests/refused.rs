//! What is refused, with its numbers.

use super::*;

fn with(unknown: Unknown) -> Result<Fitted, FitError> {
    fit(&[unknown], &observed(&[1.0, 2.0], 0.1), &mut |p| Ok(vec![p[0], 2.0 * p[0]]), &Options::default())
}

#[test]
fn senseless_questions_are_refused() {
    let fine = || Unknown::new("a", 0.5);
    assert!(with(fine()).is_ok());
    let empty = fit(&[], &[], &mut |_| Ok(vec![]), &Options::default());
    assert_eq!(empty.unwrap_err(), FitError::Empty { unknowns: 0, observations: 0 });
    let twice = fit(&[fine(), fine()], &observed(&[1.0], 0.1), &mut |p| Ok(p.to_vec()), &Options::default());
    assert_eq!(twice.unwrap_err(), FitError::Name("a".into()));
    for wrong in [
        Unknown { start: f64::NAN, ..fine() },
        Unknown { scale: 0.0, ..fine() },
        fine().between(1.0, 2.0),
        fine().between(2.0, 1.0),
        fine().between(f64::NAN, 1.0),
        fine().about(f64::INFINITY, 1.0),
        fine().about(1.0, 0.0),
        fine().near(-1.0, 0.1),
        Unknown::new("a", -0.5).near(1.0, 0.1),
    ] {
        assert!(matches!(with(wrong.clone()), Err(FitError::Number { .. })), "{wrong:?}");
    }
    for (value, sd) in [(f64::NAN, 0.1), (1.0, 0.0), (1.0, f64::INFINITY)] {
        let one = [Observation { label: "x".into(), value, sd }];
        let found = fit(&[fine()], &one, &mut |p| Ok(p.to_vec()), &Options::default());
        assert!(matches!(found, Err(FitError::Number { .. })));
    }
    for options in [
        Options { step: 0.0, ..Options::default() },
        Options { tolerance: f64::NAN, ..Options::default() },
        Options { evaluations: 0, ..Options::default() },
    ] {
        let found = fit(&[fine()], &observed(&[1.0], 0.1), &mut |p| Ok(p.to_vec()), &options);
        assert!(matches!(found, Err(FitError::Number { .. })), "{options:?}");
    }
}

#[test]
fn predictions_that_fail_say_where() {
    let one = observed(&[1.0], 0.1);
    let unknowns = [Unknown::new("a", 0.5)];
    let found = fit(&unknowns, &one, &mut |_| Err("dry".into()), &Options::default());
    assert_eq!(found.unwrap_err().to_string(), "no prediction at the start (a = 0.5): dry");
    let found = fit(&unknowns, &one, &mut |_| Ok(vec![f64::NAN]), &Options::default());
    assert!(found.unwrap_err().to_string().contains("reading 0 is NaN"));
    let found = fit(&unknowns, &one, &mut |_| Ok(vec![1.0, 2.0]), &Options::default());
    assert_eq!(found.unwrap_err(), FitError::Length { found: 2, expected: 1 });
    // all round
    let mut point = |p: &[f64]| if p[0] == 0.5 { Ok(vec![0.3]) } else { Err("dry".into()) };
    let found = fit(&unknowns, &one, &mut point, &Options::default());
    assert!(matches!(found, Err(FitError::Beside { value: 0.5, .. })), "{found:?}");
    // at the last of the observations, later
    let mut calls = 0;
    let mut shrinks = |p: &[f64]| {
        calls += 1;
        Ok(if calls < 5 { vec![p[0] * p[0]] } else { vec![] })
    };
    let found = fit(&unknowns, &one, &mut shrinks, &Options::default());
    assert_eq!(found.unwrap_err(), FitError::Length { found: 0, expected: 1 });
}

#[test]
fn a_search_without_end_tells_how_far_it_came() {
    // falls for ever
    let unknowns = [Unknown::new("a", 1.0)];
    let options = Options { evaluations: 60, ..Options::default() };
    let mut calls = 0;
    let mut slow = |p: &[f64]| {
        calls += 1;
        Ok(vec![1.0 / p[0].abs().ln_1p()])
    };
    let found = fit(&unknowns, &observed(&[0.0], 1.0), &mut slow, &options);
    let Err(FitError::NotConverged { evaluations, chi2, at, .. }) = found else {
        panic!("{found:?}");
    };
    assert_eq!((evaluations, calls), (60, 60));
    assert!(chi2 < 1.0 && at.starts_with("a = "), "{chi2} {at}");
}

#[test]
fn a_search_without_end_gives_what_it_had_where_that_is_wanted() {
    let unknowns = [Unknown::new("a", 1.0)];
    let options = Options { evaluations: 60, unfinished: true, ..Options::default() };
    let mut slow = |p: &[f64]| Ok(vec![1.0 / p[0].abs().ln_1p()]);
    let found = fit(&unknowns, &observed(&[0.0], 1.0), &mut slow, &options).unwrap();
    assert!(found.unfinished.is_some() && found.values[0] > 1.0, "{found:?}");
    // what is told of it belongs to the values it has
    let there = 1.0 / found.values[0].ln_1p();
    assert!((found.residuals[0].predicted - there).abs() < 1e-12 && found.chi2 < 1.0);
    let ended = fit(&unknowns, &observed(&[2.0], 1.0), &mut |p| Ok(p.to_vec()), &options).unwrap();
    assert_eq!(ended.unfinished, None);
}

#[test]
fn a_scatter_needs_something_left_over() {
    let options = Options { scatter: Scatter::Estimated, ..Options::default() };
    let unknowns = [Unknown::new("a", 0.5)];
    let found = fit(&unknowns, &observed(&[1.0], 1.0), &mut |p| Ok(p.to_vec()), &options);
    assert_eq!(found.unwrap_err(), FitError::NoFreedom { observations: 1, unknowns: 1 });
    let found = fit(&unknowns, &observed(&[0.5, 0.5], 1.0), &mut |p| Ok(vec![p[0]; 2]), &options);
    assert_eq!(found.unwrap_err(), FitError::NoScatter);
}

#[test]
fn questions_to_a_fit_are_checked() {
    let found = with(Unknown::new("a", 0.5)).unwrap();
    assert!(matches!(found.interval("b", 0.95), Err(FitError::NoUnknown { .. })));
    assert!(matches!(found.interval("a", 1.5), Err(FitError::Number { value: 1.5, .. })));
    assert!(matches!(found.predict_with(&mut |_| Ok(f64::NAN)), Err(FitError::Start { .. })));
    assert!(found.samples(0, 1).unwrap().is_empty());
}
