//! How the pull at a given speed creeps while the throttle is held: in a tub the water begins to go round.

use engine::fit::{Fitted, Observation, Options, Scatter, Unknown, fit};
use engine::text_table::{figure, paragraph};

/// How the creep is thought to go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// y = y₀ (1 + b t).
    Line,
    /// y = y₀ (1 − d (1 − e^(−t/τ))): a tub that comes to a steady circulation.
    Exponential,
}

/// What was found. Times count from the first reading, which ought to be the opening of the throttle.
#[derive(Debug, Clone, PartialEq)]
pub struct Drift {
    /// The shape that was fitted.
    pub shape: Shape,
    /// T/n² at the first moment [N/(rev/s)²] and its standard uncertainty.
    pub first: (f64, f64),
    /// Change from the first moment to the last reading as a share of the first (negative: it falls), with its
    /// standard uncertainty.
    pub change: (f64, f64),
    /// Time constant \[s\] and its standard uncertainty, of an exponential.
    pub time_constant: Option<(f64, f64)>,
    /// Standard deviation of the readings about the curve, as a share of the first.
    pub scatter: f64,
    /// Time of the last reading \[s\].
    pub lasting: f64,
    /// Readings used.
    pub readings: usize,
    /// What the readings do not tell.
    pub notes: Vec<String>,
    values: Vec<f64>,
}

/// A reading for the drift: time \[s\], pull \[N\], shaft speed [rev/s].
pub type Moment = (f64, f64, f64);

/// Fits the creep of T/n² to readings at one throttle.
///
/// # Errors
/// Fewer readings than the shape needs, numbers that are none, a still shaft, or no best fit.
///
/// # Source
/// Least squares with the scatter found from what is left over. The shapes are assumptions: no measurement of a
/// propeller's pull over time in a tub was found.
pub fn drift(moments: &[Moment], shape: Shape) -> Result<Drift, String> {
    let needed = if shape == Shape::Line { 3 } else { 5 };
    if moments.len() < needed {
        return Err(format!("{} readings, expected at least {needed}", moments.len()));
    }
    let sound = |(t, pull, n): &Moment| t.is_finite() && pull.is_finite() && n.is_finite() && *n > 0.0;
    if let Some((t, pull, n)) = moments.iter().find(|m| !sound(m)) {
        return Err(format!(
            "time {t} s, pull {pull} N, speed {n} rev/s: expected numbers, and a shaft that turns"
        ));
    }
    let begin = moments.iter().map(|m| m.0).fold(f64::INFINITY, f64::min);
    let lasting = moments.iter().map(|m| m.0).fold(f64::NEG_INFINITY, f64::max) - begin;
    let mean = moments.iter().map(|(_, pull, n)| pull / (n * n)).sum::<f64>() / moments.len() as f64;
    if !(lasting > 0.0 && mean > 0.0) {
        return Err(format!("{lasting} s of readings with a mean T/n² of {mean}: expected both above zero"));
    }
    let times: Vec<f64> = moments.iter().map(|m| m.0 - begin).collect();
    // as shares of their mean, so that all parameters are of the size of 1; the scatter is found, so any sd will do
    let observations: Vec<Observation> = moments
        .iter()
        .zip(&times)
        .map(|((_, pull, n), t)| Observation {
            label: format!("{t} s"),
            value: pull / (n * n) / mean,
            sd: 0.01,
        })
        .collect();
    let unknowns = unknowns(shape, lasting);
    let mut predict = |x: &[f64]| Ok(times.iter().map(|&t| at(shape, x, t)).collect());
    let options = Options { scatter: Scatter::Estimated, ..Options::default() };
    let found = fit(&unknowns, &observations, &mut predict, &options).map_err(|why| why.to_string())?;
    told(shape, &found, (mean, lasting, moments.len()))
}

fn unknowns(shape: Shape, lasting: f64) -> Vec<Unknown> {
    let first = Unknown { scale: 1.0, ..Unknown::new("first", 1.0) };
    match shape {
        Shape::Line => vec![first, Unknown { scale: 0.1 / lasting, ..Unknown::new("rate", 0.0) }],
        Shape::Exponential => vec![
            first,
            Unknown { scale: 0.1, ..Unknown::new("fall", 0.05) },
            // beyond these it is a step or a line, which readings do not tell from an exponential
            Unknown::new("time constant", lasting / 3.0).between(lasting / 50.0, 5.0 * lasting),
        ],
    }
}

