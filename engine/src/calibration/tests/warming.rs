//! Rows along a run.

use super::*;
use crate::model::Probe;
use crate::profile::Profile;
use crate::run::{Options, Run};

/// Voltage at 2 Ω while the warmth rises to 0.05 per ampere with 2 s, 3 A put on at once.
fn voltage(t: f64) -> f64 {
    let warmth = 0.15 * (1.0 - (-t / 2.0).exp());
    6.0 * (1.0 + warmth)
}

fn log(clock: f64) -> String {
    let mut text = String::from("t [s],voltage [V],amps [A]\n");
    for k in 0..40 {
        let t = 0.25 * f64::from(k);
        text.push_str(&format!("{},{:.6},3\n", t + clock, voltage(t)));
    }
    text
}

fn timed(text: &str, settle: bool) -> Set {
    let layout = Layout { time: Some("t".into()), ..Layout::default() };
    let tellings = [told("voltage", "voltage", Some(0.01)), told("amps", "current", None)];
    let course = FromStart(Options { settle, tolerance: 1e-9, ..Options::default() });
    Set::read("log", craft(), table(text, &layout, &tellings), Taken::InTime(Rc::new(course))).unwrap()
}

#[test]
fn a_time_constant_and_a_gain_are_found_from_a_log() {
    let known = vec![
        sought("h.gain", None, normal(0.0, 1.0), ""),
        sought("h.takes", None, Distribution::LogNormal { median: 1.0, factor: 3.0 }, "s"),
    ];
    let found = problem(vec![timed(&log(0.0), false)], known).unwrap().fit().unwrap();
    // readings are exact to 1e-6 V, priors pull by a few 1e-5 of their width
    assert!((found.fitted.value("h.gain").unwrap() - 0.05).abs() < 1e-4, "{:?}", found.fitted);
    assert!((found.fitted.value("h.takes").unwrap() - 2.0).abs() < 0.01, "{:?}", found.fitted);
}

/// 3 A are put on from the first second on, taking a while: a jump would leave nothing to be found between two readings.
struct Late;

impl Course for Late {
    fn run(&self, craft: &Craft, driven: &[(Probe, Profile)], until: f64) -> Result<Run, Diagnostics> {
        let mut run = Run::new(craft.model.clone(), Options { settle: false, ..Options::default() });
        let current = craft.model.find("h.current").unwrap();
        run.input(current).unwrap().change(1.0, 1.5, 3.0);
        drive(&mut run, driven);
        run.advance(until, &[]).unwrap();
        Ok(run)
    }
}

#[test]
fn a_clock_that_runs_ahead_is_found() {
    let layout = Layout { time: Some("t".into()), ..Layout::default() };
    let tellings = [told("voltage", "voltage", Some(0.01))];
    let taken = |text: &str| {
        Set::read("log", craft(), table(text, &layout, &tellings), Taken::InTime(Rc::new(Late))).unwrap()
    };
    let written = |clock: f64, seen: &[f64]| {
        let line = |(k, v): (usize, &f64)| format!("{},{v:.6}\n", 0.25 * k as f64 + clock);
        format!("t [s],voltage [V]\n{}", seen.iter().enumerate().map(line).collect::<String>())
    };
    // what would be read by a clock that goes right, then the same by one that is 4.3 s ahead
    let blank = taken(&written(0.0, &[0.0; 60]));
    let gain = || sought("h.gain", None, normal(0.0, 1.0), "");
    let seen = problem(vec![blank], vec![gain()]).unwrap().predict(&[0.05]).unwrap();
    let set = taken(&written(4.3, &seen));
    // the second is off by 2.4 of its standard deviations, and knows of no clock that is behind
    let known = [
        Distribution::Uniform { low: 0.0, high: 10.0 },
        Distribution::LogNormal { median: 0.8, factor: 2.0 },
    ];
    for known in known {
        let sought = vec![gain(), sought(CLOCK, Some("log"), known, "s")];
        let found = problem(vec![set.clone()], sought).unwrap().fit().unwrap();
        assert!((found.fitted.value("h.gain").unwrap() - 0.05).abs() < 1e-4, "{:?}", found.fitted);
        // readings are exact to 1e-6 V where 3 V come on within a second; runs are good to 1e-6
        assert!((found.fitted.value("clock (log)").unwrap() - 4.3).abs() < 1e-4, "{:?}", found.fitted);
    }
}

#[test]
fn inputs_follow_their_readings_and_steps_stay_steps() {
    let set = timed("t [s],voltage [V],amps [A]\n0,0,0\n1,0,0\n1,6,3\n2,6,3\n", false);
    let problem = problem(vec![set], vec![sought("h.gain", None, normal(0.0, 1.0), "")]).unwrap();
    let predicted = problem.predict(&[0.0]).unwrap();
    // at a step the sampler gives the value after it
    assert_eq!(predicted.iter().map(|v| v.round()).collect::<Vec<_>>(), [0.0, 6.0, 6.0, 6.0]);
}
