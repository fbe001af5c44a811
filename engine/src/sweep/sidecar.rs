//! The companion of a table: what it was made from, and whether it is whole.

use std::ffi::OsString;
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use serde_json::{Map, Value, json};

use super::Order;
use super::differ::{Difference, differences};
use super::file_error::FileError;
use super::part::Part;

/// Keys of its own, beside those of the origin.
pub(super) const TAKEN: [&str; 5] = ["study_sha256", "rows", "state", "part", "csv_sha256"];

/// A longer one is none of ours.
const LONGEST: u64 = 64 << 20;

/// `table.csv.json` for `table.csv`.
pub fn sidecar_of(path: &Path) -> PathBuf {
    let mut name = OsString::from(path.file_name().unwrap_or_default());
    name.push(".json");
    path.with_file_name(name)
}

/// What a companion says.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sidecar {
    pub origin: Map<String, Value>,
    pub study: String,
    /// Of the whole table, also beside a part.
    pub rows: u64,
    pub part: Option<Part>,
    /// Checksum of the table, once it is whole.
    pub csv: Option<String>,
}

impl Sidecar {
    /// For a table, or a part of one, that is not whole yet.
    pub fn of(order: &Order, part: Option<Part>) -> Sidecar {
        Sidecar { origin: order.origin.clone(), study: order.hash(), rows: order.rows, part, csv: None }
    }

    /// The same, of the finished table.
    pub fn whole(&self, csv: String) -> Sidecar {
        Sidecar { csv: Some(csv), ..self.clone() }
    }

    /// Its text. No time and no name of a machine: the same study gives the same bytes.
    pub fn text(&self) -> String {
        let mut map = self.origin.clone();
        map.insert("study_sha256".into(), json!(self.study));
        map.insert("rows".into(), json!(self.rows));
        if let Some(part) = self.part {
            let range = part.range(self.rows);
            let part = json!({"k": part.k, "of": part.of, "from": range.start, "to": range.end});
            map.insert("part".into(), part);
        }
        map.insert("state".into(), json!(if self.csv.is_some() { "whole" } else { "under way" }));
        if let Some(csv) = &self.csv {
            map.insert("csv_sha256".into(), json!(csv));
        }
        format!("{:#}\n", Value::Object(map))
    }

    /// Reads the companion of `table`; `None` if there is none.
    pub fn read(table: &Path) -> Result<Option<Sidecar>, FileError> {
        let path = sidecar_of(table);
        let mut text = String::new();
        match File::open(&path) {
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(FileError::Io { doing: "opening", path, error }),
            Ok(file) => match file.take(LONGEST + 1).read_to_string(&mut text) {
                Err(error) if error.kind() == std::io::ErrorKind::InvalidData => {
                    return Err(FileError::Sidecar { path, why: "it is no text".into() });
                }
                Err(error) => return Err(FileError::Io { doing: "reading", path, error }),
                Ok(_) => {}
            },
        }
        match parse(&text) {
            Ok(sidecar) => Ok(Some(sidecar)),
            Err(why) => Err(FileError::Sidecar { path, why }),
        }
    }

    /// Everything in which the table that `found` stands beside is not this one; whether whole or not.
    pub fn differences(&self, found: &Sidecar) -> Vec<Difference> {
        let same_rows = self.study == found.study && self.rows == found.rows;
        if same_rows && self.part == found.part {
            return Vec::new();
        }
        // numbers as they read after having been written, as those found have been
        let expected = serde_json::from_str(&Value::Object(self.origin.clone()).to_string());
        let expected = expected.unwrap_or_else(|_| self.origin.clone());
        let mut all = differences(&found.origin, &expected);
        let mut also = |key: &str, found: String, expected: String| {
            if found != expected {
                all.push(Difference { key: key.into(), found: Some(found), expected: Some(expected) });
            }
        };
        also("rows", found.rows.to_string(), self.rows.to_string());
        let part = |part: Option<Part>| part.map_or("the whole".to_string(), |part| format!("{part}"));
        also("part", part(found.part), part(self.part));
        if all.is_empty() {
            let hash = |hash: &str| Some(hash.to_string());
            let key = "the first line or the order of keys: study_sha256".into();
            all.push(Difference { key, found: hash(&found.study), expected: hash(&self.study) });
        }
        all
    }
}

fn parse(text: &str) -> Result<Sidecar, String> {
    if text.len() as u64 > LONGEST {
        return Err(format!("it has more than {LONGEST} bytes"));
    }
    let value: Value = serde_json::from_str(text).map_err(|error| format!("it is no JSON: {error}"))?;
    let Value::Object(mut origin) = value else { return Err("it is no JSON object".into()) };
    // `shift_remove` keeps the order of what stays
    let [study, rows, state, part, csv] = TAKEN.map(|key| origin.shift_remove(key));
    let lacks = |key: &str, what: &str| format!("`{key}` is not {what}");
    let hash = |key: &str, value: Option<Value>| match value {
        Some(Value::String(hash)) if hash.len() == 64 => Ok(hash),
        _ => Err(lacks(key, "a SHA-256 in hexadecimal")),
    };
    let study = hash("study_sha256", study)?;
    let rows = rows.and_then(|rows| rows.as_u64()).ok_or_else(|| lacks("rows", "a number of rows"))?;
    let part = part.map(|part| {
        let number = |key: &str| part.get(key).and_then(Value::as_u64);
        let part = number("k").zip(number("of")).and_then(|(k, of)| Part::new(k, of).ok());
        part.ok_or_else(|| lacks("part", "a part such as {\"k\": 3, \"of\": 8}"))
    });
    let csv = match state.as_ref().and_then(Value::as_str) {
        Some("under way") => None,
        Some("whole") => Some(hash("csv_sha256", csv)?),
        _ => return Err(lacks("state", "`under way` or `whole`")),
    };
    Ok(Sidecar { origin, study, rows, part: part.transpose()?, csv })
}
