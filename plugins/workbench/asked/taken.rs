//! Readings of a set as rows, with the drive they were taken from as it was known beforehand: a reduction must not lean on
//! what a fit made of the same readings.

use engine::analysis::Craft;
use engine::calibration::{CLOCK, Calibrated, Channel, Role, Set, Sought, Spot};
use engine::diagnostic::Diagnostics;
use engine::fit::Prior;
use engine::text_table::figure;
use engine::units::number;

use super::super::thrust::{Balance, BalanceUnsure};
use super::super::{Cause, Drive, DriveUnsure, Row, Shift, Unsure};
use crate::lever::SCALE_READING;
use crate::nomenclature::*;

/// Names of readings in the model, and their names in a row.
const NAMES: &[(&str, &str)] = &[
    (THROTTLE.name, "throttle"),
    (BUS_VOLTAGE.name, "bus_voltage"),
    (BATTERY_CURRENT.name, "battery_current"),
    (MOTOR_CURRENT.name, "motor_current"),
    (SHAFT_SPEED.name, "shaft_speed"),
    (DUTY.name, "duty"),
    (SCALE_READING.name, "scale_reading"),
    (THRUST.name, "thrust"),
    (WINDING_TEMPERATURE.name, "winding_temperature"),
    (STATE_OF_CHARGE.name, "state_of_charge"),
];

/// Rows of one set.
pub struct Taken {
    /// Its name.
    pub name: String,
    /// The craft as it was known before: as described, with what is sought at its mean beforehand.
    pub craft: Craft,
    /// Constants of its drive.
    pub drive: Drive,
    /// Their standard uncertainties.
    pub drive_unsure: DriveUnsure,
    /// The lever, if there is one.
    pub balance: Option<(Balance, BalanceUnsure)>,
    /// Readings; the pull is worked out from the scale where it was not read.
    pub rows: Vec<(Row, Unsure)>,
    /// For each of them, what else than the throttle was put.
    besides: Vec<Vec<Put>>,
}

/// What was known of a parameter: its mean, or where its logarithm is what is known the median, and a standard deviation, to
/// first order about it.
struct Spread<'a> {
    parameter: &'a str,
    at: f64,
    sd: f64,
}

/// Readings of a set without those that the script left out.
///
/// # Errors
/// There is not one drive in the set's craft.
pub fn taken(found: &Calibrated, set: &Set) -> Result<Taken, Diagnostics> {
    all_taken(found, set, false)
}

/// As [`taken`], with those that were left out if `all` are wanted. What is sought is taken at what was known of it
/// beforehand, as its uncertainty is, whatever the setup has in its place.
///
/// # Errors
/// As there.
pub fn all_taken(found: &Calibrated, set: &Set, all: bool) -> Result<Taken, Diagnostics> {
    set.at_rest()?;
    let kinds = found.problem.kinds;
    let starts: Vec<f64> = found.problem.unknowns().iter().map(|u| u.start).collect();
    let own = found.problem.values(set, &starts);
    let known: Vec<Spread> = found
        .problem
        .sought
        .iter()
        .filter_map(|s| spread(s, set))
        .filter(|s| own.iter().any(|(parameter, _)| *parameter == s.parameter))
        .collect();
    let craft = set.craft.changed(known.iter().map(|s| (s.parameter, s.at)), kinds)?;
    let drive = Drive::of(&craft)?;
    let mut drive_unsure = DriveUnsure::default();
    let mut balance = Balance::of(&craft).map(|balance| (balance, BalanceUnsure::default()));
    for spread in known {
        let moved = |by: f64| craft.changed([(spread.parameter, spread.at + by)], kinds);
        let h = 0.1 * spread.sd;
        let (Ok(up), Ok(down)) = (moved(h), moved(-h)) else { continue };
        // the change over one standard uncertainty, by the slope over a fifth of it
        let by = |up: f64, down: f64| spread.sd * (up - down) / (2.0 * h);
        if let (Ok(up), Ok(down)) = (Drive::of(&up), Drive::of(&down)) {
            let shift = Shift::between(&up, &down, by);
            drive_unsure.causes.push(Cause { name: spread.parameter.into(), shift });
        }
        if let (Some((_, unsure)), Some(up), Some(down)) =
            (&mut balance, Balance::of(&up), Balance::of(&down))
        {
            add(unsure, &up, &down, by);
        }
    }
    let rows = set.rows.iter().map(|&row| one(set, row, balance.as_ref(), all)).collect();
    let besides = besides(set);
    Ok(Taken { name: set.name.clone(), craft, drive, drive_unsure, balance, rows, besides })
}

/// For each row, what else than the throttle was put.
fn besides(set: &Set) -> Vec<Vec<Put>> {
    let inputs = set.craft.model.inputs();
    let put = |channel: &&Channel| channel.role == Role::Put && channel.kind != THROTTLE.name;
    let mut rows: Vec<Vec<Put>> = vec![Vec::new(); set.rows.len()];
    for channel in set.channels.iter().filter(put) {
        let values: Vec<Option<f64>> = set.rows.iter().map(|&row| set.read_at(row, channel)).collect();
        let varied = values.iter().any(|value| Some(*value) != values.first().copied());
        // a state that was read (a charge, a temperature) creeps from row to row and makes no step of its own
        let sets_step =
            varied && set.craft.model.find(&channel.quantity).is_some_and(|p| inputs.contains(&p));
        let unit = set.readings.columns[channel.column].unit;
        for (row, value) in rows.iter_mut().zip(values) {
            let Some(value) = value else { continue };
            let words = format!("{} {}", figure(unit.of(value / channel.factor)), unit.name);
            let name = channel.kind.replace('_', " ");
            let label = sets_step.then(|| format!("{name} {}", words.trim_end()));
            row.push(Put { quantity: channel.quantity.clone(), value, label });
        }
    }
    rows
}

