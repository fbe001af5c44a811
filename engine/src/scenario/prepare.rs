//! From what a script states of a study to the study as data, checked.

use std::sync::Arc;

use rhai::EvalAltResult;

use super::Catalogue;
use super::Shared;
use super::caller::Caller;
use super::craft::Craft;
use super::point::{changes_at, point_map};
use super::study::{How, Study, StudyPlan, Varied, What};
use super::told::{self, of_setup, raise};
use crate::diagnostic::{Diagnostic, suggest};
use crate::setup::{Change, Sort, describe};
use crate::study::{Axis, Column, Coordinate, Design, Frame, Heading, Merit, Role, Skipped, Values};
use crate::units::number;

type Fallible<T> = Result<T, Box<EvalAltResult>>;

/// Points that conditions may be asked about: their numbers are kept.
const ASKED: u64 = 20_000_000;

/// Checks a study and describes it.
pub(super) fn frame(study: &Study, session: &Shared, caller: Caller) -> Fallible<Frame> {
    let plan = study.plan.borrow().clone();
    if plan.trials.is_empty() {
        return Err("a study tries something at each point: state it with `trial(name, trial)`".into());
    }
    let catalogue = session.borrow().catalogue;
    let crafts = crafts(&plan);
    let all: Vec<&Varied> = plan.varied().collect();
    let mut paths = Vec::new();
    for varied in &all {
        let set = check(varied, &crafts, session, &catalogue, caller);
        paths.push(set.map_err(|error| told::at(&error, &varied.at))?);
    }
    super::paths::apart(&all, &paths)?;
    let axes = |list: &[Varied]| -> Vec<Axis> { list.iter().map(|v| v.axis.clone()).collect() };
    let seed = session.borrow().outcome.seed;
    let design = Design::new(axes(&plan.axes), &plan.points, axes(&plan.uncertain), plan.draws, seed)
        .map_err(|error| error.to_string())?;
    if plan.uncertain.is_empty() != plan.draws.is_none() {
        return Err(
            "`uncertain(…)` and `draws(…)` go together: what is uncertain, and how it is drawn".into()
        );
    }
    let (active, skipped) = active(&plan, &design, caller)?;
    let headings = headings(&plan, &design, &crafts, &catalogue, caller)?;
    let names: Vec<&str> = headings.iter().map(|h| h.name.as_str()).collect();
    let known = |name: &str| -> Fallible<()> {
        if names.contains(&name) {
            return Ok(());
        }
        let error = Diagnostic::error(format!("this study has no column {name}"));
        Err(raise(error.near(suggest(name, names.iter().copied()))))
    };
    let report = catalogue.report;
    let merits = if plan.merits.is_empty() {
        // each order of merit of the trade, wherever a trial reports its column
        let mut merits = Vec::new();
        for ranking in report.rankings {
            let mine = |h: &&Heading| matches!(h.role, Role::Result(_)) && h.bare == ranking.column;
            for h in headings.iter().filter(mine) {
                let name = if h.name == h.bare {
                    ranking.name.into()
                } else {
                    format!("{} ({})", ranking.name, h.name)
                };
                let (column, beforehand) = (h.name.clone(), ranking.beforehand);
                merits.push(Merit { name, column, highest: ranking.highest, beforehand });
            }
        }
        merits
    } else {
        let mut merits = plan.merits.clone();
        for order in &mut merits {
            known(&order.column)?;
            let bare = headings.iter().find(|h| h.name == order.column).map(|h| h.bare.as_str());
            order.beforehand = report.rankings.iter().any(|r| r.beforehand && Some(r.column) == bare);
        }
        merits
    };
    let front = if plan.front.is_empty() {
        report.front.iter().map(ToString::to_string).collect()
    } else {
        plan.front.clone()
    };
    let response = plan.response.clone().unwrap_or_else(|| report.response.into());
    let stated = !plan.front.is_empty();
    if stated && !(2..=4).contains(&front.len()) {
        return Err(format!("a trade-off is between 2 to 4 columns, not {}", front.len()).into());
    }
    front.iter().filter(|_| stated).chain(&plan.response).try_for_each(|column: &String| known(column))?;
    let lasts = |what: &What| match what {
        What::Planned(plan) => plan.trial.borrow().duration,
        What::Made(..) => f64::INFINITY,
    };
    let outcome = &session.borrow().outcome;
    Ok(Frame {
        title: plan.title.clone(),
        scenario_title: outcome.title.clone(),
        purpose: outcome.purpose.clone(),
        seed,
        trials: plan.trials.iter().map(|t| (t.name.clone(), lasts(&t.what))).collect(),
        design,
        active: active.map(Arc::new),
        skipped,
        headings,
        merits,
        front,
        response,
        inputs: outcome.inputs.clone(),
    })
}

