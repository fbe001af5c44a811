//! What uncertain values make of each design: how often it succeeds, within what time,
//! and which of them matters.

use comfy_table::{Cell, CellAlignment};
use serde_json::{Map, Value, json};

use super::super::frame::Frame;
use super::super::report::Report;
use super::candidates::{Candidate, Candidates};
use super::table::Table;
use super::values::finite;
use crate::sampling::Scheme;
use crate::statistics::indices::{Index, Indices, first_and_total};
use crate::statistics::{Interval, proportion, quantile};
use crate::text_table::{figure, grid, indented, paragraph};

/// Confidence of every interval.
const CONFIDENCE: f64 = 0.95;
/// Shares of the attempts whose time is told.
const LEVELS: [f64; 3] = [0.1, 0.5, 0.9];
/// Designs that are told.
const TOLD: usize = 6;

/// What is said of the designs under uncertainty.
pub struct Chance {
    odds: Vec<Odds>,
    /// Designs there are.
    of: usize,
    /// Where the scatter of the response comes from, for the first design told.
    causes: Option<Result<Indices, String>>,
}

/// What the draws say of one design.
struct Odds {
    candidate: usize,
    share: f64,
    draws: u64,
    /// Interval of the share and how it was found, or why there is none.
    interval: Result<(Interval, String), String>,
    /// Time to success at each level.
    times: Vec<Result<quantile::Estimate, String>>,
}

impl Chance {
    /// `None` where nothing is drawn.
    pub fn of(table: &Table, candidates: &Candidates, frame: &Frame, report: &Report) -> Option<Chance> {
        let draws = frame.design.chance()?;
        let (success, time) = (table.place(report.success)?, table.place(report.time));
        // the surest first, then the quickest
        let mut order: Vec<usize> = (0..candidates.len()).collect();
        let quick = |i: usize| time.map_or(0.0, |p| candidates.value(i, p));
        order.sort_by(|&a, &b| {
            let sure = candidates.get(b).share.total_cmp(&candidates.get(a).share);
            sure.then_with(|| quick(a).total_cmp(&quick(b)))
        });
        let odds =
            order.iter().take(TOLD).map(|&i| Odds::of(table, frame, candidates, i, success, time)).collect();
        let causes = match (draws.scheme(), order.first(), table.place(&frame.response)) {
            (Scheme::Indices { .. }, Some(&first), Some(response)) => {
                causes(table, frame, &candidates.get(first), response)
            }
            _ => None,
        };
        Some(Chance { odds, of: order.len(), causes })
    }

    pub fn text(&self, frame: &Frame, report: &Report, candidates: &Candidates) -> String {
        let mut out = format!("\nHow sure: share of the draws that {}\n", report.success_in_words);
        let limit = frame.trials.first().map_or(f64::INFINITY, |(_, lasts)| *lasts);
        for odds in &self.odds {
            let name = named(frame, &candidates.get(odds.candidate));
            let interval = match &odds.interval {
                Ok((i, how)) => {
                    format!("95 % interval {:.1} to {:.1} % ({how})", 100.0 * i.low, 100.0 * i.high)
                }
                Err(why) => format!("no interval: {why}"),
            };
            let share = format!("{name}{:.1} % of {}; {interval}", 100.0 * odds.share, odds.draws);
            out.push_str(&paragraph(&share));
            for (level, time) in LEVELS.iter().zip(&odds.times) {
                let seconds = |x: f64| match x {
                    x if x == f64::INFINITY && limit.is_finite() => format!("not within {} s", figure(limit)),
                    x if x.is_infinite() => "not bounded".into(),
                    x => format!("within {} s", figure(x)),
                };
                if let Ok(time) = time {
                    let (low, high) = (seconds(time.interval.low), seconds(time.interval.high));
                    let interval = if low == high { low } else { format!("{low} to {high}") };
                    out.push_str(&format!(
                        "    {} of {:.0} % of the draws: {} (95 % interval {interval})\n",
                        report.time,
                        100.0 * level,
                        seconds(time.value)
                    ));
                }
            }
        }
        if self.of > self.odds.len() {
            out.push_str(&format!("  … and {} more designs\n", self.of - self.odds.len()));
        }
        self.causes_text(&mut out, frame);
        out
    }

    fn causes_text(&self, out: &mut String, frame: &Frame) {
        let Some(causes) = &self.causes else { return };
        out.push_str(&format!(
            "\nWhere the scatter of {} comes from (Sobol' indices, shares of its variance)\n",
            frame.response
        ));
        let indices = match causes {
            Ok(indices) => indices,
            Err(why) => return out.push_str(&format!("  not told: {why}\n")),
        };
        let cell = |index: &Index| match index.interval {
            Some(i) => format!("{:.3} ({:.3} to {:.3})", index.value, i.low, i.high),
            None => format!("{:.3}", index.value),
        };
        let mut grid = grid(["", "alone", "with interactions"]);
        for ((axis, first), total) in frame.design.uncertain().iter().zip(&indices.first).zip(&indices.total)
        {
            let right = |text: String| Cell::new(text).set_alignment(CellAlignment::Right);
            grid.add_row([Cell::new(&axis.name), right(cell(first)), right(cell(total))]);
        }
        out.push_str(&indented(&grid.to_string()));
        let left_out = match indices.dropped {
            0 => String::new(),
            n => format!("; {n} base rows left out, in which some point has no {}", frame.response),
        };
        out.push_str(&paragraph(&format!(
            "first order as Saltelli et al. 2010, total as Jansen 1999; {} base rows{left_out}; 95 % intervals from the scatter \
             among sets; standard deviation {}",
            indices.rows,
            figure(indices.variance.sqrt())
        )));
    }

