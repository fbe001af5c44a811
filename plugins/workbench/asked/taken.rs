//! Readings of a set as rows, with the drive they were taken from as it was known beforehand: a reduction must not lean on
//! what a fit made of the same readings.

use engine::analysis::Craft;
use engine::calibration::{CLOCK, Calibrated, Channel, Role, Set, Sought, Spot};
use engine::diagnostic::Diagnostics;
use engine::fit::Prior;
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
    /// For each of them, what else than the throttle was put differently from row to row, SI.
    besides: Vec<Vec<(String, f64)>>,
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

/// For each row, what else than the throttle was put and is not the same in all of them.
fn besides(set: &Set) -> Vec<Vec<(String, f64)>> {
    let put = |channel: &&Channel| channel.role == Role::Put && channel.kind != THROTTLE.name;
    let values = |channel: &Channel| -> Vec<Option<f64>> {
        set.rows.iter().map(|&row| set.read_at(row, channel)).collect()
    };
    let varied: Vec<(&Channel, Vec<Option<f64>>)> = set
        .channels
        .iter()
        .filter(put)
        .map(|channel| (channel, values(channel)))
        .filter(|(_, values)| values.iter().any(|value| *value != values[0]))
        .collect();
    let of = |row: usize| {
        varied.iter().filter_map(move |(channel, values)| Some((channel.quantity.clone(), values[row]?)))
    };
    (0..set.rows.len()).map(|row| of(row).collect()).collect()
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
        let value = set.read_at(row, channel).filter(|_| all || !set.is_left_out(spot));
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

/// Rows taken with the same values put.
pub struct Step {
    /// What was put, in words.
    pub label: String,
    /// 0 to 1.
    pub throttle: Option<f64>,
    /// What else was put differently from step to step, SI.
    pub besides: Vec<(String, f64)>,
    /// Its repeats.
    pub rows: Vec<(Row, Unsure)>,
}

impl Taken {
    /// Steps by throttle, rising, then as they were taken; a row without a throttle is one by itself.
    pub fn steps(&self) -> Vec<Step> {
        let mut steps: Vec<Step> = Vec::new();
        for ((row, unsure), besides) in self.rows.iter().zip(&self.besides) {
            let same = |step: &&mut Step| {
                let apart = step.throttle.zip(row.throttle).map(|(a, b)| (a - b).abs());
                apart.is_some_and(|apart| apart < 1e-6) && step.besides == *besides
            };
            match steps.iter_mut().find(same) {
                Some(step) => step.rows.push((*row, *unsure)),
                None => steps.push(Step {
                    label: self.label(row, besides),
                    throttle: row.throttle,
                    besides: besides.clone(),
                    rows: vec![(*row, *unsure)],
                }),
            }
        }
        let throttle = |step: &Step| step.throttle.unwrap_or(f64::INFINITY);
        steps.sort_by(|a, b| throttle(a).total_cmp(&throttle(b)));
        steps
    }

    fn label(&self, row: &Row, besides: &[(String, f64)]) -> String {
        let Some(throttle) = row.throttle else { return format!("line {}", row.line) };
        let model = &self.craft.model;
        let other = besides.iter().map(|(quantity, value)| {
            let unit = model.find(quantity).map_or("", |probe| model.unit(probe));
            let kind = quantity.split_once('.').map_or(quantity.as_str(), |(_, kind)| kind);
            format!(", {} {} {unit}", kind.replace('_', " "), number(*value))
        });
        let tidy = (1e4 * throttle).round() / 100.0;
        [format!("{} %", number(tidy))].into_iter().chain(other).collect::<String>().trim_end().into()
    }
}
