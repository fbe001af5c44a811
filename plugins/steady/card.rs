//! The bench card: before a test, a page of what to expect at each step, blanks for what is read, and when to stop.

mod columns;
pub(in crate::steady) mod stop;
mod text;

use engine::analysis::{Analysis, Answer, Choice, Craft, Given, Takes};
use engine::diagnostic::{Diagnostic, Diagnostics};
use engine::part::PartKind;
use engine::units::{CURRENT, FRACTION, TIME};
use serde_json::{Map, Value, json};

use self::stop::Stop;
use super::rig;
use super::rig::turned::Turned;
use super::tub::because;
use super::tub::bench::Bench;
use super::tub::heat::Heat;
use super::tub::reading::Reading;
use super::tub::text::percent;
use crate::lever::SCALE_READING;
use crate::nomenclature::STATE_OF_CHARGE;
use crate::workbench::page::Step;
use crate::workbench::row::{CONVENTIONS, CurrentConvention, Row};

/// A page for the bench.
pub const ANALYSIS: Analysis = Analysis {
    name: "card",
    about: "Bench card: what to expect at each step of a test at rest, blanks for the readings, and when to stop",
    options: &[
        Choice {
            name: "throttles",
            about: "Throttles to step through",
            takes: Takes::Numbers(FRACTION, "20 %,40 %,60 %,80 %,100 %", (0.0, 1.0)),
        },
        Choice {
            name: "currents",
            about: "Motor-current limits to step through at full throttle, as the setup counts amperes, instead of \
                    throttles; 0 A for none",
            takes: Takes::Numbers(CURRENT, "0 A", (0.0, 2000.0)),
        },
        Choice {
            name: "lasting",
            about: "How long each step is held, from cold",
            takes: Takes::Number(TIME, "15 s", (0.1, 3600.0)),
        },
        Choice {
            name: "off",
            about: "Share by which a reading may be off before the test is stopped",
            takes: Takes::Number(FRACTION, "15 %", (0.01, 1.0)),
        },
    ],
    answer,
};

/// A step, with what the rig has to say of it.
struct Line {
    step: Step,
    /// Motor-current limit, as the setup counts it.
    limit: f64,
    reading: Reading,
    heat: Heat,
    /// Least margin of the rig there, with its name.
    least: Option<(String, f64)>,
}

/// Everything that is on the page.
struct Card {
    title: String,
    lines: Vec<Line>,
    stops: Vec<Stop>,
    /// How the controller counts motor current.
    convention: CurrentConvention,
    by_current: bool,
    /// Whether there is a rig.
    rigged: bool,
    lasting: f64,
    off: f64,
    notes: Vec<String>,
}

fn answer(given: &Given) -> Result<Answer, Diagnostics> {
    let turned = Turned::of(&given.craft, given.kinds)?;
    let (lasting, off) = (given.number("lasting"), given.number("off"));
    let sorted = |name: &str| {
        let mut all = given.numbers(name).to_vec();
        all.sort_by(f64::total_cmp);
        all.dedup();
        all
    };
    let currents: Vec<f64> = sorted("currents").into_iter().filter(|x| *x > 0.0).collect();
    let by_current = !currents.is_empty();
    if let Some(low) = currents.iter().find(|x| **x != turned.allowed(**x)) {
        let error = Diagnostic::error("--currents: a controller takes no such limit");
        return Err(error.expected("0.1 A to 2000 A").found(format!("{low} A")).into());
    }
    let now = turned.at_limit(turned.present)?;
    let mut lines = Vec::new();
    if by_current {
        for limit in currents {
            let label = format!("{} A", engine::text_table::figure(limit));
            lines.push(line(&turned, &turned.at_limit(limit)?, label, limit, 1.0, lasting)?);
        }
    } else {
        for throttle in sorted("throttles") {
            lines.push(line(&turned, &now, percent(throttle), turned.present, throttle, lasting)?);
        }
    }
    let mut notes = rig::notes(&now, &turned);
    for l in &lines {
        let told = l.heat.warnings.iter().filter(|w| !notes.contains(w)).cloned().collect::<Vec<_>>();
        notes.extend(told);
    }
    let card = Card {
        title: given.craft.setup.title().into(),
        stops: stop::stops(&turned, &now, &lines, off)?,
        lines,
        convention: convention(&turned),
        by_current,
        rigged: !turned.names.is_empty(),
        lasting,
        off,
        notes,
    };
    Ok(Answer {
        text: text::tell(&card),
        values: values(&card),
        headings: columns::headings(card.convention),
        rows: columns::rows(&card),
        closing: text::closing(card.rigged),
    })
}