fn at(shape: Shape, x: &[f64], t: f64) -> f64 {
    match (shape, x) {
        (Shape::Line, [first, rate]) => first * (1.0 + rate * t),
        (Shape::Exponential, [first, fall, tau]) => first * (1.0 + fall * f64::exp_m1(-t / tau)),
        _ => f64::NAN,
    }
}

fn told(shape: Shape, found: &Fitted, (mean, lasting, readings): (f64, f64, usize)) -> Result<Drift, String> {
    let value = |i: usize| found.values.get(i).copied().unwrap_or(f64::NAN);
    let error = |i: usize| found.errors.get(i).copied().unwrap_or(f64::NAN);
    let change = |x: &[f64]| at(shape, x, lasting) / at(shape, x, 0.0) - 1.0;
    // how the change moves with each parameter, by differences of a tenth of its error
    let n = found.values.len();
    let slope = |i: usize| {
        let step = 0.1 * error(i);
        let moved = |by: f64| {
            let mut x = found.values.clone();
            if let Some(x) = x.get_mut(i) {
                *x += by;
            }
            change(&x)
        };
        (moved(step) - moved(-step)) / 0.2
    };
    let parts: Vec<f64> = (0..n).map(slope).collect();
    let r = |i: usize, j: usize| {
        found.correlations.get(i).and_then(|row| row.get(j)).copied().unwrap_or(f64::NAN)
    };
    let variance: f64 =
        (0..n).flat_map(|i| (0..n).map(move |j| (i, j))).map(|(i, j)| parts[i] * r(i, j) * parts[j]).sum();
    let mut notes: Vec<String> = Vec::new();
    if !found.at_bound.is_empty() {
        notes.push("the time constant is at its bound: take a line, or longer readings".into());
    }
    if !found.unidentified.is_empty() {
        notes.push("the readings do not tell all parameters of this shape: take a line".into());
    }
    let drift = Drift {
        shape,
        first: (mean * value(0), mean * error(0)),
        // round-off may leave a hair below nil; no number stays none
        change: (change(&found.values), if variance < 0.0 { 0.0 } else { variance.sqrt() }),
        time_constant: (shape == Shape::Exponential).then(|| (value(2), error(2))),
        scatter: 0.01 * found.scatter,
        lasting,
        readings,
        notes,
        values: found.values.clone(),
    };
    let numbers = [drift.first.0, drift.first.1, drift.change.0, drift.change.1];
    match numbers.iter().all(|x| x.is_finite()) {
        true => Ok(drift),
        false => Err("these readings do not tell this shape: take a line, or longer readings".into()),
    }
}

impl Drift {
    /// A pull \[N\] that was read `time` \[s\] after the first reading, as it would have been at the first moment, and
    /// the standard uncertainty that this adds. **To be asked for; nothing applies it by itself.**
    pub fn corrected(&self, pull: f64, time: f64) -> (f64, f64) {
        let share = at(self.shape, &self.values, time.max(0.0)) / at(self.shape, &self.values, 0.0);
        // the change is known as well as at the end, in proportion to its size
        let part = if self.change.0 != 0.0 { ((share - 1.0) / self.change.0).abs().min(1.0) } else { 1.0 };
        (pull / share, pull / share * self.change.1 * part)
    }

    /// In words.
    pub fn text(&self) -> String {
        let (change, u) = (100.0 * self.change.0, 100.0 * self.change.1);
        let counts = match change.abs() > 2.0 * u {
            true => "more than twice its uncertainty, so it is there",
            false => "within twice its uncertainty, so it may be none",
        };
        let tau = match self.time_constant {
            Some((tau, u)) => format!(", time constant {} s (u {})", figure(tau), figure(u)),
            None => String::new(),
        };
        let shape = if self.shape == Shape::Line { "a line" } else { "an exponential" };
        let mut out = paragraph(&format!(
            "Drift of T/n² by {shape} through {} readings over {} s: {change:+.1} % (u {u:.1} %), {counts}{tau}. At the first \
             moment T/n² = {} N/(rev/s)² (u {}). Readings scatter about the curve by {:.1} %. Readings are left as they \
             are: to carry a pull back to the first moment is a choice, and has to be told with it.",
            self.readings,
            figure(self.lasting),
            figure(self.first.0),
            figure(self.first.1),
            100.0 * self.scatter
        ));
        for note in &self.notes {
            out.push_str(&paragraph(&format!("Note: {note}.")));
        }
        out
    }
}

#[cfg(test)]
mod tests;
