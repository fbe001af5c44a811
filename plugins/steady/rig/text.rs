//! The answer for a person.

use engine::text_table::{figure, paragraph, table};

use super::super::tub::held::Held;
use super::super::tub::text as tub;
use super::search::{Crossing, Where};
use super::turned::State;
use super::{Found, Scan};

/// Ends told in words: the first and the next two.
const TOLD: usize = 3;

const CAUTIONS: &str = "\
Cautions for a loaded arm: what breaks flies, and the propeller with it. Stand clear of the arm's plane and of the \
scale's line, guard the propeller, hold the lever with a second, slack line, turn up from a distance and in small steps. \
A number is no permission. Outside the model: the quality of welds, fatigue, holes and bolts, buckling of thin walls, a blade that \
strikes, the stand below the pivot. Required safety and start-up factor are common practice, without a source.";

/// Said at the end.
pub fn closing() -> String {
    [paragraph(CAUTIONS), tub::closing()].concat()
}

/// Words and tables.
pub(super) fn tell(title: &str, found: &Found) -> String {
    let mut out = match title {
        "" => "How far to turn up on the rig\n".to_string(),
        title => format!("How far to turn up on the rig | {title}\n"),
    };
    let present = amps(found.present, found);
    out.push_str(&format!(
        "\nAt rest, cold, a fresh pack. The motor-current limit of the setup is {present}.\n"
    ));
    out.push_str("\nMotor-current limit, at full throttle\n");
    out.push_str(&part(
        &found.by_current,
        |at| amps(at, found),
        &[0.1, 0.5, 1.0, 1.5, 2.0, 3.0].map(|x| x * found.present),
    ));
    out.push_str(&format!("\nThrottle, at the limit of {present}\n"));
    out.push_str(&part(&found.by_throttle, tub::percent, &[0.2, 0.4, 0.6, 0.8, 1.0]));
    out.push('\n');
    out.push_str(&paragraph(&heat(found)));
    for note in &found.notes {
        out.push_str(&paragraph(&format!("Note: {note}")));
    }
    out
}

/// A limit in the setup's amperes.
fn amps(at: f64, found: &Found) -> String {
    match (found.dc - 1.0).abs() < 1e-6 {
        true => format!("{} A", figure(at)),
        false => {
            format!("{} A as the setup counts it ({} A DC-equivalent)", figure(at), figure(at * found.dc))
        }
    }
}

/// One way of turning up: in words, then what was looked at.
fn part(scan: &Scan, place: impl Fn(f64) -> String, shown: &[f64]) -> String {
    let mut out = paragraph(&in_words(scan, &place));
    if let Some(why) = &scan.ended {
        let last = scan.states.last().map_or_else(String::new, |s| format!(" beyond {}", place(s.at)));
        out.push_str(&paragraph(&format!("Nothing can be told{last}: {why}")));
    }
    // as many as a reader takes in; the table for machines has all
    let near = |s: &&State| shown.iter().any(|x| (s.at / x - 1.0).abs() < 1e-6);
    let names = ["turned to", "net\nthrust N", "motor\nA", "battery\nA", "held by", "least\nmargin"];
    let row = |s: &State| {
        let r = &s.reading;
        let least = s.margins.iter().copied().fold(f64::INFINITY, f64::min);
        let numbers = [r.net_thrust, r.motor_current, r.battery_current].map(|x| format!("{x:.1}"));
        let [thrust, motor, battery] = numbers;
        [place(s.at), thrust, motor, battery, r.held.code().to_string(), format!("{:.0} %", 100.0 * least)]
    };
    out.push_str(&table(names, scan.states.iter().filter(near).map(row)));
    out
}

fn in_words(scan: &Scan, place: &impl Fn(f64) -> String) -> String {
    let Some(last) = scan.states.last() else { return String::new() };
    let end = |c: &Crossing| {
        let r = &c.reading;
        let loads = format!(
            "{:.0} N, {:.1} A in the motor, {:.1} A from the battery",
            r.net_thrust, r.motor_current, r.battery_current
        );
        match c.place {
            Where::Found => format!("{} at {} ({loads})", c.name, place(c.at)),
            Where::Below => format!("{} at or below {} ({loads} there)", c.name, place(c.at)),
        }
    };
    let ends: Vec<String> = scan.crossings.iter().take(TOLD).map(end).collect();
    let held = match last.reading.held {
        Held::MotorCurrent | Held::Nothing | Held::Closed => String::new(),
        held => format!(
            " At {} the drive is held by its {}, with {:.1} A in the motor: turning up further brings nothing.",
            place(last.at),
            held.code(),
            last.reading.motor_current
        ),
    };
    match ends.split_first() {
        None => {
            format!(
                "No margin of the rig ends up to {}; the least left is {}.{held}",
                place(last.at),
                least(last)
            )
        }
        Some((first, [])) => {
            format!("The first margin to end is {first}. No other ends up to {}.{held}", place(last.at))
        }
        Some((first, next)) => {
            format!("The first margin to end is {first}. Next: {}.{held}", next.join("; "))
        }
    }
}

fn least(state: &State) -> String {
    let least = state.margins.iter().copied().fold(f64::INFINITY, f64::min);
    format!("{:.0} %", 100.0 * least)
}

fn heat(found: &Found) -> String {
    let at = format!("Held at full throttle with a limit of {}, from cold,", amps(found.heated_at, found));
    match (&found.heat.reached, found.heat.opened, &found.heat.broke) {
        (Some((time, name)), ..) => {
            format!("{at} the limit on {name} begins to take current back after {time:.1} s.")
        }
        (None, Some(time), _) => format!("{at} the pack's protection opens after {time:.1} s."),
        (None, None, Some(why)) => format!("{at} the run breaks off: {why}."),
        (None, None, None) => {
            let winding = found
                .heat
                .winding
                .map_or_else(String::new, |t| format!("; the winding is then at {t:.0} °C"));
            format!("{at} no limit on temperature is reached within {} s{winding}.", figure(found.lasting))
        }
    }
}
