//! Sets of readings and what is to be found from all of them together.

use std::cell::RefCell;

use super::found::Calibrated;
use super::set::{Set, Spot, Taken};
use super::steady::Steady;
use super::unknowns::{CLOCK, Sought};
use super::{in_time, steady};
use crate::analysis::Craft;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::fit::{self, FitError, Observation, Options, Unknown};
use crate::part::PartKind;
use crate::setup::Setup;

/// Predictions of one set kept, by the values they were made with: a slope moves one parameter, and
/// sets that do not have it stay as they were.
const KEPT: usize = 3;
/// Clocks tried before the search, which would not find its way from far off.
const CLOCKS: usize = 41;

/// Weighted squares by which another place is worse that is told of: below, it is the same place.
const ELSEWHERE: f64 = 0.1;

type Kept = Vec<(Vec<f64>, Vec<f64>)>;

/// What is to be found, and from what.
pub struct Problem {
    /// Parts a setup may hold.
    pub kinds: &'static [PartKind],
    /// Brings what moves quickly to rest.
    pub rest: Steady,
    /// What all sets are taken with, before they differ.
    pub base: Setup,
    /// Readings.
    pub sets: Vec<Set>,
    /// Parameters.
    pub sought: Vec<Sought>,
    /// By set, whether each parameter is one of its craft: to ask the parts means to read all they have, and every
    /// prediction needs it.
    takes: Vec<Vec<bool>>,
    kept: RefCell<Vec<Kept>>,
}

/// Whether a parameter is one of the craft of a set. One that is shared, and that this craft does not have, is not its
/// business.
fn takes(set: &Set, sought: &Sought, kinds: &[PartKind]) -> bool {
    let has = || fit::setup::dimension(&set.craft.setup, kinds, &sought.parameter).is_ok();
    sought.parameter != CLOCK && sought.set.as_ref().map_or_else(has, |name| *name == set.name)
}

/// Where an observation of a problem comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Site {
    /// Place of the set.
    pub set: usize,
    /// Row and channel in it.
    pub spot: Spot,
}

impl Problem {
    /// # Errors
    /// A parameter of a set there is not, one that is sought twice, sets of one name.
    pub fn new(
        kinds: &'static [PartKind],
        rest: Steady,
        base: Setup,
        sets: Vec<Set>,
        sought: Vec<Sought>,
    ) -> Result<Problem, Diagnostics> {
        let mut problems = Diagnostics::new();
        for (i, set) in sets.iter().enumerate() {
            if sets[..i].iter().any(|other| other.name == set.name) {
                problems.push(Diagnostic::error(format!("two sets of readings are called \"{}\"", set.name)));
            }
        }
        let names: Vec<&str> = sets.iter().map(|set| set.name.as_str()).collect();
        for (i, one) in sought.iter().enumerate() {
            let twice = |other: &Sought| {
                let alike = other.set == one.set || other.set.is_none() || one.set.is_none();
                other.parameter == one.parameter && alike
            };
            if sought[..i].iter().any(twice) {
                problems.push(Diagnostic::error(format!("{} is to be found twice", one.parameter)));
            }
            let timed = |set: &&Set| set.in_time();
            match &one.set {
                Some(set) if !names.contains(&set.as_str()) => {
                    let near = crate::diagnostic::suggest(set, names.iter().copied());
                    let error = Diagnostic::error(format!("there is no set of readings called \"{set}\""));
                    problems.push(error.near(near));
                }
                Some(set) if one.parameter == CLOCK && !sets.iter().filter(timed).any(|s| s.name == *set) => {
                    problems.push(Diagnostic::error(format!("the readings \"{set}\" have no clock")));
                }
                None if one.parameter == CLOCK => {
                    let error = Diagnostic::error("every set of readings has a clock of its own");
                    problems.push(
                        error.help("say which one it is: find(fit, \"clock\", values, name of the set)"),
                    );
                }
                _ => {}
            }
        }
        let kept = RefCell::new(vec![Vec::new(); sets.len()]);
        let takes = sets.iter().map(|set| sought.iter().map(|s| takes(set, s, kinds)).collect()).collect();
        problems.or(Problem { kinds, rest, base, sets, sought, takes, kept })
    }

    /// What was read, set by set, row by row.
    pub fn observations(&self) -> Vec<Observation> {
        let each = self.sets.iter().flat_map(|set| set.spots().map(|spot| set.observation(spot)));
        each.collect()
    }

