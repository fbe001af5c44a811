//! Why a drive does what it does: in words, from the numbers.

use super::held::Held;
use super::reading::Reading;
use super::text::percent;

/// What holds a drive, and what follows from that.
pub fn alone(r: &Reading) -> String {
    let mut told = vec![format!("At {} throttle {}.", percent(r.throttle), holds(r))];
    told.extend(converted(r));
    match &Held::besides(r)[..] {
        [] => told.extend(what_would_help(r).map(String::from)),
        others => {
            let names: Vec<&str> = others.iter().map(|held| held.code()).collect();
            told.push(format!("At its end too, within half a per cent: {}.", names.join(", ")));
        }
    }
    told.join(" ")
}

/// A clause: what holds it.
pub fn holds(r: &Reading) -> String {
    let motor =
        format!("the motor takes {:.1} A of the {:.1} A allowed", r.motor_current, r.motor_current_max);
    match (r.held, r.by_throttle()) {
        (Held::MotorCurrent, false) => format!(
            "the motor-current limit holds the drive, {:.1} A, and with it the torque; it needs a duty of {:.2} \
             where {:.2} is allowed",
            r.motor_current, r.duty, r.duty_max
        ),
        (Held::MotorCurrent, true) => format!(
            "the throttle holds the motor current at {:.1} A of {:.1} A, and with it the torque; that needs a duty \
             of {:.2}",
            r.motor_current, r.motor_current_open, r.duty
        ),
        (Held::Duty, false) => {
            format!("the duty holds the drive, {:.2}: there is no more voltage to be had; {motor}", r.duty)
        }
        (Held::Duty, true) => {
            format!("the throttle holds the duty at {:.2} of {:.2}; {motor}", r.duty, r.duty_open)
        }
        (Held::BatteryCurrent, _) => format!(
            "the battery-current limit holds the drive, {:.1} A, and with it the power; {motor}, at a duty of {:.2}",
            r.battery_current, r.duty
        ),
        (Held::UnderVoltage, _) if empty(r) => format!(
            "the pack has {:.1} V at no current, where the controller takes {:.1} V at the lowest: it is empty, or has too few \
             cells in series for this controller",
            r.emf, r.voltage_min
        ),
        (Held::UnderVoltage, _) => format!(
            "the lowest voltage holds the drive: the bus has sagged from {:.1} V at no current to {:.1} V; {motor}, \
             at a duty of {:.2}",
            r.emf, r.bus_voltage, r.duty
        ),
        (Held::ShaftSpeed, _) => {
            format!("the limit on the shaft speed holds the drive, {:.0} rpm; {motor}", r.rpm())
        }
        (Held::BatteryPower, _) => format!(
            "the pack itself holds the drive: the bus has sagged to half of the {:.1} V it has at no current, beyond \
             which more current brings less power; {motor}",
            r.emf
        ),
        (Held::Closed, _) => "the drive is closed: no current is allowed".into(),
        (Held::Nothing, _) => format!("no limit of the drive is reached; {motor}"),
    }
}

/// Whether the pack is below the controller's lowest voltage before any current flows.
fn empty(r: &Reading) -> bool {
    r.emf <= r.voltage_min
}

/// Why battery amps are not motor amps.
fn converted(r: &Reading) -> Option<String> {
    if r.motor_current <= 0.0 || r.battery_current <= 0.0 {
        return None;
    }
    let ratio = r.battery_current / r.motor_current;
    let (bus, battery) = (r.bus_voltage, r.battery_current);
    let power = format!("{bus:.1} V × {battery:.1} A = {:.0} W go in", bus * battery);
    let amps = format!("{battery:.1} A from the battery, {:.1} A in the motor", r.motor_current);
    Some(if ratio < 0.95 {
        format!(
            "{amps}: the controller keeps the power and trades voltage for current; {power}, and the motor sees \
             {:.0} % of that voltage, so the battery's amperes are {:.0} % of the motor's.",
            100.0 * r.duty,
            100.0 * ratio
        )
    } else if ratio <= 1.05 {
        format!("{amps}: at a duty of {:.2} the two are nearly the same; {power}.", r.duty)
    } else {
        format!("{amps}: so small a load that the controller's own consumption tells; {power}.")
    })
}

fn what_would_help(r: &Reading) -> Option<&'static str> {
    Some(match (r.held, r.by_throttle()) {
        (Held::MotorCurrent | Held::Duty, true) => "More throttle gives more.",
        (Held::MotorCurrent, false) => {
            "More voltage would change nothing; more motor current gives more torque, and heats the motor with its \
             square."
        }
        (Held::Duty, false) => {
            "A higher current limit would change nothing; more voltage, more speed per volt or a propeller that takes \
             more torque would."
        }
        (Held::BatteryCurrent, _) => {
            "A higher motor-current limit would change nothing; more battery current, or the same at more voltage, \
             would."
        }
        (Held::UnderVoltage, _) if empty(r) => "Charge it, or look at the controller's `voltage_min`.",
        (Held::UnderVoltage | Held::BatteryPower, _) => {
            "A higher current limit would change nothing; a pack that sags less would."
        }
        (Held::ShaftSpeed, _) => {
            "More current or voltage would change nothing; a propeller that takes more torque would."
        }
        (Held::Closed | Held::Nothing, _) => return None,
    })
}