/// The crafts of all trials, as the script left them.
fn crafts(plan: &StudyPlan) -> Vec<Craft> {
    let craft = |what: &What| match what {
        What::Planned(plan) => plan.trial.borrow().craft.borrow().clone(),
        What::Made(craft, _) => craft.borrow().clone(),
    };
    plan.trials.iter().map(|entry| craft(&entry.what)).collect()
}

/// Whether a setup has the part that a change is for.
pub(super) fn concerns(craft: &Craft, path: &str) -> bool {
    let part = path.split('.').next().unwrap_or_default();
    craft.setup.instances().any(|(name, ..)| name == part)
}

/// Tries the ends of what is varied on every setup that it is for; returns what it sets.
fn check(
    varied: &Varied,
    crafts: &[Craft],
    session: &Shared,
    catalogue: &Catalogue,
    caller: Caller,
) -> Fallible<Vec<String>> {
    let axis = &varied.axis;
    let mut paths: Vec<String> = Vec::new();
    let ends = match &axis.values {
        Values::Words(words) => (0..words.len()).map(Coordinate::Word).collect(),
        _ => vec![axis.level(0), axis.level(axis.levels().unwrap_or(1).saturating_sub(1))],
    };
    let origin = format!("{}:{}", varied.at.file, axis.name);
    session.borrow_mut().changes.insert(origin.clone(), varied.at.clone());
    for end in ends {
        let changes = match (&varied.how, end) {
            // as text, so that a wrong unit is told
            (How::Parameter, Coordinate::Number(x)) => {
                let text = format!("{} {}", number(x), axis.unit.name);
                vec![(axis.name.clone(), Change::Text(text.trim().into()))]
            }
            _ => changes_at(varied, end, caller)?,
        };
        // one change after the other, as at a point: a part may be exchanged, and then set
        let mut tried: Vec<Craft> = crafts.to_vec();
        for (path, change) in changes {
            let mine: Vec<&mut Craft> = tried.iter_mut().filter(|craft| concerns(craft, &path)).collect();
            if mine.is_empty() {
                let names: Vec<String> = crafts
                    .iter()
                    .flat_map(|c| c.setup.instances().map(|(name, ..)| name.to_string()))
                    .collect();
                let part = path.split('.').next().unwrap_or_default();
                let error = Diagnostic::error(format!("no trial of this study has a part `{part}`"));
                return Err(raise(error.near(suggest(part, names.iter().map(String::as_str)))));
            }
            for craft in mine {
                let done = craft.setup.change(&path, change.clone(), &origin);
                let done = done.and_then(|()| craft.setup.check_value(&path, catalogue.parts));
                done.map_err(|told| of_setup(session, told))?;
            }
            if !paths.contains(&path) {
                paths.push(path);
            }
        }
    }
    Ok(paths)
}