    /// Where each observation comes from.
    pub fn sites(&self) -> Vec<Site> {
        let each = self.sets.iter().enumerate();
        each.flat_map(|(i, set)| set.spots().map(move |spot| Site { set: i, spot })).collect()
    }

    /// What was known beforehand.
    pub fn unknowns(&self) -> Vec<Unknown> {
        self.sought.iter().map(|sought| sought.unknown.clone()).collect()
    }

    /// Parameters of a set and their values among those of all.
    pub fn values<'a>(&'a self, set: &Set, x: &'a [f64]) -> Vec<(&'a str, f64)> {
        let known = self.sets.iter().position(|own| own.name == set.name).and_then(|i| self.takes.get(i));
        let mine = |(j, s): (usize, &Sought)| match known.and_then(|takes| takes.get(j)) {
            Some(takes) => *takes,
            None => takes(set, s, self.kinds),
        };
        let each = self.sought.iter().zip(x).enumerate();
        each.filter(|(j, (s, _))| mine((*j, s))).map(|(_, (s, &x))| (s.parameter.as_str(), x)).collect()
    }

    fn clock(&self, set: &Set, x: &[f64]) -> f64 {
        let mine = |s: &Sought| s.parameter == CLOCK && s.set.as_ref() == Some(&set.name);
        self.sought.iter().zip(x).find(|(sought, _)| mine(sought)).map_or(0.0, |(_, &x)| x)
    }

    /// The craft of a set with these values.
    ///
    /// # Errors
    /// A part does not take its value.
    pub fn craft(&self, set: &Set, x: &[f64]) -> Result<Craft, Diagnostics> {
        set.craft.changed(self.values(set, x), self.kinds)
    }

    /// What would be read at these values, in the order of the observations.
    ///
    /// # Errors
    /// A set for which nothing can be predicted.
    pub fn predict(&self, x: &[f64]) -> Result<Vec<f64>, String> {
        let mut all = Vec::new();
        for (i, set) in self.sets.iter().enumerate() {
            all.extend(self.predict_set(i, set, x)?);
        }
        Ok(all)
    }

    fn predict_set(&self, place: usize, set: &Set, x: &[f64]) -> Result<Vec<f64>, String> {
        let clock = self.clock(set, x);
        let mut key: Vec<f64> = self.values(set, x).into_iter().map(|(_, x)| x).collect();
        key.push(clock);
        let known = self.kept.borrow().get(place).and_then(|kept| {
            kept.iter().find(|(known, _)| *known == key).map(|(_, predicted)| predicted.clone())
        });
        if let Some(predicted) = known {
            return Ok(predicted);
        }
        let craft = self.craft(set, x).map_err(|told| told.in_short())?;
        let predicted = match &set.taken {
            Taken::Steady => steady::predict(set, &craft, self.rest)?,
            Taken::InTime(course) => in_time::predict(set, &craft, &**course, clock)?,
        };
        if let Some(kept) = self.kept.borrow_mut().get_mut(place) {
            if kept.len() >= KEPT {
                kept.remove(0);
            }
            kept.push((key, predicted.clone()));
        }
        Ok(predicted)
    }

    /// How a search goes about these predictions.
    pub fn options(&self) -> Options {
        let timed = self.timed();
        // runs are good to their tolerance, not to round-off
        if timed { Options { step: 1e-3, tolerance: 1e-9, ..Options::default() } } else { Options::default() }
    }

    /// Finds the parameters from what was read. Along a run there may be several best places: three starts are tried, and
    /// the best is taken. A search that comes to no end gives what it had, and says so: what
    /// was misread, say, shows in that too.
    ///
    /// # Errors
    /// As [`fit::fit`].
    pub fn fit(self: std::rc::Rc<Problem>) -> Result<Calibrated, FitError> {
        let observations = self.observations();
        let options = Options { unfinished: true, ..self.options() };
        let mut fitted = self.fit_with(&observations, &options, 0.0)?;
        let mut elsewhere = Vec::new();
        if self.timed() {
            for shift in [1.0, -1.0] {
                // a start that leads nowhere tells nothing
                let Ok(mut other) = self.fit_with(&observations, &options, shift) else { continue };
                // a search that came to an end is worth more than a better one that did not
                let better = match (fitted.unfinished.is_some(), other.unfinished.is_some()) {
                    (false, true) => false,
                    (true, false) => true,
                    _ => other.chi2 < fitted.chi2,
                };
                if better {
                    std::mem::swap(&mut fitted, &mut other);
                }
                if other.unfinished.is_none() {
                    elsewhere.push(other.chi2);
                }
            }
        }
        let worse = |chi2: &f64| *chi2 > fitted.chi2 + ELSEWHERE;
        elsewhere.retain(worse);
        self.keep_within(&mut fitted);
        Ok(Calibrated { problem: self, fitted, elsewhere })
    }

    /// What a part does not take is a wall to a search, which ends a hair before or beyond it: told as a bound.
    fn keep_within(&self, fitted: &mut fit::Fitted) {
        /// A search ends no further from a wall than its tolerance.
        const HAIR: f64 = 1e-6;
        for (j, sought) in self.sought.iter().enumerate() {
            let craft = self.sets.iter().find(|set| sought.concerns(Some(&set.name)));
            let setup = craft.map_or(&self.base, |set| &set.craft.setup);
            let Some((low, high)) = fit::setup::range(setup, self.kinds, &sought.parameter) else { continue };
            let value = fitted.values[j];
            let hair = |bound: f64| HAIR * (bound.abs() + 1e-3 * sought.unknown.scale.abs());
            if value > low + hair(low) && value < high - hair(high) || !value.is_finite() {
                continue;
            }
            let name = &sought.unknown.name;
            fitted.values[j] = value.clamp(low, high);
            if fitted.at_bound.iter().all(|(known, _)| known != name) {
                fitted.at_bound.push((name.clone(), fitted.values[j]));
            }
        }
    }

    /// Files that readings come from, each once.
    pub fn files(&self) -> Vec<&str> {
        let mut files: Vec<&str> = Vec::new();
        for set in &self.sets {
            if !files.contains(&set.file.as_str()) {
                files.push(&set.file);
            }
        }
        files
    }

    /// Whether some readings were taken along a run.
    fn timed(&self) -> bool {
        self.sets.iter().any(Set::in_time)
    }

    /// Finds the parameters from other readings in the place of those that were taken.
    ///
    /// # Errors
    /// As [`fit::fit`].
    pub fn fit_to(&self, observations: &[Observation]) -> Result<fit::Fitted, FitError> {
        self.fit_with(observations, &self.options(), 0.0)
    }

    /// A search that starts so many standard deviations of what is known beforehand off its middle, every other parameter to
    /// the other side.
    fn fit_with(
        &self,
        observations: &[Observation],
        options: &Options,
        shift: f64,
    ) -> Result<fit::Fitted, FitError> {
        let mut unknowns = self.unknowns();
        for (j, unknown) in unknowns.iter_mut().enumerate().filter(|_| shift != 0.0) {
            let by = if j % 2 == 0 { shift } else { -shift };
            unknown.start = match unknown.prior {
                Some(prior) => prior.at(by),
                None => unknown.start + 0.25 * by * (unknown.high - unknown.low),
            };
            if !(unknown.low..=unknown.high).contains(&unknown.start) || !unknown.start.is_finite() {
                unknown.start = self.sought[j].unknown.start;
            }
        }
        self.set_clocks(&mut unknowns, observations);
        fit::fit(&unknowns, observations, &mut |x| self.predict(x), options)
    }

    /// Starts each clock where it fits best, over what is known of it.
    fn set_clocks(&self, unknowns: &mut [Unknown], observations: &[Observation]) {
        for j in (0..unknowns.len()).filter(|&j| self.sought[j].parameter == CLOCK) {
            let u = &unknowns[j];
            let reach = u.prior.map_or((u.low, u.high), |prior| (prior.at(-3.0), prior.at(3.0)));
            // what was known may spread further than it may be at all
            let within = |x: f64| x.clamp(unknowns[j].low, unknowns[j].high);
            let reach = (within(reach.0), within(reach.1));
            let mut best = (f64::INFINITY, unknowns[j].start);
            for k in 0..CLOCKS {
                let mut x: Vec<f64> = unknowns.iter().map(|u| u.start).collect();
                x[j] = reach.0 + (reach.1 - reach.0) * k as f64 / (CLOCKS - 1) as f64;
                let Ok(predicted) = self.predict(&x) else { continue };
                let each = predicted.iter().zip(observations);
                let squares: f64 = each.map(|(p, o)| ((p - o.value) / o.sd).powi(2)).sum();
                if squares < best.0 {
                    best = (squares, x[j]);
                }
            }
            unknowns[j].start = best.1;
        }
    }
}
