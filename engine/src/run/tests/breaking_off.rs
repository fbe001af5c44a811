//! Long runs, and runs that end before their time.

use super::*;

/// One state with a rate of its own.
struct Rate(fn(f64) -> f64);
impl Part for Rate {
    fn declare(&self, m: &mut Declare) {
        m.state(&X, 1.0, 1.0);
        let rate = self.0;
        m.equation("law", |e| {
            let (x, dx) = (e.reads(&X), e.rate_of(&X));
            move |at| at[dx] = rate(at[x])
        });
        m.watch(&X, 0.9, 1.1, "test range");
        m.settles(&X, &X);
    }
}

#[test]
fn a_long_run_ends_well() {
    let model = model(Oscillator);
    let x = model.find("a.x").unwrap();
    let mut run = Run::new(model, free(1e-6));
    let end = 2000.0 * std::f64::consts::TAU;
    assert_eq!(run.advance(end, &[]).unwrap(), Pause::Time);
    assert!(run.work().steps > 10_000, "{:?}", run.work());
    // each step is off by less than the tolerance, all to the same side at worst
    assert!((run.value(x) - 1.0).abs() < 1e-6 * run.work().steps as f64, "{}", run.value(x));
}

#[test]
fn steps_at_the_limit_of_stability_are_no_failure() {
    // decays within a millisecond, then rests: the longest stable step is 3.3 ms
    let mut run = Run::new(model(Rate(|x| 1000.0 * (1.0 - x) + 1.0)), free(1e-6));
    assert_eq!(run.advance(60.0, &[]).unwrap(), Pause::Time);
    assert!(run.work().steps > 15_000, "{:?}", run.work());
}

#[test]
fn a_number_that_is_not_finite_is_named_and_the_record_kept() {
    let mut run = Run::new(model(Rate(|x| -1.0 - (x - 0.2).sqrt())), free(1e-6));
    let error = run.advance(5.0, &[]).unwrap_err();
    let text = error.to_string();
    assert!(text.contains("a: law gave no finite value for a.x.rate"), "{text}");
    let RunError::NotFinite { time, .. } = error else { panic!("{error}") };
    let (begin, end) = run.trajectory().span();
    assert!(begin == 0.0 && end > 0.0 && end <= time && run.time() == end, "{end} {time}");
    let x = run.model().find("a.x").unwrap();
    assert!(run.value(x) < 0.9 && run.value(x) >= 0.2, "{}", run.value(x));
    assert_eq!(run.warnings().len(), 1, "what was seen is kept too");
    assert_eq!(run.work().steps, run.trajectory().rows() - 1);
    assert!(run.work().evaluations > 0);
}

#[test]
fn a_state_without_bound_stops_at_the_last_time_reached() {
    // 1 / (1 − t)
    let mut run = Run::new(model(Rate(|x| x * x)), free(1e-6));
    let error = run.advance(2.0, &[]).unwrap_err();
    let text = error.to_string();
    assert!(text.contains("no further than 1 s: no step is short enough"), "{text}");
    assert!(text.contains("a.x changes fastest"), "{text}");
    // the error of a pole's place is that of the solution, to first order in the tolerance
    assert!((run.trajectory().span().1 - 1.0).abs() < 1e-4, "{:?}", run.trajectory().span());
    assert_eq!(run.time(), run.trajectory().span().1);
}

#[test]
fn a_start_that_is_not_finite_leaves_no_record() {
    let mut run = Run::new(model(Rate(|x| (x - 2.0).sqrt())), free(1e-6));
    let error = run.advance(1.0, &[]).unwrap_err().to_string();
    assert_eq!(error, "at 0 s a: law gave no finite value for a.x.rate");
    assert!(run.trajectory().is_empty());
}

#[test]
fn a_record_that_is_full_ends_the_run() {
    let mut run = Run::new(model(Oscillator), Options { max_step: 1e-3, ..free(1e-6) });
    run.advance(30.0, &[]).unwrap();
    let error = run.advance(200.0, &[]).unwrap_err();
    assert!(matches!(error, RunError::TooLong { steps: MAX_RECORDED, .. }), "{error}");
    assert_eq!(run.trajectory().rows(), MAX_RECORDED);
    assert!((run.time() - 1e-3 * MAX_RECORDED as f64).abs() < 0.1, "{}", run.time());
    // and stays ended
    assert!(matches!(run.advance(200.0, &[]), Err(RunError::TooLong { .. })));
    assert_eq!(run.trajectory().rows(), MAX_RECORDED);
}

#[test]
fn settling_names_what_is_not_finite() {
    let mut run = Run::new(model(Rate(|x| (x - 2.0).sqrt())), Options::default());
    let error = run.advance(1.0, &[]).unwrap_err().to_string();
    assert_eq!(error, "at 0 s a: law gave no finite value for a.x.rate");
}

#[test]
fn settling_goes_round_where_there_is_no_value() {
    // drifts towards 0.5, with nothing defined above 1.2
    let mut run = Run::new(model(Rate(|x| 40.0 * (0.5 - x) + 0.0 * (1.2 - x).sqrt())), Options::default());
    run.advance(0.1, &[]).unwrap();
    let x = run.model().find("a.x").unwrap();
    assert!((run.value(x) - 0.5).abs() < 1e-8);
}

#[test]
fn without_balance_the_rest_is_told_with_its_unit() {
    let mut run = Run::new(model(Rate(|x| 1.0 + x * x)), Options::default());
    let error = run.advance(1.0, &[]).unwrap_err();
    let RunError::NoEquilibrium { residuals } = error else { panic!("{error}") };
    assert!(residuals[0].starts_with("d(a.x)/dt = ") && residuals[0].ends_with(" m/s"), "{residuals:?}");
}

#[test]
fn a_guard_beyond_which_nothing_is_defined_is_still_found() {
    // the first step to pass the level reaches beyond 0.2 and is tried again, shorter
    let model = model(Rate(|x| -1.0 - 0.0 * (x - 0.2).sqrt()));
    let x = model.find("a.x").unwrap();
    let mut run = Run::new(model, Options { max_step: 0.1, ..free(1e-6) });
    let falls = Condition { quantity: x, crossing: Crossing::Falling, level: 0.25 };
    assert_eq!(run.advance(5.0, &[falls]).unwrap(), Pause::Condition(0));
    assert!((run.time() - 0.75).abs() < 1e-9, "{}", run.time());
}
