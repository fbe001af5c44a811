//! Trim: the craft in equilibrium at a speed that is held.
//!
//! What finds its balance is *quick*: every state of a part that pushes or
//! turns the craft (a heave force or a pitch moment comes from it). That takes
//! in depth and pitch, the lift that lags behind on each wing and the body of
//! a rider, without naming a part. Distance run is left out: nothing depends on
//! it. All other states are slow or feed nothing back, and stay as at the
//! start: charge, polarisation, temperatures, timers.

use std::sync::Arc;

use engine::balance::{Balance, Linear, NoBalance, NotLinear, Point};
use engine::diagnostic::Diagnostic;
use engine::model::{Model, Probe};
use engine::profile::Profile;
use engine::quantity::Kind;
use engine::run::{Options, Run};

use crate::nomenclature::*;

/// Usual size of depth, pitch and any other quick state, in their units (m, rad, …): these scale steps only.
const SIZES: (f64, f64, f64) = (0.3, 0.1, 0.3);
/// Pitch at which searches begin, rad.
const LIKELY_PITCH: f64 = 0.05;
/// Height of the bottom at which searches begin on the water, m.
const AFLOAT: f64 = -0.1;
/// Heights of the bottom at which searches begin in flight, as shares of the depth of the deepest wing below it.
const IN_FLIGHT: [f64; 3] = [0.25, 0.5, 0.75];

/// Finds equilibria of one craft at one throttle.
#[derive(Clone)]
pub struct Trim {
    balance: Balance,
    speed: Probe,
    throttle: Vec<Probe>,
    quick: Vec<Probe>,
    /// Values of the free ones from which searches begin, the board deep first.
    starts: Vec<Vec<f64>>,
}

/// The instance a quantity belongs to.
pub fn owner(model: &Model, quantity: Probe) -> &str {
    model.name(quantity).split('.').next().unwrap_or_default()
}

/// Instances that exert a heave force or a pitch moment, in the order of names.
fn acting(model: &Model) -> Vec<&str> {
    let kinds = [&HEAVE_FORCE, &PITCH_MOMENT];
    let mut names: Vec<&str> =
        kinds.iter().flat_map(|kind| model.contributions(kind.name)).map(|p| owner(model, p)).collect();
    names.sort_unstable();
    names.dedup();
    names
}

impl Trim {
    /// The question for a craft at full throttle. The speed is not held yet.
    ///
    /// # Errors
    /// The setup does not move (it lacks a state of surge, heave or pitch).
    pub fn of(model: &Arc<Model>) -> Result<Trim, Diagnostic> {
        let state = |kind: &Kind| {
            let found = model.providers(kind.name).into_iter().find(|p| model.state_index(*p).is_some());
            found.ok_or_else(|| {
                let lacking = format!("no {} that moves", kind.name.replace('_', " "));
                let thrusts = !model.providers(THRUST.name).is_empty();
                let error = if model.providers(DISTANCE.name).iter().any(|p| model.state_index(*p).is_some()) {
                    Diagnostic::error(format!("this setup has {lacking}"))
                } else if thrusts {
                    Diagnostic::error("this setup stands on a bench and does not move").found(lacking)
                } else {
                    Diagnostic::error("this setup is no craft: nothing in it thrusts or moves").found(lacking)
                };
                let fits = if !thrusts {
                    "give a setup with a drive and a `motion` part"
                } else {
                    "`tub`, `card`, `cut` and, with the parts of a rig, `rig` read a drive at rest; for this command give a \
                     setup with a `motion` part"
                };
                error.help(fits)
            })
        };
        let [depth, pitch, speed, sinking, turning] =
            [&CG_DEPTH, &PITCH, &SURGE_SPEED, &HEAVE_SPEED, &PITCH_RATE].map(state);
        let (depth, pitch, speed) = (depth?, pitch?, speed?);
        let (sinking, turning) = (sinking?, turning?);

        let names = acting(model);
        let away = model.providers(DISTANCE.name);
        let quick: Vec<Probe> = model.state_probes();
        let quick: Vec<Probe> = quick
            .into_iter()
            .filter(|p| names.contains(&owner(model, *p)) && *p != speed && !away.contains(p))
            .collect();

        let mut balance = Balance::of(model);
        let (of_depth, of_pitch, of_others) = SIZES;
        // the rates of depth and pitch are heave speed and pitch rate: both nil
        balance.hold(sinking, 0.0);
        balance.hold(turning, 0.0);
        for &state in &quick {
            if state != depth && state != pitch {
                balance.rest(state);
            }
            if state != sinking && state != turning {
                let size = match state {
                    s if s == depth => of_depth,
                    s if s == pitch => of_pitch,
                    _ => of_others,
                };
                balance.free(state, f64::NEG_INFINITY, f64::INFINITY, size);
            }
        }
        let inputs = model.inputs();
        let throttle = model.providers(THROTTLE.name).into_iter().filter(|p| inputs.contains(p)).collect();
        let starts = starts(&balance, depth, pitch);
        let mut trim = Trim { balance, speed, throttle, quick, starts };
        trim.open(1.0);
        Ok(trim)
    }

