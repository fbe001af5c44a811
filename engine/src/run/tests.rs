use super::*;
use crate::model::{Crossing, Declare, Instance, Then, Trigger};
use crate::part::Part;
use crate::quantity::Kind;

const X: Kind = Kind::single("x", "m", "");
const V: Kind = Kind::single("v", "m/s", "");
const PUSH: Kind = Kind::single("push", "N", "");
const BOUNCES: Kind = Kind::single("bounces", "1", "");

/// x'' = push − x.
struct Oscillator;
impl Part for Oscillator {
    fn declare(&self, m: &mut Declare) {
        m.state(&X, 1.0, 1.0);
        m.state(&V, 0.0, 1.0);
        m.input(&PUSH, 0.0);
        m.equation("motion", |e| {
            let (x, v, push) = (e.reads(&X), e.reads(&V), e.reads(&PUSH));
            let (dx, dv) = (e.rate_of(&X), e.rate_of(&V));
            move |at| {
                at[dx] = at[v];
                at[dv] = at[push] - at[x];
            }
        });
        m.watch(&X, -0.5, 2.0, "test range");
        m.settles(&X, &V);
    }
}

/// A ball that bounces and stops the run at its third bounce.
struct Ball;
impl Part for Ball {
    fn declare(&self, m: &mut Declare) {
        m.state(&X, 1.0, 1.0);
        m.state(&V, 0.0, 1.0);
        m.mode(&BOUNCES, 0.0);
        m.equation("fall", |e| {
            let v = e.reads(&V);
            let (dx, dv) = (e.rate_of(&X), e.rate_of(&V));
            move |at| {
                at[dx] = at[v];
                at[dv] = -10.0;
            }
        });
        m.event("bounce", |e| {
            let x = e.reads(&X);
            let (v, bounces) = (e.sets(&V), e.sets(&BOUNCES));
            Trigger::falling(
                move |at| at[x],
                move |at| {
                    at[v] *= -0.5;
                    at[bounces] += 1.0;
                    if at[bounces] >= 3.0 { Then::Stop } else { Then::Go }
                },
            )
        });
    }
}

fn model(part: impl Part + 'static) -> Arc<Model> {
    let instance = Instance { name: "a".into(), part: Arc::new(part), from: vec![] };
    Arc::new(Model::build(vec![instance]).unwrap())
}

fn free(tolerance: f64) -> Options {
    Options { tolerance, max_step: 1.0, settle: false }
}

#[test]
fn an_oscillator_follows_its_cosine_at_fifth_order() {
    let error = |tolerance| {
        let model = model(Oscillator);
        let x = model.find("a.x").unwrap();
        let mut run = Run::new(model, free(tolerance));
        run.advance(10.0, &[]).unwrap();
        ((run.value(x) - 10f64.cos()).abs(), run.work().steps)
    };
    let (coarse, fine) = (error(1e-6), error(1e-10));
    // some tens of steps, each with an error below the tolerance
    assert!(coarse.0 < 1e-4 && fine.0 < 1e-8, "{coarse:?} {fine:?}");
    // fifth order: steps grow as tolerance^(-1/5), 10^(4/5) = 6.3
    assert!((4.0..9.0).contains(&(fine.1 as f64 / coarse.1 as f64)), "{coarse:?} {fine:?}");
}

#[test]
fn a_condition_pauses_at_its_time_and_the_run_resumes() {
    let model = model(Oscillator);
    let x = model.find("a.x").unwrap();
    let mut run = Run::new(model, free(1e-10));
    let falls = Condition { quantity: x, crossing: Crossing::Falling, level: 0.5 };
    assert_eq!(run.advance(20.0, &[falls]).unwrap(), Pause::Condition(0));
    // cos t = 1/2 at π/3; global error of the integration at this tolerance
    assert!((run.time() - std::f64::consts::FRAC_PI_3).abs() < 1e-9, "{}", run.time());
    assert_eq!(run.advance(20.0, &[falls]).unwrap(), Pause::Condition(0));
    assert!((run.time() - std::f64::consts::FRAC_PI_3 - std::f64::consts::TAU).abs() < 1e-8);
    let after = run.time();
    assert_eq!(run.advance(after + 0.1, &[]).unwrap(), Pause::Time);
    assert_eq!(run.time(), after + 0.1);
}

