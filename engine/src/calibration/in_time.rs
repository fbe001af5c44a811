//! What a craft would show along a run.

use super::columns::Role;
use super::set::Set;
use crate::analysis::Craft;
use crate::diagnostic::{Diagnostic, Diagnostics};
use crate::model::Probe;
use crate::profile::Profile;
use crate::run::{Options, Pause, Run, Sampler};

/// What is done to a craft while readings are taken.
pub trait Course {
    /// A run of the craft up to a time, with inputs that follow what was read.
    ///
    /// # Errors
    /// The run cannot be begun or breaks off.
    fn run(&self, craft: &Craft, driven: &[(Probe, Profile)], until: f64) -> Result<Run, Diagnostics>;
}

/// Nothing is done but what the readings themselves say.
#[derive(Debug, Clone, Default)]
pub struct FromStart(pub Options);

impl Course for FromStart {
    fn run(&self, craft: &Craft, driven: &[(Probe, Profile)], until: f64) -> Result<Run, Diagnostics> {
        let mut run = Run::new(craft.model.clone(), self.0.clone());
        drive(&mut run, driven);
        to_the_end(run, until)
    }
}

/// A run up to a time, which it must reach.
///
/// # Errors
/// A part ends it before, or it breaks off.
pub fn to_the_end(mut run: Run, until: f64) -> Result<Run, Diagnostics> {
    match run.advance(until, &[]) {
        Ok(Pause::Ended) => {
            let why = run.happenings().last().map_or_else(String::new, |h| format!(": {}", h.event));
            let error = Diagnostic::error(format!(
                "the run ends after {:.3} s{why}; the last reading is at {until:.3} s of the run's clock",
                run.time()
            ));
            Err(error
                .help("let the trial go on longer, read a shorter log, or narrow what the clock may be")
                .into())
        }
        Ok(Pause::Time | Pause::Condition(_)) => Ok(run),
        Err(error) => Err(Diagnostic::error(error.to_string()).into()),
    }
}

/// Lets inputs follow profiles, and states begin where these begin.
pub fn drive(run: &mut Run, driven: &[(Probe, Profile)]) {
    for (probe, profile) in driven {
        match run.input(*probe) {
            Some(input) => *input = profile.clone(),
            None => _ = run.place(*probe, profile.at(0.0, 0.0)),
        }
    }
}

/// Shortest step between two readings that is followed, s.
const SHORTEST: f64 = 1e-6;

/// An input through its readings, from one to the next. `clock` is what the readings' clock is ahead of the run's.
fn profile(set: &Set, channel: usize, clock: f64) -> Option<Profile> {
    let channel = set.channels.get(channel)?;
    let mut points = set.rows.iter().filter_map(|&row| {
        let (t, value) = (set.time(row) - clock, set.read_at(row, channel)?);
        t.is_finite().then_some((t, value))
    });
    let first = points.next()?;
    let mut profile = Profile::constant(first.1);
    let (mut before, mut last) = first;
    for (t, value) in points {
        // a jump is read as two rows at one time
        let jumps = t - before < SHORTEST;
        if t <= 0.0 {
            profile = Profile::constant(value);
        } else if value != last && jumps {
            profile.change(t, 0.0, value);
        } else if value != last {
            let begins = before.max(0.0);
            if before < 0.0 {
                // the run begins on the way from one reading to the next
                profile = Profile::constant(last + (value - last) * (begins - before) / (t - before));
            }
            profile.change(begins, t - begins, value);
        }
        (before, last) = (t, value);
    }
    Some(profile)
}

/// A prediction for every spot of a set along one run.
///
/// # Errors
/// The run ends before the last reading.
pub(super) fn predict(set: &Set, craft: &Craft, course: &dyn Course, clock: f64) -> Result<Vec<f64>, String> {
    let model = &craft.model;
    let place = |role| {
        let all = set.channels.iter().enumerate().filter(move |(_, c)| c.role == role);
        all.filter_map(|(i, c)| Some((i, model.find(&c.quantity)?)))
    };
    let driven: Vec<(Probe, Profile)> =
        place(Role::Put).filter_map(|(i, probe)| Some((probe, profile(set, i, clock)?))).collect();
    let times = set.spots().map(|spot| set.time(spot.row) - clock);
    let until = times.fold(0.0, f64::max);
    if !until.is_finite() || until <= 0.0 {
        return Err(format!("{}: no reading lies within the run", set.name));
    }
    let run =
        course.run(craft, &driven, until).map_err(|told| format!("{}: {}", set.name, told.in_short()))?;
    let end = run.time();
    if end < until - SHORTEST {
        return Err(format!("{}: the run ends at {end:.3} s, before the last reading", set.name));
    }
    let probes: Vec<(usize, Probe)> = place(Role::Seen).collect();
    let mut sampler = Sampler::new(run.model(), run.trajectory());
    let mut at = f64::NAN;
    let mut out = Vec::new();
    for spot in set.spots() {
        // what was read before the run began shows the craft as it began
        let t = (set.time(spot.row) - clock).clamp(0.0, end);
        if t != at {
            sampler.go(t);
            at = t;
        }
        let probe = probes.iter().find(|(i, _)| *i == spot.channel).map(|(_, probe)| *probe);
        out.push(probe.map_or(f64::NAN, |probe| sampler.value(probe)));
    }
    Ok(out)
}
