//! Which limit holds a drive in a reading.

use super::super::drive::{Drive, ThrottleSets};
use super::super::point::*;
use super::super::row::Row;
use super::{BY_CURRENTS, BY_SPEED, bridge_duty, duty_by_currents};
use crate::verdict::limits::BINDING;

/// A limit in a reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// Its name.
    pub name: &'static str,
    /// Used over allowed, less 1: 0 where it binds, −0.2 where 20 % are left.
    pub margin: Reduced,
    /// Whether it binds as far as the reading can tell: within half a per cent, or two standard uncertainties.
    pub binds: bool,
}

/// Duty as it was read, else from speed and volts, else from the currents.
fn duty(row: &Row) -> (&'static [Symbol], fn(&Point) -> f64) {
    match row {
        Row { duty: Some(_), .. } => (&[DUTY], |p| p.duty),
        Row { shaft_speed: Some(_), motor_current: Some(_), bus_voltage: Some(_), .. } => {
            (BY_SPEED, bridge_duty)
        }
        _ => (BY_CURRENTS, duty_by_currents),
    }
}

pub(super) fn limits(row: &Row, drive: &Drive, case: &Case) -> Vec<Limit> {
    let (symbols, used) = duty(row);
    let throttle = row.throttle.filter(|t| (0.0..1.0).contains(t));
    let mut all = vec![
        case.quantity("duty", "1", symbols, |p| used(p) / p.drive.duty_max - 1.0),
        case.quantity("motor current", "1", &[I_M], |p| p.i_m / p.drive.motor_current_max - 1.0),
        case.quantity("battery current", "1", &[I_B], |p| p.i_b / p.drive.battery_current_max - 1.0),
    ];
    // as a controller with part throttle has it: what is used of the whole, less the throttle
    all.extend(throttle.map(|throttle| match drive.throttle_sets {
        ThrottleSets::Duty => {
            case.quantity("throttle", "1", symbols, move |p| used(p) / p.drive.duty_max - throttle)
        }
        ThrottleSets::Current => {
            case.quantity("throttle", "1", &[I_M], move |p| p.i_m / p.drive.motor_current_max - throttle)
        }
    }));
    if drive.voltage_min > 0.0 {
        all.push(case.quantity("under-voltage", "1", &[V], |p| 1.0 - p.v / p.drive.voltage_min));
    }
    // a million rad/s stands for no limit
    if drive.shaft_speed_max < 1e5 {
        all.push(case.quantity("shaft speed", "1", &[OMEGA], |p| p.omega / p.drive.shaft_speed_max - 1.0));
    }
    let mut limits: Vec<Limit> = all
        .into_iter()
        .map(|margin| {
            let near = |(value, u): (f64, f64)| value > -BINDING.max(2.0 * u);
            let binds = margin.value().zip(margin.u()).is_some_and(near);
            Limit { name: margin.name, margin, binds }
        })
        .collect();
    // no number goes last; equals keep their order
    let key = |limit: &Limit| -limit.margin.value().unwrap_or(f64::NEG_INFINITY);
    limits.sort_by(|a, b| key(a).total_cmp(&key(b)));
    limits
}
