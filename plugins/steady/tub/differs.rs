//! Why another drive does otherwise: in words, from the numbers.
//!
//! Every sentence states what the readings show. Where it gives a reason, the reason is told only if the
//! numbers agree with it, so that no combination of limits makes it false.

use super::because::holds;
use super::compare::{Pair, Way};
use super::held::Held;
use super::reading::Reading;

/// Why B does otherwise than A.
pub fn in_words(p: &Pair) -> String {
    let mut told = vec![format!("In A {}. In B {}.", holds(p.a), holds(p.b))];
    told.extend(demand(p));
    let drives = differences(p);
    if !drives.is_empty() {
        told.push(format!(
            "Not the propeller alone: the drives differ in {}. The numbers below hold all of it.",
            drives.join(", ")
        ));
    }
    told.push(motor_side(p));
    told.extend(voltage(p));
    told.extend(battery_side(p));
    told.push(outcome(p));
    told.join(" ")
}

/// What the propellers ask for.
fn demand(p: &Pair) -> Option<String> {
    let (a, b) = p.a.torque_per_revs2().zip(p.b.torque_per_revs2())?;
    let numbers = format!("Q/n² {:.3} against {:.3} mN·m/(rev/s)²", 1e3 * b, 1e3 * a);
    Some(match Way::of(a, b) {
        Way::Same => format!("Both propellers take the same torque at the same speed ({numbers})."),
        way => format!(
            "At the same speed B's propeller takes {:.0} % {} torque ({numbers}).",
            100.0 * (b / a - 1.0).abs(),
            way.word()
        ),
    })
}

/// In what the drives differ beyond the propeller: name and both values.
fn differences(p: &Pair) -> Vec<String> {
    let mut found = Vec::new();
    let mut look = |name: &str, unit: &str, scale: f64, of: fn(&Reading) -> f64| {
        let (a, b) = p.both(of);
        if Way::of(a, b) != Way::Same {
            found.push(format!("{name} ({:.4} against {:.4} {unit})", scale * b, scale * a));
        }
    };
    look("torque per ampere", "N·m/A", 1.0, |r| r.torque_constant);
    look("winding resistance", "mΩ", 1e3, |r| r.winding_resistance);
    look("voltage at no current", "V", 1.0, |r| r.emf);
    look("resistance of pack and cables", "mΩ", 1e3, |r| r.source_resistance);
    look("highest duty", "", 1.0, |r| r.duty_max);
    look("motor-current limit", "A", 1.0, |r| r.motor_current_max);
    look("battery-current limit", "A", 1.0, |r| r.battery_current_max);
    look("lowest voltage", "V", 1.0, |r| r.voltage_min);
    look("highest shaft speed", "rad/s", 1.0, |r| r.shaft_speed_max);
    found
}

/// How the motor currents come about.
fn motor_side(p: &Pair) -> String {
    let (n_a, n_b) = p.both(Reading::rpm);
    let (q_a, q_b) = p.both(|r| r.torque);
    let speeds = format!("{n_b:.0} against {n_a:.0} rpm");
    let torques = format!("{q_b:.2} against {q_a:.2} N·m");
    let (amps_a, amps_b) = p.both(|r| r.motor_current);
    let amps = format!("{amps_b:.1} against {amps_a:.1} A");
    let (speed, torque, current) = (p.way(|r| r.omega), p.way(|r| r.torque), p.way(|r| r.motor_current));
    // what a propeller takes at a given speed is torque, and torque is current
    let taken = if torque == current && torque != Way::Same && p.way(|r| r.torque_constant) == Way::Same {
        format!(": {} torque, {} current", torque.word(), current.word())
    } else {
        String::new()
    };
    match (p.a.held, p.b.held) {
        (Held::MotorCurrent, Held::MotorCurrent) if current == Way::Same => {
            let why = match (p.asked(), speed) {
                (Some(Way::Less), Way::More) => {
                    ", and B, which takes less of it, turns faster until it takes it all"
                }
                (Some(Way::More), Way::Less) => {
                    ", and B, which takes more of it, comes to its end at a lower speed"
                }
                _ => "",
            };
            let of_torque = if torque == Way::Same { "with it the same torque" } else { "the torque is" };
            format!(
                "The limit gives both the same motor current ({amps}), and {of_torque} ({torques}){why}: {speeds}."
            )
        }
        (Held::MotorCurrent, Held::MotorCurrent) => {
            format!(
                "The limits on the motor current differ ({amps}), and the torque with them ({torques}): {speeds}."
            )
        }
        (Held::Duty, Held::Duty) => format!(
            "Voltage holds both, and voltage sets the speed ({speeds}); the motor current ({amps}) is what the \
             propeller's torque at that speed ({torques}) asks for{taken}."
        ),
        (Held::ShaftSpeed, Held::ShaftSpeed) => format!(
            "Both turn as fast as they may ({speeds}); the motor current ({amps}) is what the propeller's torque there \
             ({torques}) asks for{taken}."
        ),
        (a, b) if a == b && matches!(a, Held::BatteryCurrent | Held::UnderVoltage | Held::BatteryPower) => {
            let why = match (speed, torque) {
                (Way::More, Way::Less) => ": B spends it on speed, not on torque",
                (Way::Less, Way::More) => ": B spends it on torque, not on speed",
                _ => "",
            };
            let (w_a, w_b) = p.both(|r| r.bus_voltage * r.battery_current);
            format!(
                "The battery's power holds both ({w_b:.0} against {w_a:.0} W), and power is torque times speed{why}: \
                 {speeds}, {torques}, {amps} in the motor."
            )
        }
        (a, b) => {
            let short_of_current = |held| !matches!(held, Held::MotorCurrent | Held::Closed | Held::Nothing);
            let why = match (p.asked(), current) {
                (Some(Way::Less), Way::Less) if a == Held::MotorCurrent && short_of_current(b) => {
                    "B's propeller, the easier to turn, comes to its limit before it has loaded the motor with all its current. "
                }
                (Some(Way::More), Way::More) if b == Held::MotorCurrent && short_of_current(a) => {
                    "B's propeller, the harder to turn, has loaded the motor with all its current before it comes to A's limit. "
                }
                _ => "",
            };
            format!("{why}Speed {speeds}, torque {torques}, motor current {amps}{taken}.")
        }
    }
}

