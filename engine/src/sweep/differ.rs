//! In what two descriptions differ.

use std::fmt;

use serde_json::{Map, Value};

/// One place where two descriptions differ.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// Where: keys from the outermost on.
    pub key: String,
    /// What the file says, as JSON, cut if long; `None` where it says nothing.
    pub found: Option<String>,
    /// What was expected.
    pub expected: Option<String>,
}

impl fmt::Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let none = "nothing";
        let (found, expected) = (self.found.as_deref(), self.expected.as_deref());
        write!(f, "{} is {} there and {} here", self.key, found.unwrap_or(none), expected.unwrap_or(none))
    }
}

/// So many are told; who changed everything need not read everything.
const TOLD: usize = 8;

/// All in one line, the first few in full.
pub(super) fn listed(differences: &[Difference]) -> String {
    let mut told: Vec<_> = differences.iter().take(TOLD).map(Difference::to_string).collect();
    if differences.len() > TOLD {
        told.push(format!("and {} more differences", differences.len() - TOLD));
    }
    told.join("; ")
}

/// Everything in which `found` and `expected` differ, in the order of `expected`.
pub(super) fn differences(found: &Map<String, Value>, expected: &Map<String, Value>) -> Vec<Difference> {
    let mut all = Vec::new();
    maps("", found, expected, &mut all);
    // the order of keys decides the hash as well
    if all.is_empty() && !found.keys().eq(expected.keys()) {
        let keys = |map: &Map<String, Value>| Some(short(&map.keys().cloned().collect::<Vec<_>>().into()));
        all.push(Difference { key: "order of keys".into(), found: keys(found), expected: keys(expected) });
    }
    all
}

fn maps(at: &str, found: &Map<String, Value>, expected: &Map<String, Value>, all: &mut Vec<Difference>) {
    let gone = found.keys().filter(|key| !expected.contains_key(*key));
    for key in expected.keys().chain(gone) {
        values(&within(at, key), found.get(key), expected.get(key), all);
    }
}

fn values(at: &str, found: Option<&Value>, expected: Option<&Value>, all: &mut Vec<Difference>) {
    match (found, expected) {
        (Some(Value::Object(found)), Some(Value::Object(expected))) => maps(at, found, expected, all),
        (Some(Value::Array(found)), Some(Value::Array(expected))) => {
            for i in 0..found.len().max(expected.len()) {
                values(&format!("{at}[{i}]"), found.get(i), expected.get(i), all);
            }
        }
        (found, expected) if found == expected => {}
        (found, expected) => {
            all.push(Difference { key: at.into(), found: found.map(short), expected: expected.map(short) });
        }
    }
}

/// `a.b`, or `a["b.c"]` where a dot would mislead.
fn within(at: &str, key: &str) -> String {
    let plain = !key.is_empty() && key.chars().all(|c| c.is_alphanumeric() || c == '_');
    match (at.is_empty(), plain) {
        (true, _) => key.into(),
        (false, true) => format!("{at}.{key}"),
        (false, false) => format!("{at}[{key:?}]"),
    }
}

fn short(value: &Value) -> String {
    const LONGEST: usize = 80;
    let text = value.to_string();
    match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", text.get(..end).unwrap_or_default()),
        None => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn of(found: Value, expected: Value) -> Vec<String> {
        let map = |value: &Value| value.as_object().cloned().unwrap_or_default();
        differences(&map(&found), &map(&expected)).iter().map(Difference::to_string).collect()
    }

    #[test]
    fn each_difference_is_named_with_both_values() {
        let found = json!({"seed": 1, "files": {"a.yaml": "00", "b": "x"}, "columns": ["t", "v"], "old": 0});
        let expected = json!({"seed": 2, "files": {"a.yaml": "01", "b": "x"}, "columns": ["t", "w", "z"]});
        let told = [
            "seed is 1 there and 2 here",
            r#"files["a.yaml"] is "00" there and "01" here"#,
            r#"columns[1] is "v" there and "w" here"#,
            r#"columns[2] is nothing there and "z" here"#,
            "old is 0 there and nothing here",
        ];
        assert_eq!(of(found, expected), told);
    }

    #[test]
    fn the_order_of_keys_counts() {
        let told = of(json!({"a": 1, "b": 2}), json!({"b": 2, "a": 1}));
        assert_eq!(told, [r#"order of keys is ["a","b"] there and ["b","a"] here"#]);
        assert!(of(json!({"a": 1}), json!({"a": 1})).is_empty());
    }
}
