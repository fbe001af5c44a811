//! Is A better than B? Pairs of readings at equal steps, their difference with its confidence, and how many pairs
//! would settle it.

mod text;

use engine::statistics::uncertainty::{Paired, UncertaintyError, paired, repeats_for_power};

use super::row::{Row, Unsure};

/// Chance with which the number of repeats would find a true difference.
pub const POWER: f64 = 0.8;
/// Steps are equal if they differ by no more than this: throttle absolute, current as a share.
const EQUAL: f64 = 0.01;

/// What is compared.
#[derive(Debug, Clone, Copy)]
pub struct Compared {
    /// Its name, for words: `pull`.
    pub name: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// Its value in a row.
    pub value: fn(&Row) -> Option<f64>,
    /// What is told of a single reading of it, as a share; nil where nothing is. Arms and slopes are left out: the readings share
    /// them, and what is shared drops out of a difference.
    pub told: fn(&Row, &Unsure) -> f64,
    /// Whether more is better; `None` where neither is.
    pub more_is_better: Option<bool>,
}

fn share(value: Option<f64>, u: Option<f64>) -> f64 {
    match (value, u) {
        (Some(value), Some(u)) if value != 0.0 => u / value.abs(),
        _ => 0.0,
    }
}

fn pull_told(row: &Row, unsure: &Unsure) -> f64 {
    match row.scale_reading {
        Some(_) => share(row.scale_reading, unsure.scale_reading),
        None => share(row.thrust, unsure.thrust),
    }
}

fn current_told(row: &Row, unsure: &Unsure) -> f64 {
    share(row.battery_current, unsure.battery_current)
}

/// Pull of the drive.
pub const PULL: Compared =
    Compared { name: "pull", unit: "N", value: |r| r.thrust, told: pull_told, more_is_better: Some(true) };
/// Pull per watt from the battery.
pub const PULL_PER_WATT: Compared = Compared {
    name: "pull per battery power",
    unit: "N/W",
    value: |r| Some(r.thrust? / (r.bus_voltage? * r.battery_current?)),
    told: |r, u| pull_told(r, u).hypot(current_told(r, u)).hypot(share(r.bus_voltage, u.bus_voltage)),
    more_is_better: Some(true),
};
/// Battery current.
pub const BATTERY_CURRENT: Compared = Compared {
    name: "battery current",
    unit: "A",
    value: |r| r.battery_current,
    told: current_told,
    more_is_better: None,
};

/// What makes two readings belong to the same step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// Equal throttle.
    Throttle,
    /// Equal motor current.
    MotorCurrent,
}

/// What may creep between the readings of a pair.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Covariate {
    /// Time of reading.
    Time,
    /// State of charge.
    Charge,
    /// Temperature of the winding.
    Temperature,
}

impl Covariate {
    fn of(self, row: &Row) -> Option<f64> {
        match self {
            Covariate::Time => row.time,
            Covariate::Charge => row.state_of_charge,
            Covariate::Temperature => row.winding_temperature,
        }
    }

    fn word(self) -> &'static str {
        match self {
            Covariate::Time => "time",
            Covariate::Charge => "state of charge",
            Covariate::Temperature => "winding temperature",
        }
    }
}

/// A reading of A beside one of B.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// Throttle or motor current of A.
    pub step: f64,
    /// What was read of A and of B.
    pub values: (f64, f64),
    /// Lines in the file.
    pub lines: (usize, usize),
    /// A's covariate less B's, if both were read.
    pub apart: Option<f64>,
}

/// A against B.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Names of A and B.
    pub names: (String, String),
    /// Name and unit of what was compared.
    pub of: (&'static str, &'static str),
    /// What each step was paired by.
    pub by: Step,
    /// Whether more is better.
    pub more_is_better: Option<bool>,
    /// In the order of steps, then of the file.
    pub pairs: Vec<Pair>,
    /// Readings of A and of B that found no partner.
    pub unpaired: (usize, usize),
    /// (A − B)/mean of both, over all pairs, as a share; as it stands.
    pub plain: Result<Paired, UncertaintyError>,
    /// The same with the covariate's drift taken out, if one was asked for.
    pub corrected: Option<(Covariate, Result<Paired, String>)>,
    /// Pairs that would find a difference as large as the one found.
    pub to_settle: Option<Result<u64, UncertaintyError>>,
    /// A difference worth having, as a share, and the pairs that would find it.
    pub worth: (f64, Option<Result<u64, UncertaintyError>>),
    /// Confidence of the interval.
    pub confidence: f64,
    /// Whether all readings of one were taken before all of the other, as far as is known.
    pub in_blocks: bool,
    /// Whether the covariate is as far apart in every pair, so that its drift and the difference are one.
    pub without_contrast: bool,
}