/// Something else than the throttle that was put.
#[derive(Debug, Clone, PartialEq)]
pub struct Put {
    /// Its full name in the model.
    pub quantity: String,
    /// SI.
    pub value: f64,
    /// In words, if it is one of what tells steps apart.
    label: Option<String>,
}

/// What was known of a parameter that is this set's business.
fn spread<'a>(sought: &'a Sought, set: &Set) -> Option<Spread<'a>> {
    if !sought.concerns(Some(&set.name)) || sought.parameter == CLOCK {
        return None;
    }
    let u = &sought.unknown;
    let (at, sd) = match u.prior {
        Some(Prior { mean, sd, log: true }) => (mean, mean * sd),
        Some(Prior { mean, sd, .. }) => (mean, sd),
        // anywhere between two bounds, of the logarithm if the search begins at their geometric mean
        None => {
            let log = u.low > 0.0 && (u.start / (u.low * u.high).sqrt()).ln().abs() < 1e-9;
            let width = if log { u.start * (u.high / u.low).ln() } else { u.high - u.low };
            (u.start, width / 12f64.sqrt())
        }
    };
    sd.is_finite().then_some(Spread { parameter: &sought.parameter, at, sd })
}

fn add(unsure: &mut BalanceUnsure, up: &Balance, down: &Balance, by: impl Fn(f64, f64) -> f64) {
    let grow = |u: &mut f64, a: f64, b: f64| *u = u.hypot(by(a, b));
    grow(&mut unsure.scale_arm, up.lever.scale_arm, down.lever.scale_arm);
    grow(&mut unsure.propeller_arm, up.lever.propeller_arm, down.lever.propeller_arm);
    grow(&mut unsure.misalignment, up.lever.misalignment, down.lever.misalignment);
    grow(&mut unsure.slope, up.scale.slope, down.scale.slope);
    grow(&mut unsure.offset, up.scale.offset, down.scale.offset);
    grow(&mut unsure.moment, up.moment, down.moment);
}

fn one(set: &Set, row: usize, balance: Option<&(Balance, BalanceUnsure)>, all: bool) -> (Row, Unsure) {
    let line = set.readings.rows.get(row).map_or(0, |r| r.line);
    let (mut out, mut unsure) = (Row { line, ..Row::default() }, Unsure::default());
    out.time = Some(set.time(row)).filter(|t| t.is_finite());
    for (place, channel) in set.channels.iter().enumerate() {
        let Some((_, name)) = NAMES.iter().find(|(kind, _)| *kind == channel.kind) else { continue };
        let spot = Spot { row, channel: place };
        let value = set.read_at(row, channel).filter(|_| all || !set.leaves_out(spot));
        if let Some(field) = out.place(name) {
            *field = value;
        }
        if let (Some(field), Role::Seen, Some(_)) = (unsure.place(name), channel.role, value) {
            *field = Some(set.observation(spot).sd);
        }
    }
    if let (None, Some(shown), Some((balance, told))) = (out.thrust, out.scale_reading, balance) {
        let told = BalanceUnsure { reading: unsure.scale_reading.unwrap_or(0.0), ..*told };
        if let Ok(pull) = balance.thrust(&[shown], &told) {
            (out.thrust, unsure.thrust) = (Some(pull.value), Some(pull.u));
        }
    }
    (out, unsure)
}

/// Rows taken with the same inputs.
pub struct Step {
    /// What was put, in words.
    pub label: String,
    /// 0 to 1.
    pub throttle: Option<f64>,
    /// Its repeats.
    pub rows: Vec<(Row, Unsure)>,
    /// For each of them, what else was put.
    puts: Vec<Vec<Put>>,
}

impl Step {
    /// What else than the throttle was put, each the mean over the repeats, SI.
    pub fn put(&self) -> Vec<(&str, f64)> {
        let first = self.puts.first().map_or(&[][..], Vec::as_slice);
        let mean = |quantity: &str| {
            let all = self.puts.iter().flatten().filter(|put| put.quantity == quantity).map(|put| put.value);
            let all: Vec<f64> = all.collect();
            all.iter().sum::<f64>() / all.len().max(1) as f64
        };
        first.iter().map(|put| (put.quantity.as_str(), mean(&put.quantity))).collect()
    }
}

impl Taken {
    /// Steps by throttle, rising, then as they were taken; a row without a throttle is one by itself.
    pub fn steps(&self) -> Vec<Step> {
        let mut steps: Vec<Step> = Vec::new();
        for ((row, unsure), put) in self.rows.iter().zip(&self.besides) {
            let label = label(row, put);
            let same = |step: &&mut Step| {
                let apart = step.throttle.zip(row.throttle).map(|(a, b)| (a - b).abs());
                apart.is_some_and(|apart| apart < 1e-6) && step.label == label
            };
            match steps.iter_mut().find(same) {
                Some(step) => {
                    step.rows.push((*row, *unsure));
                    step.puts.push(put.clone());
                }
                None => steps.push(Step {
                    label,
                    throttle: row.throttle,
                    rows: vec![(*row, *unsure)],
                    puts: vec![put.clone()],
                }),
            }
        }
        let throttle = |step: &Step| step.throttle.unwrap_or(f64::INFINITY);
        steps.sort_by(|a, b| throttle(a).total_cmp(&throttle(b)));
        steps
    }
}

fn label(row: &Row, put: &[Put]) -> String {
    let Some(throttle) = row.throttle else { return format!("line {}", row.line) };
    let tidy = (1e4 * throttle).round() / 100.0;
    let other = put.iter().filter_map(|put| put.label.clone());
    std::iter::once(format!("{} %", number(tidy))).chain(other).collect::<Vec<_>>().join(", ")
}