    /// The same craft at another throttle, 0 to 1.
    pub fn at_throttle(&self, throttle: f64) -> Trim {
        let mut other = self.clone();
        other.open(throttle.clamp(0.0, 1.0));
        other
    }

    fn open(&mut self, throttle: f64) {
        for &probe in &self.throttle {
            self.balance.hold(probe, throttle);
        }
    }

    /// The question, with the speed neither held nor free.
    pub fn balance(&self) -> &Balance {
        &self.balance
    }

    /// The model.
    pub fn model(&self) -> &Arc<Model> {
        self.balance.model()
    }

    /// The speed that is held.
    pub fn speed(&self) -> Probe {
        self.speed
    }

    /// Inputs that are the throttle.
    pub fn throttle(&self) -> &[Probe] {
        &self.throttle
    }

    /// The states that find their balance, heave speed and pitch rate among them.
    pub fn quick(&self) -> &[Probe] {
        &self.quick
    }

    /// Where searches begin, values of the free ones: afloat first, then in flight at several heights.
    pub fn starts(&self) -> &[Vec<f64>] {
        &self.starts
    }

    /// Equilibria at a speed, m/s, that searches from deep to high in the water lead to; of equals the first.
    pub fn all_at(&self, speed: f64) -> (Vec<Point>, Option<NoBalance>) {
        let mut question = self.balance.clone();
        if !question.hold(self.speed, speed) {
            return (Vec::new(), Some(self.refused(speed)));
        }
        let found = question.solve_all(self.starts.iter().cloned());
        let nearest = found.nearest().cloned();
        (found.points, nearest)
    }

    /// The equilibrium at a speed, m/s, near `start` (values of the free ones).
    ///
    /// # Errors
    /// There is none, or the speed cannot be held.
    pub fn at(&self, speed: f64, start: &[f64]) -> Result<Point, NoBalance> {
        let mut question = self.balance.clone();
        if !question.hold(self.speed, speed) {
            return Err(self.refused(speed));
        }
        question.solve(start)
    }

    /// Equilibria at speeds, m/s, each begun where the last one ended.
    pub fn along(&self, speeds: &[f64], start: &[f64]) -> Vec<Result<Point, NoBalance>> {
        self.balance.along(self.speed, speeds, start)
    }

    /// A run in which all that is quick, and the speed, is held at these values: what is slow goes on.
    pub fn motionless(&self, options: Options, value: impl Fn(Probe) -> f64) -> Run {
        let mut run = Run::new(self.model().clone(), Options { settle: false, ..options });
        for &state in self.quick.iter().chain([&self.speed]) {
            run.hold(state, Profile::constant(value(state)));
        }
        run
    }

    /// How small disturbances of an equilibrium grow or die away, with the speed held.
    ///
    /// # Errors
    /// The rates have no slopes there.
    pub fn disturbed(&self, point: &Point) -> Result<Linear, NotLinear> {
        self.balance.linearise(point, &self.quick)
    }

    fn refused(&self, value: f64) -> NoBalance {
        NoBalance::Refused { quantity: self.model().name(self.speed).to_string(), value }
    }
}

/// Where searches begin: the bottom just wet, and at several heights of flight.
fn starts(balance: &Balance, depth: Probe, pitch: Probe) -> Vec<Vec<f64>> {
    let model = balance.model();
    let mut run = Run::new(model.clone(), Options { settle: false, ..Options::default() });
    let mut value = |kind: &Kind| -> Vec<f64> {
        model.providers(kind.name).into_iter().map(|p| run.value(p)).filter(|v| v.is_finite()).collect()
    };
    let cg_below = value(&CG_BELOW).first().copied().unwrap_or(0.0);
    let bottom = model.start_value(depth) - cg_below;
    let deepest = value(&WING_DEPTH).into_iter().map(|d| d - bottom).fold(0.0, f64::max);
    let heights = std::iter::once(AFLOAT).chain(IN_FLIGHT.map(|share| share * deepest));
    let start = |height: f64| {
        let one = |p: Probe| match p {
            p if p == depth => cg_below - height,
            p if p == pitch => LIKELY_PITCH,
            p => model.start_value(p),
        };
        balance.unknowns().into_iter().map(one).collect()
    };
    let mut all: Vec<Vec<f64>> = heights.map(start).collect();
    all.dedup();
    all
}
