//! The JSON document of a scenario, and where results come from.

use std::collections::BTreeMap;
use std::path::Path;

use serde_json::{Map, Value, json};

use crate::scenario::{Catalogue, Check, Finished, Fitting, Outcome};
use crate::setup::Setup;

/// Version of this document's own keys.
const DOCUMENT_VERSION: u32 = 1;

/// What a result came from: version, scenario, seed, hashes of all inputs.
pub(super) fn origin(
    catalogue: &Catalogue,
    scenario: &Path,
    outcome: &Outcome,
    trial: Option<&Finished>,
) -> Map<String, Value> {
    let mut map = made_from(catalogue, scenario, outcome.seed, &outcome.inputs);
    let mut put = |key: &str, value: Value| map.insert(key.into(), value);
    if let Some(trial) = trial {
        put("trial", json!(trial.title));
        put("setup", json!(trial.setup_title));
        put("setup_sha256", json!(trial.setup_hash));
    }
    map
}

/// Version, scenario, seed and hashes of all inputs.
pub(super) fn made_from(
    catalogue: &Catalogue,
    scenario: &Path,
    seed: u64,
    inputs: &BTreeMap<String, String>,
) -> Map<String, Value> {
    let mut map = versions(catalogue);
    map.insert("scenario".into(), json!(scenario.display().to_string()));
    map.insert("seed".into(), json!(seed));
    map.insert("inputs_sha256".into(), json!(inputs));
    map
}

/// Version, setup and hash of all it was read from.
pub(super) fn of_setup(catalogue: &Catalogue, path: &Path, setup: &Setup) -> Map<String, Value> {
    let mut map = versions(catalogue);
    map.insert("setup_file".into(), json!(path.display().to_string()));
    map.insert("setup".into(), json!(setup.title()));
    map.insert("setup_sha256".into(), json!(setup.hash()));
    map
}

/// Who wrote it.
fn versions(catalogue: &Catalogue) -> Map<String, Value> {
    let mut map = Map::new();
    map.insert("document".into(), json!(catalogue.name));
    map.insert("document_version".into(), json!(DOCUMENT_VERSION));
    map.insert("findings_version".into(), json!(catalogue.findings_version));
    map.insert("program_version".into(), json!(env!("CARGO_PKG_VERSION")));
    map
}

/// What came out of a study, and which expectations of it hold.
pub(super) fn study(catalogue: &Catalogue, scenario: &Path, outcome: &Outcome) -> Map<String, Value> {
    let mut map = origin(catalogue, scenario, outcome, None);
    map.insert("title".into(), json!(outcome.title));
    map.insert("purpose".into(), json!(outcome.purpose));
    map.insert("study".into(), json!(outcome.study));
    map.insert("expectations".into(), checks(outcome));
    map
}

/// What came out of a scenario's fits, and which expectations hold.
pub(super) fn fits(catalogue: &Catalogue, scenario: &Path, outcome: &Outcome) -> Map<String, Value> {
    let mut map = origin(catalogue, scenario, outcome, None);
    map.insert("title".into(), json!(outcome.title));
    map.insert("purpose".into(), json!(outcome.purpose));
    map.insert("fits".into(), outcome.fits.iter().map(fitting).collect());
    map.insert("expectations".into(), checks(outcome));
    map
}

fn fitting(fitting: &Fitting) -> Value {
    let mut map = Map::new();
    map.insert("fit".into(), json!(fitting.title));
    map.extend(fitting.found.values());
    let asked = fitting.asked.iter().map(|(name, answer)| json!({"asked": name, "answer": answer.values}));
    map.insert("asked".into(), asked.collect());
    Value::Object(map)
}

/// The whole outcome. The first trial's findings also stand at the top level,
/// since most scenarios have just one.
pub(super) fn outcome(catalogue: &Catalogue, scenario: &Path, outcome: &Outcome) -> Map<String, Value> {
    let mut map = origin(catalogue, scenario, outcome, None);
    map.insert("title".into(), json!(outcome.title));
    map.insert("purpose".into(), json!(outcome.purpose));
    if let Some(first) = outcome.trials.first() {
        for (key, value) in &first.findings.values {
            map.entry(key.clone()).or_insert_with(|| value.clone());
        }
    }
    let trials: Vec<Value> = outcome
        .trials
        .iter()
        .map(|judged| {
            let trial = &judged.trial;
            let mut map = Map::new();
            map.insert("trial".into(), json!(trial.title));
            map.insert("setup".into(), json!(trial.setup_title));
            map.insert("setup_sha256".into(), json!(trial.setup_hash));
            map.extend(judged.findings.values.clone());
            map.insert("broke_off".into(), json!(trial.error.as_ref().map(ToString::to_string)));
            let work = trial.run.work();
            map.insert(
                "work".into(),
                json!({"evaluations": work.evaluations, "steps": work.steps, "rejected": work.rejected, "segments": work.segments}),
            );
            Value::Object(map)
        })
        .collect();
    map.insert("trials".into(), Value::Array(trials));
    if !outcome.fits.is_empty() {
        map.insert("fits".into(), outcome.fits.iter().map(fitting).collect());
    }
    map.insert("expectations".into(), checks(outcome));
    map
}

fn checks(outcome: &Outcome) -> Value {
    let check = |c: &Check| {
        json!({"label": c.label, "holds": c.holds, "expected": c.expected, "found": c.found,
               "found_value": c.found_value, "off_by": c.off_by, "file": c.file, "line": c.line})
    };
    outcome.checks.iter().map(check).collect()
}

pub(super) fn pretty(map: &Map<String, Value>) -> String {
    format!("{:#}\n", Value::Object(map.clone()))
}
