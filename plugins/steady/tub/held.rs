//! Which of a drive's quantities is at the end of what it is allowed: told from the numbers, not from
//! the names of limits.

use super::reading::Reading;
use crate::verdict::limits::BINDING;

/// A limit on the shaft speed fades over 2.5 % either side where the shaft has inertia.
const FADE: f64 = 0.026;

/// What holds a drive.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Held {
    /// The voltage: the duty is the highest allowed.
    Duty,
    /// The torque: the motor current is the highest allowed.
    MotorCurrent,
    /// The power: the battery current is the highest allowed.
    BatteryCurrent,
    /// The power: the bus has sagged to the lowest voltage allowed.
    UnderVoltage,
    /// The speed is the highest allowed.
    ShaftSpeed,
    /// The power: the bus has sagged to half of what the cells give at no current, beyond which more
    /// current brings less power.
    BatteryPower,
    /// The throttle is closed, or nothing at all is allowed.
    Closed,
    /// None of these.
    Nothing,
}

impl Held {
    /// What holds the drive of a reading.
    pub fn of(r: &Reading) -> Held {
        if r.duty_max <= 0.0 || r.motor_current_max <= 0.0 || r.battery_current_max <= 0.0 {
            return Held::Closed;
        }
        let gaps = Held::gaps(r);
        // the first of equals, so that the order decides and not a machine's last digit
        let foremost = gaps.into_iter().fold((Held::Nothing, f64::NEG_INFINITY), |best, next| {
            if next.1 > best.1 + 1e-9 { next } else { best }
        });
        match foremost {
            (held, gap) if gap > -BINDING => held,
            (Held::ShaftSpeed, gap) if gap > -FADE => Held::ShaftSpeed,
            _ => Held::Nothing,
        }
    }

    /// What else binds, or all but does.
    pub fn besides(r: &Reading) -> Vec<Held> {
        let near = Held::gaps(r).into_iter().filter(|(held, gap)| *held != r.held && *gap > -BINDING);
        near.map(|(held, _)| held).collect()
    }

    /// How far each quantity is from the end of what it is allowed, relative: 0 there, negative before.
    fn gaps(r: &Reading) -> [(Held, f64); 6] {
        [
            (Held::Duty, r.duty / r.duty_max - 1.0),
            (Held::MotorCurrent, r.motor_current / r.motor_current_max - 1.0),
            (Held::BatteryCurrent, r.battery_current / r.battery_current_max - 1.0),
            (Held::UnderVoltage, gap_of_voltage(r.voltage_min, r.bus_voltage)),
            (Held::ShaftSpeed, r.omega / r.shaft_speed_max - 1.0),
            (Held::BatteryPower, gap_of_voltage(0.5 * r.emf, r.bus_voltage)),
        ]
    }

    /// A word for a table or a machine.
    pub fn code(self) -> &'static str {
        match self {
            Held::Duty => "duty",
            Held::MotorCurrent => "motor current",
            Held::BatteryCurrent => "battery current",
            Held::UnderVoltage => "under-voltage",
            Held::ShaftSpeed => "shaft speed",
            Held::BatteryPower => "battery power",
            Held::Closed => "closed throttle",
            Held::Nothing => "nothing",
        }
    }
}

/// How far a falling voltage is from its lowest, relative; far away where there is no such limit or no voltage.
fn gap_of_voltage(lowest: f64, voltage: f64) -> f64 {
    if lowest > 0.0 && voltage > 0.0 { lowest / voltage - 1.0 } else { -1.0 }
}
