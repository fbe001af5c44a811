//! Mistakes of the lever and its scale that are more than a factor: they are other crafts, for a scale that shows something
//! at no pull, and a wet strut, know nothing of a factor on the pull.

use engine::analysis::Craft;
use engine::calibration::{Problem, Set, Sought};
use engine::fit::Prior;
use engine::run::{Options, Run};

use super::family::{ALIKE, UNITS};
use crate::lever::{SCALE_ARM, SCALE_READING, SCALE_ZERO};
use crate::nomenclature::PROPELLER_ARM;

/// Parameters of a lever.
const ARMS: [&str; 2] = ["propeller_arm", "scale_arm"];
const ZERO: [&str; 2] = ["scale_offset", "tare"];

/// The part that a set's scale belongs to, if it was read.
fn part(set: &Set) -> Option<&str> {
    let channel = set.channels.iter().find(|c| c.kind == SCALE_READING.name)?;
    channel.quantity.split_once('.').map(|(part, _)| part)
}

/// A constant that a part publishes, SI.
fn constant(craft: &Craft, part: &str, kind: &str) -> Option<f64> {
    let probe = craft.model.find(&format!("{part}.{kind}"))?;
    let mut run = Run::new(craft.model.clone(), Options { settle: false, ..Options::default() });
    Some(run.value(probe)).filter(|value| value.is_finite())
}

/// Arms of propeller and scale, m.
fn arms(set: &Set) -> Option<[f64; 2]> {
    let part = part(set)?;
    Some([constant(&set.craft, part, PROPELLER_ARM.name)?, constant(&set.craft, part, SCALE_ARM.name)?])
}

/// What the scale shows at no pull and what is taken off before reading, kg.
fn zero(problem: &Problem, set: &Set) -> Option<[f64; 2]> {
    let part = part(set)?;
    let path = format!("{part}.{}", ZERO[0]);
    // the part publishes the difference of both
    let tare =
        -constant(&set.craft.changed([(path.as_str(), 0.0)], problem.kinds).ok()?, part, SCALE_ZERO.name)?;
    Some([constant(&set.craft, part, SCALE_ZERO.name)? + tare, tare])
}

/// Whether a parameter is one of these of a set's lever.
fn is_of(sought: &Sought, set: &Set, keys: &[&str]) -> bool {
    let split = sought.parameter.split_once('.');
    sought.concerns(Some(&set.name))
        && split.is_some_and(|(owner, key)| part(set) == Some(owner) && keys.contains(&key))
}

/// Files in which a mistake is made at once: each by itself, unless sets of several share what is sought of these parameters.
fn scopes<'a>(problem: &'a Problem, keys: &[&str]) -> Vec<Vec<&'a str>> {
    let with: Vec<&str> = problem
        .files()
        .into_iter()
        .filter(|file| problem.sets.iter().any(|set| set.file == *file && part(set).is_some()))
        .collect();
    let shared = |s: &Sought| s.set.is_none() && problem.sets.iter().any(|set| is_of(s, set, keys));
    match with.is_empty() {
        true => Vec::new(),
        false if problem.sought.iter().any(shared) => vec![with],
        false => with.into_iter().map(|file| vec![file]).collect(),
    }
}

/// A problem with the crafts of these files and what is sought of them changed; `None` where a part does not take it.
fn changed(
    problem: &Problem,
    scope: &[&str],
    keys: &[&str],
    craft: impl Fn(&Set) -> Option<Craft>,
    factor: f64,
    sought: impl Fn(&mut Sought),
) -> Option<Problem> {
    let concerned = |set: &Set| scope.contains(&set.file.as_str()) && part(set).is_some();
    let (mut sets, mut all) = (problem.sets.clone(), problem.sought.clone());
    for one in &mut all {
        if problem.sets.iter().any(|set| concerned(set) && is_of(one, set, keys)) {
            sought(one);
        }
    }
    for set in sets.iter_mut().filter(|set| concerned(set)) {
        set.craft = craft(set)?;
        for channel in set.channels.iter_mut().filter(|c| c.kind == SCALE_READING.name) {
            channel.factor *= factor;
        }
    }
    Problem::new(problem.kinds, problem.rest, problem.base.clone(), sets, all).ok()
}

/// The lever turned about: each arm is the other.
fn turned(problem: &Problem, scope: &[&str]) -> Option<Problem> {
    let craft = |set: &Set| {
        let [propeller, scale] = arms(set)?;
        let paths = ARMS.map(|arm| part(set).map(|part| format!("{part}.{arm}")).unwrap_or_default());
        let swapped = [(paths[0].as_str(), scale), (paths[1].as_str(), propeller)];
        set.craft.changed(swapped, problem.kinds).ok()
    };
    // what is known of an arm goes with the rod, not with its end
    let sought = |one: &mut Sought| {
        if let Some((owner, key)) = one.parameter.split_once('.') {
            let other = if key == ARMS[0] { ARMS[1] } else { ARMS[0] };
            one.parameter = format!("{owner}.{other}");
        }
    };
    changed(problem, scope, &ARMS, craft, 1.0, sought)
}

/// A scale in another unit, `unit` kilograms each, whose zero was read in it too.
fn in_unit(problem: &Problem, scope: &[&str], unit: f64) -> Option<Problem> {
    let craft = |set: &Set| {
        let zero = zero(problem, set)?;
        let paths = ZERO.map(|key| part(set).map(|part| format!("{part}.{key}")).unwrap_or_default());
        let changes = paths.iter().map(String::as_str).zip(zero.map(|x| unit * x));
        set.craft.changed(changes, problem.kinds).ok()
    };
    let sought = |one: &mut Sought| {
        let u = &mut one.unknown;
        for x in [&mut u.start, &mut u.low, &mut u.high, &mut u.scale] {
            *x *= unit;
        }
        if let Some(Prior { mean, sd, log }) = &mut u.prior {
            *mean *= unit;
            *sd *= if *log { 1.0 } else { unit };
        }
    };
    changed(problem, scope, &ZERO, craft, unit, sought)
}

/// Mistakes of the lever and its scale, by name.
pub fn of_the_lever(problem: &Problem) -> Vec<(String, Option<Problem>)> {
    let mut all = Vec::new();
    let several = problem.files().len() > 1;
    let at = |scope: &[&str]| if several { format!(" in {}", scope.join(", ")) } else { String::new() };
    let in_scope = |scope: &[&str], set: &&Set| scope.contains(&set.file.as_str());
    for scope in scopes(problem, &ARMS) {
        let differ = |set: &Set| arms(set).is_some_and(|[p, s]| 2.0 * (p / s).ln().abs() > ALIKE);
        if problem.sets.iter().filter(|set| in_scope(&scope, set)).any(differ) {
            let name = format!("lever{} the other way about (arms exchanged)", at(&scope));
            all.push((name, turned(problem, &scope)));
        }
    }
    for scope in scopes(problem, &ZERO) {
        let shows = |set: &Set| {
            zero(problem, set).is_some_and(|zero| zero != [0.0, 0.0])
                || problem.sought.iter().any(|s| is_of(s, set, &ZERO))
        };
        if problem.sets.iter().filter(|set| in_scope(&scope, set)).any(shows) {
            for (word, unit) in UNITS {
                let name = format!("scale{} in {word}, its zero too, read as kilograms", at(&scope));
                all.push((name, in_unit(problem, &scope, unit)));
            }
        }
    }
    all
}
