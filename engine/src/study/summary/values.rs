//! A summary for a script and for machines.

use serde_json::{Map, Value, json};

use super::{Summary, axis_places};

impl Summary<'_> {
    /// What a script can ask for: counts, the best in each order of merit, disagreements.
    pub fn values(&self) -> Map<String, Value> {
        let status = |word: &str| self.table.statuses.get(word).copied().unwrap_or(0);
        let skipped: u64 = self.frame.skipped.iter().map(|s| s.points).sum();
        let best: Map<String, Value> = self
            .ranked
            .iter()
            .filter_map(|r| Some((r.merit.name.clone(), self.candidate(*r.order.first()?))))
            .collect();
        let disagreements: Vec<Value> = self
            .disagreements
            .iter()
            .map(|d| {
                json!({"beforehand": self.ranked[d.beforehand].merit.name, "on_the_day": self.ranked[d.on_the_day].merit.name,
                       "stands": d.stands, "value": finite(d.value), "best": finite(d.best), "agreement": d.agreement})
            })
            .collect();
        let rows = self.table.rows() as u64;
        let succeeded: f64 = (0..self.candidates.len())
            .map(|i| self.candidates.get(i))
            .map(|c| c.share * (c.end - c.row) as f64)
            .sum();
        let front: Vec<Value> = self.front.1.iter().map(|&c| self.candidate(c)).collect();
        let mut map = Map::new();
        map.insert("points".into(), json!(self.frame.design.points()));
        map.insert("tried".into(), json!(rows));
        map.insert("skipped".into(), json!(skipped));
        map.insert("succeeded".into(), json!(succeeded.round()));
        map.insert("broke_off".into(), json!(status("broke off")));
        map.insert("refused".into(), json!(status("refused")));
        map.insert("faults".into(), json!(status("fault in a part")));
        map.insert("best".into(), Value::Object(best));
        map.insert("disagreements".into(), Value::Array(disagreements));
        map.insert("trade_off".into(), Value::Array(front));
        if let Some(chance) = &self.chance {
            map.extend(chance.values(self.frame));
        }
        map
    }

    /// A candidate's axes and results, by the names of their columns.
    fn candidate(&self, i: usize) -> Value {
        let candidate = self.candidates.get(i);
        let mut map = Map::new();
        let index = candidate.design * self.frame.design.draws_per_design();
        map.insert("index".into(), json!(index));
        let at = self.frame.design.at(index);
        for ((axis, at), place) in self.frame.design.axes().iter().zip(at).zip(axis_places(self.frame)) {
            let cell = axis.cell(at);
            let value = cell.parse::<f64>().map_or_else(|_| json!(cell), |x| json!(x));
            map.insert(self.frame.headings[place].name.clone(), value);
        }
        map.insert("share".into(), json!(candidate.share));
        for heading in self.frame.headings.iter().filter(|h| Self::is_result(h)) {
            if let Some(place) = self.table.place(&heading.name) {
                map.insert(heading.name.clone(), finite(self.candidates.value(i, place)));
            }
        }
        Value::Object(map)
    }
}

/// A number, or null where there is none.
pub(super) fn finite(x: f64) -> Value {
    if x.is_finite() { json!(x) } else { Value::Null }
}