/// Numbers of the points that meet all conditions, and how many do not.
fn active(plan: &StudyPlan, design: &Design, caller: Caller) -> Fallible<(Option<Vec<u32>>, Vec<Skipped>)> {
    if plan.needs.is_empty() {
        return Ok((None, Vec::new()));
    }
    if design.points() > ASKED {
        return Err(format!("a study with conditions has no more than {ASKED} points").into());
    }
    let mut skipped: Vec<Skipped> =
        plan.needs.iter().map(|need| Skipped { because: need.label.clone(), points: 0 }).collect();
    let mut active = Vec::new();
    for index in 0..design.points() {
        let point = point_map(design, &design.at(index));
        let mut kept = true;
        for (need, skipped) in plan.needs.iter().zip(&mut skipped) {
            let met =
                caller.call(&need.met, (point.clone(),)).map_err(|error| match told::missing(&error) {
                    Some(name) => {
                        let names = design.all().map(|axis| axis.name.as_str());
                        let told = Diagnostic::error(format!("a point of this study has no value `{name}`"));
                        raise(told.near(suggest(name, names)).at(need.at.clone()))
                    }
                    None => told::at(&error, &need.at),
                })?;
            let found = met.type_name();
            if !met.as_bool().map_err(|_| {
                raise(
                    Diagnostic::error(format!(
                        "the condition \"{}\" is true or false, not {found}",
                        need.label
                    ))
                    .at(need.at.clone()),
                )
            })? {
                // counted once, for the first condition that fails
                skipped.points += 1;
                kept = false;
                break;
            }
        }
        if kept {
            active.push(index as u32);
        }
    }
    Ok((Some(active), skipped))
}

fn headings(
    plan: &StudyPlan,
    design: &Design,
    crafts: &[Craft],
    catalogue: &Catalogue,
    caller: Caller,
) -> Fallible<Vec<Heading>> {
    let plain = |name: &str, unit: &str, role| Heading {
        name: name.into(),
        bare: name.into(),
        unit: unit.into(),
        role,
    };
    let mut headings = vec![plain("index", "", Role::Index)];
    headings.extend(design.all().map(|axis| plain(&axis.name, axis.unit.name, Role::Axis)));
    for varied in plan.varied().filter(|v| matches!(v.how, How::Function(_))) {
        for (path, change) in changes_at(varied, varied.axis.level(0), caller)? {
            let unit = match change {
                Change::Si(_) => unit_of(&path, crafts, catalogue),
                Change::Text(_) => "",
            };
            headings.push(plain(&path, unit, Role::Follows));
        }
    }
    headings.push(plain("status", "", Role::Status));
    for (i, entry) in plan.trials.iter().enumerate() {
        for column in chosen(entry.columns.as_deref(), catalogue)? {
            let name = if i == 0 { column.name.into() } else { format!("{}.{}", entry.name, column.name) };
            let (bare, unit) = (column.name.into(), column.unit.into());
            headings.push(Heading { name, bare, unit, role: Role::Result(i) });
        }
    }
    headings.push(plain("failure", "", Role::Failure));
    let mut names: Vec<&str> = headings.iter().map(|h| h.name.as_str()).collect();
    names.sort_unstable();
    match names.windows(2).find(|w| w[0] == w[1]) {
        Some(twice) => Err(format!("two columns of this study would be called {}", twice[0]).into()),
        None => Ok(headings),
    }
}

/// The columns a trial reports.
pub(super) fn chosen(wanted: Option<&[String]>, catalogue: &Catalogue) -> Fallible<Vec<Column>> {
    let all = catalogue.report.columns;
    let Some(wanted) = wanted else { return Ok(all.to_vec()) };
    let find = |name: &String| -> Fallible<Column> {
        all.iter().find(|c| c.name == name).copied().ok_or_else(|| {
            let error = Diagnostic::error(format!("there is no column {name}"));
            raise(error.near(suggest(name, all.iter().map(|c| c.name))))
        })
    };
    wanted.iter().map(find).collect()
}

/// SI unit of a parameter, as far as its part says.
fn unit_of(path: &str, crafts: &[Craft], catalogue: &Catalogue) -> &'static str {
    let Some((part, key)) = path.split_once('.') else { return "" };
    let kind = crafts
        .iter()
        .find_map(|c| c.setup.instances().find(|(name, ..)| *name == part).map(|(_, kind, _)| kind));
    let kind = catalogue.parts.iter().find(|k| Some(k.name) == kind);
    let param = kind.and_then(|kind| describe(kind).params.into_iter().find(|p| p.key == key));
    match param.map(|p| p.sort) {
        Some(Sort::Value(dimension)) => dimension.si,
        _ => "",
    }
}