impl Comparison {
    /// The same where a single difference, as a share of the mean, is known to scatter by `sd` at least: see
    /// [`Paired::at_least`].
    pub fn at_least(mut self, sd: f64) -> Comparison {
        let (pairs, confidence) = (self.pairs.len(), self.confidence);
        let widened = |p: Paired| p.at_least(sd, pairs, confidence);
        self.plain = self.plain.and_then(widened);
        self.corrected = self.corrected.map(|(covariate, found)| {
            (covariate, found.and_then(|p| widened(p).map_err(|why| why.to_string())))
        });
        self.count_repeats();
        self
    }

    fn count_repeats(&mut self) {
        let needed = self.result().ok().map(|p| {
            let needed = |difference: f64| repeats_for_power(difference, p.scatter, self.confidence, POWER);
            (needed(p.difference), needed(self.worth.0))
        });
        (self.to_settle, self.worth.1) = needed.unzip();
    }

    /// Whether the difference is one with what drifted meanwhile, which was to be taken out.
    pub fn confounded(&self) -> bool {
        matches!(self.corrected, Some((_, Err(_)))) && (self.in_blocks || self.without_contrast)
    }

    /// Whether it is settled which of both has more.
    pub fn settled(&self) -> bool {
        !self.confounded() && self.result().is_ok_and(Paired::settled)
    }

    /// What is taken for the result: without the drift where it could be taken out.
    pub fn result(&self) -> Result<&Paired, &UncertaintyError> {
        match &self.corrected {
            Some((_, Ok(found))) => Ok(found),
            _ => self.plain.as_ref(),
        }
    }
}

/// Compares the rows of two groups.
///
/// The k-th reading of A at a step goes with the k-th of B at it, in the order given. Differences are taken as shares
/// of the pair's mean, for a step at 20 % throttle is not to drown beside one at 100 %; **a difference that is not the
/// same share at every step shows up as scatter**. `worth` is the smallest share worth having.
pub fn compare(
    names: (&str, &str),
    (a, b): (&[Row], &[Row]),
    what: &Compared,
    by: Step,
    covariate: Option<Covariate>,
    worth: f64,
    confidence: f64,
) -> Comparison {
    let (pairs, unpaired) = pairs(a, b, what, by, covariate);
    let shares = |pair: &Pair| {
        let (a, b) = pair.values;
        let mean = 0.5 * (a + b);
        (a / mean, b / mean)
    };
    let (of_a, of_b): (Vec<f64>, Vec<f64>) = pairs.iter().map(shares).unzip();
    let plain = paired(&of_a, &of_b, None, confidence);
    let mut without_contrast = false;
    let corrected = covariate.map(|covariate| {
        let apart: Option<Vec<f64>> = pairs.iter().map(|pair| pair.apart).collect();
        let found = match apart {
            None => Err(format!("{} was not read in every row", covariate.word())),
            Some(x) => paired(&of_a, &of_b, Some(&x), confidence).map_err(|why| {
                without_contrast = matches!(why, UncertaintyError::NoContrast { .. });
                why.to_string()
            }),
        };
        (covariate, found)
    });
    let mut found = Comparison {
        names: (names.0.into(), names.1.into()),
        of: (what.name, what.unit),
        by,
        more_is_better: what.more_is_better,
        pairs,
        unpaired,
        plain,
        corrected,
        to_settle: None,
        worth: (worth, None),
        confidence,
        in_blocks: false,
        without_contrast,
    };
    found.count_repeats();
    found
}

type Found = (Vec<Pair>, (usize, usize));

fn pairs(a: &[Row], b: &[Row], what: &Compared, by: Step, covariate: Option<Covariate>) -> Found {
    let step = |row: &Row| match by {
        Step::Throttle => row.throttle,
        Step::MotorCurrent => row.motor_current,
    };
    let equal = |x: f64, y: f64| match by {
        Step::Throttle => (x - y).abs() <= EQUAL,
        Step::MotorCurrent => (x - y).abs() <= EQUAL * x.abs().max(y.abs()),
    };
    // what is not above zero has no share
    let usable = |row: &&Row| (what.value)(row).is_some_and(|x| x > 0.0 && x.is_finite());
    let of_a: Vec<&Row> = a.iter().filter(usable).collect();
    let mut of_b: Vec<&Row> = b.iter().filter(usable).collect();
    let mut pairs = Vec::new();
    for row in &of_a {
        let Some(at) = step(row) else { continue };
        let Some(place) = of_b.iter().position(|other| step(other).is_some_and(|x| equal(at, x))) else {
            continue;
        };
        let other = of_b.remove(place);
        let apart = covariate.and_then(|c| Some(c.of(row)? - c.of(other)?));
        if let Some(values) = (what.value)(row).zip((what.value)(other)) {
            pairs.push(Pair { step: at, values, lines: (row.line, other.line), apart });
        }
    }
    let left = (a.len() - pairs.len(), b.len() - pairs.len());
    // a stable order: pairs of one step stay as they were read
    pairs.sort_by(|x, y| x.step.total_cmp(&y.step));
    (pairs, left)
}

#[cfg(test)]
mod tests;
