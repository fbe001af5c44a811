//! An opinion in words.

use engine::calibration::{Calibrated, Channel, Problem, Role};
use engine::text_table::{figure, paragraph};
use engine::units::Unit;

use super::claim::{Claim, What};
use super::measure::At;
use super::{DRAWS, Opinion};
use crate::lever::SCALE_READING;
use crate::nomenclature::*;
use crate::verdict::limits::{BINDING, margins};

/// What was believed, what the readings say, by how much, and what would decide.
pub fn text(found: &Calibrated, claim: &Claim, opinion: &Opinion) -> String {
    let problem = &*found.problem;
    let mut out = format!("Belief: {}\n", claim.says.trim());
    let verdict = match opinion.word() {
        "refuted" => "Refuted",
        "supported" => "Supported",
        _ => "Open",
    };
    let chance = percent(opinion.probability);
    out.push_str(&paragraph(&format!(
        "{verdict}: true with a probability of {chance}. {}",
        how_much(found, claim, opinion)
    )));
    if let Some(words) = identity(problem, claim, opinion) {
        out.push_str(&paragraph(&words));
    }
    out.push_str(&paragraph(&would_decide(problem, claim, opinion)));
    if found.misfits() {
        out.push_str(&paragraph(
            "The model does not fit these readings within their uncertainties: this is surer than it should be.",
        ));
    }
    out
}

fn percent(p: f64) -> String {
    let least = 100.0 / DRAWS as f64;
    match 100.0 * p {
        p if p < least => format!("less than {} %", figure(least)),
        p if p > 100.0 - least => format!("more than {} %", figure(100.0 - least)),
        p => format!("{p:.0} %"),
    }
}

/// Where it is about.
fn place(problem: &Problem, at: At) -> String {
    let name = problem.sets.get(at.set).map_or("", |set| set.name.as_str());
    match at.throttle(problem) {
        Some(throttle) => format!("with \"{name}\" at {} % throttle", figure(100.0 * throttle)),
        None => format!("with \"{name}\""),
    }
}

/// Value and standard deviation in the unit the belief was told in; what a bare number is in is the quantity's own.
fn spread(mean: f64, sd: f64, unit: Unit, own: &str) -> String {
    let name = if unit.name.is_empty() { own } else { unit.name };
    let name = if name == "1" { "" } else { name };
    let sd = short(sd / unit.factor);
    format!("{} ± {sd} {name}", figure(unit.of(mean))).trim_end().to_owned()
}

const PURE: Unit = Unit { name: "", factor: 1.0, offset: 0.0 };

fn how_much(found: &Calibrated, claim: &Claim, opinion: &Opinion) -> String {
    let problem = &*found.problem;
    let (mean, sd) = (opinion.outlook.mean, opinion.outlook.sd);
    let at = place(problem, claim.at);
    match &claim.what {
        What::Limit { name, .. } => {
            let away = format!("{} ± {} %", figure(-100.0 * mean), short(100.0 * sd));
            let bind = binding(problem, claim.at, &found.fitted.values);
            let bind = match bind.is_empty() {
                true => "no limit binds".to_owned(),
                false => format!("what binds is {}", bind.join(" and ")),
            };
            if mean > -BINDING {
                format!("By the best fit the limit of {name} binds {at}.")
            } else {
                format!("By the best fit the limit of {name} is {away} away from binding {at}; {bind}.")
            }
        }
        What::Value { quantity, is, within, unit } => {
            let model = &problem.sets[claim.at.set].craft.model;
            let own = model.find(quantity).map_or("", |probe| model.unit(probe));
            let off = mean - is;
            let side = if off > 0.0 { "more" } else { "less" };
            format!(
                "{quantity} is {} by the fit {at}; believed is {} give or take {}: the fit has {} {side} than that.",
                spread(mean, sd, *unit, own),
                figure(unit.of(*is)),
                figure(within / unit.factor),
                figure(off.abs() / unit.factor),
            )
        }
        What::Ratio { quantity, other, is, within, .. } => format!(
            "{quantity} {at} is {} times that {} by the fit; believed is {} give or take {}.",
            spread(mean, sd, PURE, ""),
            place(problem, *other),
            figure(*is),
            figure(*within),
        ),
    }
}

/// Limits that bind at the best fit.
fn binding(problem: &Problem, at: At, x: &[f64]) -> Vec<String> {
    let Ok(mut run) = at.run(problem, x) else { return Vec::new() };
    let all = margins(&run.model().clone());
    all.into_iter().filter(|(_, probe)| run.value(*probe) > -BINDING).map(|(name, _)| name).collect()
}