/// What the speeds ask of the voltage.
fn voltage(p: &Pair) -> Option<String> {
    let (d_a, d_b) = p.both(|r| r.duty);
    let numbers = format!("{d_b:.2} against {d_a:.2}");
    let (speed, duty) = (p.way(|r| r.omega), p.way(|r| r.duty));
    if d_a <= 0.0 || d_b <= 0.0 {
        return None;
    }
    // the back-EMF is speed times the torque constant
    let for_speed = p.way(|r| r.torque_constant) == Way::Same && speed == duty;
    Some(match duty {
        Way::Same => format!("The duty is the same ({numbers})."),
        Way::More if for_speed => {
            format!("A faster shaft asks for more voltage: the duty is higher ({numbers}).")
        }
        Way::Less if for_speed => {
            format!("A slower shaft asks for less voltage: the duty is lower ({numbers}).")
        }
        Way::More => format!("The duty is higher ({numbers})."),
        Way::Less => format!("The duty is lower ({numbers})."),
    })
}

/// How the battery currents follow: motor current times duty, and what the controller takes itself.
fn battery_side(p: &Pair) -> Option<String> {
    let ratio = |of: fn(&Reading) -> f64| {
        let (a, b) = p.both(of);
        (a > 0.0 && b > 0.0).then(|| b / a)
    };
    let (motor, duty, battery) =
        (ratio(|r| r.motor_current)?, ratio(|r| r.duty)?, ratio(|r| r.battery_current)?);
    let reason = match (Way::of(1.0, motor), Way::of(1.0, duty), Way::of(1.0, battery)) {
        (Way::Same, Way::More, Way::More) => "the same motor amperes at a higher duty",
        (Way::Same, Way::Less, Way::Less) => "the same motor amperes at a lower duty",
        (Way::Less, Way::Same, Way::Less) => "fewer motor amperes at the same duty",
        (Way::More, Way::Same, Way::More) => "more motor amperes at the same duty",
        (Way::More, Way::More, Way::More) => "more motor amperes at a higher duty",
        (Way::Less, Way::Less, Way::Less) => "fewer motor amperes at a lower duty",
        (Way::Less, Way::More, Way::More) if duty * motor > 1.0 => {
            "the duty has grown by more than the motor amperes have fallen"
        }
        (Way::Less, Way::More, Way::Less) if duty * motor < 1.0 => {
            "the motor amperes have fallen by more than the duty has grown"
        }
        (Way::More, Way::Less, Way::More) if duty * motor > 1.0 => {
            "the motor amperes have grown by more than the duty has fallen"
        }
        (Way::More, Way::Less, Way::Less) if duty * motor < 1.0 => {
            "the duty has fallen by more than the motor amperes have grown"
        }
        (Way::Less, Way::More, Way::Same) | (Way::More, Way::Less, Way::Same) => {
            "duty and motor amperes make up for each other"
        }
        _ => "",
    };
    let reason = if reason.is_empty() { String::new() } else { format!(": {reason}") };
    let (v_a, v_b) = p.both(|r| r.bus_voltage);
    let (i_a, i_b) = p.both(|r| r.battery_current);
    Some(format!(
        "Battery amperes are motor amperes times duty, with a little for the controller itself: motor amperes \
         × {motor:.2}, duty × {duty:.2}, battery amperes × {battery:.2}{reason}. In watts: {v_b:.1} V × {i_b:.1} A = \
         {:.0} W against {v_a:.1} V × {i_a:.1} A = {:.0} W.",
        v_b * i_b,
        v_a * i_a
    ))
}

/// What comes of it all.
fn outcome(p: &Pair) -> String {
    let told = |of: fn(&Reading) -> f64| {
        let (a, b) = p.both(of);
        let by = if a > 0.0 { format!(" ({:+.1} %)", 100.0 * (b / a - 1.0)) } else { String::new() };
        (Way::of(a, b).word(), by)
    };
    let (battery, battery_by) = told(|r| r.battery_current);
    let (motor, motor_by) = told(|r| r.motor_current);
    let (thrust, thrust_by) = told(|r| r.thrust);
    format!(
        "So B draws {battery} from the battery{battery_by}, {motor} in the motor{motor_by}, and gives {thrust} \
         thrust{thrust_by}."
    )
}