/// Expected readings of a setup at given throttles, each held for so long from cold, and how its controller counts motor
/// current: what [`crate::workbench::page::filled`] takes.
///
/// # Errors
/// There is not one drive, or it has no steady state at a throttle.
pub fn steps(
    craft: &Craft,
    kinds: &[PartKind],
    throttles: &[f64],
    lasting: f64,
) -> Result<(Vec<Step>, CurrentConvention), Diagnostics> {
    let turned = Turned::of(craft, kinds)?;
    let bench = turned.at_limit(turned.present)?;
    let one = |&throttle: &f64| {
        line(&turned, &bench, percent(throttle), turned.present, throttle, lasting).map(|line| line.step)
    };
    Ok((throttles.iter().map(one).collect::<Result<_, _>>()?, convention(&turned)))
}

/// The convention whose ampere is worth what the setup's is.
fn convention(turned: &Turned) -> CurrentConvention {
    let same = CONVENTIONS.into_iter().find(|c| (c.dc_per_ampere() - turned.dc).abs() < 1e-6);
    same.unwrap_or(CurrentConvention::DcEquivalent)
}

fn line(
    turned: &Turned,
    bench: &Bench,
    label: String,
    limit: f64,
    throttle: f64,
    lasting: f64,
) -> Result<Line, Diagnostics> {
    let state = turned.state(bench, limit, throttle)?;
    let heat = Heat::after(bench, throttle, lasting);
    let r = state.reading;
    let expected = Row { winding_temperature: heat.winding, ..expected(bench, &r) };
    let margins = turned.names.iter().cloned().zip(state.margins.iter().copied());
    let least = margins.min_by(|a, b| a.1.total_cmp(&b.1));
    // a margin of the rig that is at its end: the step is not to be made
    let at_its_end = least.as_ref().filter(|(_, margin)| *margin <= 0.0).map(|(name, _)| name.as_str());
    let step = Step {
        label,
        fits: None,
        expected,
        controller_temperature: heat.controller,
        cell_temperature: heat.cells,
        note: note(&r, &heat, at_its_end, lasting),
        forbidden: at_its_end.is_some(),
    };
    Ok(Line { step, limit, reading: r, heat, least })
}

/// What is to be read at a steady state of a bench, but for temperatures.
pub(crate) fn expected(bench: &Bench, r: &Reading) -> Row {
    let mut run = bench.steady(r.throttle);
    let model = run.model().clone();
    let mut sole = |name: &str| {
        let probe = model.providers(name).first().copied();
        probe.map(|p| run.value(p)).filter(|x| x.is_finite())
    };
    Row {
        throttle: Some(r.throttle),
        bus_voltage: Some(r.bus_voltage),
        battery_current: Some(r.battery_current),
        motor_current: Some(r.motor_current),
        shaft_speed: Some(r.omega),
        duty: Some(r.duty),
        scale_reading: sole(SCALE_READING.name),
        thrust: Some(r.net_thrust),
        state_of_charge: sole(STATE_OF_CHARGE.name),
        ..Row::default()
    }
}

/// How the controller of a setup counts motor current.
///
/// # Errors
/// There is not one drive.
pub(crate) fn counted(craft: &Craft, kinds: &[PartKind]) -> Result<CurrentConvention, Diagnostics> {
    Ok(convention(&Turned::of(craft, kinds)?))
}

/// What is to be said of a step.
fn note(r: &Reading, heat: &Heat, at_its_end: Option<&str>, lasting: f64) -> String {
    let mut told = Vec::new();
    if r.throttle > 0.0 && r.omega <= 0.0 {
        told.push(format!("the drive does not turn: {}", because::holds(r)));
    }
    if let Some(name) = at_its_end {
        told.push(format!("DO NOT MAKE THIS STEP: {name} is at its end"));
    }
    if let Some((time, name)) = &heat.reached {
        told.push(format!("{name} takes current back after {time:.1} s, before the {lasting} s are over"));
    }
    if let Some(time) = heat.opened {
        told.push(format!("the pack's protection opens after {time:.1} s"));
    }
    if let Some(why) = &heat.broke {
        told.push(format!("no heat to tell: {why}"));
    }
    told.join("; ")
}

fn values(card: &Card) -> Map<String, Value> {
    let stops: Vec<Value> = card.stops.iter().map(Stop::value).collect();
    let word = CONVENTIONS.iter().zip(CurrentConvention::WORDS).find(|(c, _)| **c == card.convention);
    let all = json!({
        "steps_by": if card.by_current { "motor_current_limit" } else { "throttle" },
        "lasting_s": card.lasting,
        "off": card.off,
        "controller_counts_motor_current_as": word.map(|(_, word)| word),
        "steps": columns::objects(card),
        "stop_if": stops,
        "notes": card.notes,
    });
    match all {
        Value::Object(map) => map,
        _ => Map::new(),
    }
}