    pub fn values(&self, frame: &Frame) -> Map<String, Value> {
        let interval = |i: &Interval| json!({"low": finite(i.low), "high": finite(i.high)});
        let odds: Vec<Value> = self
            .odds
            .iter()
            .map(|odds| {
                let times: Vec<Value> = LEVELS
                    .iter()
                    .zip(&odds.times)
                    .map(|(level, time)| match time {
                        Ok(t) => json!({"level": level, "value": finite(t.value), "low": finite(t.interval.low), "high": finite(t.interval.high)}),
                        Err(why) => json!({"level": level, "value": null, "why": why}),
                    })
                    .collect();
                let (limits, method) = match &odds.interval {
                    Ok((i, how)) => (interval(i), how.clone()),
                    Err(why) => (Value::Null, why.clone()),
                };
                json!({"share": odds.share, "draws": odds.draws, "interval": limits, "method": method,
                       "confidence": CONFIDENCE, "times": times})
            })
            .collect();
        let mut map = Map::new();
        map.insert("chance".into(), Value::Array(odds));
        if let Some(Ok(indices)) = &self.causes {
            let told = |list: &[Index]| -> Map<String, Value> {
                let names = frame.design.uncertain().iter().map(|a| a.name.clone());
                let value =
                    |i: &Index| json!({"value": i.value, "interval": i.interval.as_ref().map(interval)});
                names.zip(list.iter().map(value)).collect()
            };
            map.insert(
                "causes".into(),
                json!({"of": frame.response, "first": told(&indices.first), "total": told(&indices.total)}),
            );
        }
        map
    }
}

impl Odds {
    fn of(
        table: &Table,
        frame: &Frame,
        candidates: &Candidates,
        candidate: usize,
        success: usize,
        time: Option<usize>,
    ) -> Odds {
        let rows = &candidates.get(candidate);
        let sets = by_set(table, frame, rows, |row| table.column(success)[row]);
        // who does not succeed is not there in any time
        let times = |row: usize| match time.map(|p| table.column(p)[row]) {
            Some(t) if table.column(success)[row] == 1.0 && t.is_finite() => t,
            _ => f64::INFINITY,
        };
        let times = by_set(table, frame, rows, times);
        let independent = matches!(frame.design.chance().map(|d| d.scheme()), Some(Scheme::Random { .. }));
        let counted: Vec<(u64, u64)> =
            sets.iter().map(|s| (s.iter().filter(|&&x| x == 1.0).count() as u64, s.len() as u64)).collect();
        let draws = counted.iter().map(|c| c.1).sum();
        let successes: u64 = counted.iter().map(|c| c.0).sum();
        let interval = if independent {
            let exact = proportion::exact(successes, draws, CONFIDENCE);
            exact.map(|i| (i, "Clopper and Pearson's, for independent draws".to_string()))
        } else {
            let found = proportion::replicated(&counted, CONFIDENCE);
            found.map(|e| (e.interval, format!("{}, {} sets", e.method, counted.len())))
        };
        let at = |&level: &f64| {
            let found = if independent {
                quantile::independent(&times.concat(), level, CONFIDENCE)
            } else {
                quantile::replicated(&times, level, CONFIDENCE)
            };
            found.map_err(|e| e.to_string())
        };
        Odds {
            candidate,
            share: rows.share,
            draws,
            interval: interval.map_err(|e| e.to_string()),
            times: LEVELS.iter().map(at).collect(),
        }
    }
}

/// Values of a design's rows, by the set their draws belong to.
fn by_set(table: &Table, frame: &Frame, rows: &Candidate, value: impl Fn(usize) -> f64) -> Vec<Vec<f64>> {
    let Some(draws) = frame.design.chance() else { return Vec::new() };
    let mut sets = vec![Vec::new(); draws.sets() as usize];
    for row in rows.row..rows.end {
        let set = draws.set_of(table.index[row] % frame.design.draws_per_design());
        if let Some(set) = sets.get_mut(set as usize) {
            set.push(value(row));
        }
    }
    // a condition of the study may have left a set without points
    sets.retain(|set| !set.is_empty());
    sets
}

/// Sobol' indices of the response over a design's draws.
fn causes(
    table: &Table,
    frame: &Frame,
    rows: &Candidate,
    response: usize,
) -> Option<Result<Indices, String>> {
    let draws = frame.design.chance()?;
    let per_set = draws.per_set() as usize;
    let mut groups = vec![vec![None; per_set]; draws.sets() as usize];
    for row in rows.row..rows.end {
        let draw = (table.index[row] % frame.design.draws_per_design()) as usize;
        let value = table.column(response)[row];
        if let Some(place) = groups.get_mut(draw / per_set).and_then(|g| g.get_mut(draw % per_set)) {
            *place = Some(value).filter(|v| v.is_finite());
        }
    }
    Some(match first_and_total(&groups, frame.design.uncertain().len(), CONFIDENCE) {
        Ok(Some(indices)) => Ok(indices),
        Ok(None) => Err(format!("{} does not scatter", frame.response)),
        Err(error) => Err(error.to_string()),
    })
}

/// A design by its values, with a colon.
fn named(frame: &Frame, candidate: &Candidate) -> String {
    let at = frame.design.at(candidate.design * frame.design.draws_per_design());
    let values: Vec<String> = frame
        .design
        .axes()
        .iter()
        .zip(at)
        .map(|(axis, at)| {
            format!("{} {} {}", axis.name, axis.cell(at), axis.unit.name).trim_end().to_string()
        })
        .collect();
    if values.is_empty() { String::new() } else { format!("{}: ", values.join(", ")) }
}