/// Mean of what was read of a kind at the throttle of a row, where all else was put as there.
fn read(problem: &Problem, at: At, kind: &str) -> Option<f64> {
    let set = problem.sets.get(at.set)?;
    let place = set.channel(kind)?;
    let channel = set.channels.get(place)?;
    let throttle = at.throttle(problem);
    let put = |channel: &&Channel| channel.role == Role::Put && channel.kind != THROTTLE.name;
    let others: Vec<&Channel> = set.channels.iter().filter(put).collect();
    let like = |row: usize| {
        At { row, throttle: None, ..at }.throttle(problem) == throttle
            && others.iter().all(|channel| set.read_at(row, channel) == set.read_at(at.row, channel))
    };
    let spots = set.spots().filter(|spot| spot.channel == place && like(spot.row));
    let values: Vec<f64> = spots.filter_map(|spot| set.read_at(spot.row, channel)).collect();
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

/// What follows from T ∝ n² at an unchanged propeller in still water, beside what was read.
fn identity(problem: &Problem, claim: &Claim, opinion: &Opinion) -> Option<String> {
    let (quantity, believed) = match &claim.what {
        What::Limit { .. } => return None,
        What::Value { quantity, is, .. } => (quantity, is / opinion.outlook.mean),
        What::Ratio { quantity, is, .. } => (quantity, *is),
    };
    let kind = quantity.split_once('.').map_or(quantity.as_str(), |(_, kind)| kind);
    let (law, power, partner, words, unit) = match kind {
        k if k == SHAFT_SPEED.name => (
            "thrust goes as the square of the speed",
            2.0,
            SCALE_READING.name,
            "times the thrust; the scale",
            ("kg", 1.0),
        ),
        k if k == THRUST.name || k == SCALE_READING.name => {
            let rpm = ("rpm", std::f64::consts::TAU / 60.0);
            (
                "thrust goes as the square of the speed",
                0.5,
                SHAFT_SPEED.name,
                "times the speed; the reading of rpm",
                rpm,
            )
        }
        k if k == MOTOR_CURRENT.name => {
            let rpm = ("rpm", std::f64::consts::TAU / 60.0);
            let law = "motor amps go as the torque and this as the square of the speed (what the motor itself loses aside)";
            (law, 0.5, SHAFT_SPEED.name, "times the speed; the reading of rpm", rpm)
        }
        _ => return None,
    };
    let follows = believed.powf(power);
    if !follows.is_finite() {
        return None;
    }
    let here = read(problem, claim.at, partner)?;
    let start = format!("At an unchanged propeller in still water {law}: {} times as much", figure(believed));
    match &claim.what {
        What::Ratio { other, .. } => {
            let says = here / read(problem, *other, partner)?;
            let (a, b) = (problem.sets.get(claim.at.set)?, problem.sets.get(other.set)?);
            let differ = a.craft.setup.hash() != b.craft.setup.hash();
            let differ = if differ { " (but the setups differ: T ∝ n² D⁴ then)" } else { "" };
            Some(format!("{start} would give {} {words} says {}{differ}.", figure(follows), figure(says)))
        }
        _ => Some(format!(
            "{start} as the fit has would give {} {words} says {} {}, not {}.",
            figure(follows),
            figure(here / unit.1),
            unit.0,
            figure(here * follows / unit.1)
        )),
    }
}

/// Share of the standard deviation that a reading must take away to be worth it.
const WORTH: f64 = 0.1;

fn would_decide(problem: &Problem, claim: &Claim, opinion: &Opinion) -> String {
    let now = opinion.outlook.sd;
    let shown = |sd: f64| match &claim.what {
        What::Limit { .. } => format!("{} % of the limit", short(100.0 * sd)),
        What::Value { unit, .. } => {
            format!("{} {}", short(sd / unit.factor), unit.name).trim_end().to_owned()
        }
        What::Ratio { .. } => short(sd),
    };
    match &opinion.deciding {
        Some((usual, at, after)) if *after < (1.0 - WORTH) * now => format!(
            "Of what was not read, {} {} would tell most of it (known to {}): the standard uncertainty of what the \
             belief is about goes from {} to {}.",
            usual.says,
            place(problem, *at),
            usual.known(),
            shown(now),
            shown(*after)
        ),
        _ if now == 0.0 => "No further reading would tell more: nothing that was sought moves it.".into(),
        _ => format!(
            "No usual reading that was not taken would tell noticeably more of it: its standard uncertainty is {} by now.",
            shown(now)
        ),
    }
}

/// Two significant digits, for standard deviations.
fn short(x: f64) -> String {
    if !x.is_finite() {
        return "any amount".into();
    }
    let digits = if x == 0.0 { 0 } else { (1 - x.abs().log10().floor() as i32).clamp(0, 9) as usize };
    let text = format!("{x:.digits$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').into() } else { text }
}
