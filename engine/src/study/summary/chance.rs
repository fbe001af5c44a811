//! x
use super::*;
pub struct Chance;
impl Chance {
    pub fn of(_: &Table, _: &Candidates, _: &Frame, _: &Report) -> Option<Chance> { None }
    pub fn text(&self, _: &Frame, _: &Report, _: &Candidates) -> String { String::new() }
    pub fn values(&self, _: &Frame) -> serde_json::Map<String, serde_json::Value> { Default::default() }
}