#[test]
fn one_passage_fires_one_of_two_opposite_conditions() {
    let model = model(Oscillator);
    let x = model.find("a.x").unwrap();
    let mut run = Run::new(model, free(1e-9));
    let level = |crossing| Condition { quantity: x, crossing, level: 0.5 };
    let both = [level(Crossing::Falling), level(Crossing::Rising)];
    let mut fired = Vec::new();
    while let Pause::Condition(i) = run.advance(10.0, &both).unwrap() {
        fired.push(i);
    }
    // cos t = 1/2 at π/3, 5π/3, 7π/3: down, up, down
    assert_eq!(fired, [0, 1, 0]);
}

#[test]
fn events_reset_states_and_end_the_run() {
    let model = model(Ball);
    let mut run = Run::new(model, free(1e-9));
    assert_eq!(run.advance(100.0, &[]).unwrap(), Pause::Ended);
    // fall 1 m at 10 m/s², then two flights of half the speed each: t = √0.2 (1 + 1 + 1/2)
    assert!((run.time() - 0.2f64.sqrt() * 2.5).abs() < 1e-9, "{}", run.time());
    assert_eq!(run.happenings().len(), 3);
}

#[test]
fn a_step_of_an_input_begins_a_segment_and_a_ramp_does_not() {
    let model = model(Oscillator);
    let (x, push) = (model.find("a.x").unwrap(), model.find("a.push").unwrap());
    let mut run = Run::new(model, free(1e-10));
    run.place(x, 0.0);
    run.input(push).unwrap().change(1.0, 0.0, 2.0);
    run.input(push).unwrap().change(3.0, 1.0, 2.5);
    run.advance(2.0, &[]).unwrap();
    // x = 2 (1 − cos(t − 1)) after the step
    assert!((run.value(x) - 2.0 * (1.0 - 1f64.cos())).abs() < 1e-8);
    run.advance(6.0, &[]).unwrap();
    assert_eq!(run.work().segments, 3);
}

#[test]
fn a_held_state_follows_its_profile() {
    let model = model(Oscillator);
    let (x, v) = (model.find("a.x").unwrap(), model.find("a.v").unwrap());
    let mut run = Run::new(model, free(1e-10));
    run.hold(v, Profile::constant(2.0));
    run.advance(3.0, &[]).unwrap();
    assert!((run.value(x) - 7.0).abs() < 1e-12);
    assert_eq!(run.value(v), 2.0);
}

#[test]
fn settling_finds_the_balance() {
    let model = model(Oscillator);
    let (x, push) = (model.find("a.x").unwrap(), model.find("a.push").unwrap());
    let mut run = Run::new(model, Options::default());
    *run.input(push).unwrap() = Profile::constant(0.7);
    run.advance(0.5, &[]).unwrap();
    assert!((run.value(x) - 0.7).abs() < 1e-8);
}

#[test]
fn a_range_left_is_warned_of_once_with_its_worst() {
    let model = model(Oscillator);
    let mut run = Run::new(model, Options { max_step: 0.05, ..free(1e-6) });
    run.advance(10.0, &[]).unwrap();
    let warnings = run.warnings();
    assert_eq!(warnings.len(), 1);
    // −1 at t = π, seen on steps of at most 0.05 s
    assert!((warnings[0].worst + 1.0).abs() < 1e-3);
}

#[test]
fn samples_between_steps_lie_on_the_solution() {
    let model = model(Oscillator);
    let x = model.find("a.x").unwrap();
    let mut run = Run::new(model.clone(), free(1e-8));
    run.advance(10.0, &[]).unwrap();
    let mut sampler = Sampler::new(&model, run.trajectory());
    let mut worst: f64 = 0.0;
    sampler.walk(0.01, |t, s| worst = worst.max((s.value(x) - t.cos()).abs()));
    // the cubic between steps of some 0.2 s: h⁴/384 = 4e-6
    assert!(worst < 1e-5, "{worst}");
}

#[test]
fn settling_leaves_alone_what_is_held() {
    let model = model(Oscillator);
    let (x, v) = (model.find("a.x").unwrap(), model.find("a.v").unwrap());
    let mut run = Run::new(model, Options::default());
    run.hold(x, Profile::constant(0.25));
    run.hold(v, Profile::constant(0.0));
    // v's rate is −x there: no balance, and none is asked for
    run.advance(0.1, &[]).unwrap();
    assert_eq!((run.value(x), run.value(v)), (0.25, 0.0));
}

mod breaking_off;
