//! A summary for a person.

use comfy_table::{Cell, CellAlignment};

use super::around::Profile;
use super::merits::{Disagreement, Ranked};
use super::{SHOWN_OF_FRONT, Summary, axis_places, some};
use crate::study::{Heading, Role};
use crate::text_table::{figure, grid, indented};

/// Candidates told in each order of merit.
const BEST: usize = 5;

impl Summary<'_> {
    /// The summary for a person; `file` is what the table is called.
    pub fn text(&self, file: &str) -> String {
        let mut out = String::new();
        for line in [&self.frame.scenario_title, &self.frame.purpose] {
            if !line.is_empty() {
                out.push_str(&format!("{line}\n"));
            }
        }
        out.push_str(&format!("\n{}\n", self.frame.title));
        self.varied(&mut out, file);
        self.counted(&mut out);
        // one design is neither better nor worse than another
        if self.candidates.len() > 1 {
            self.ranked.iter().for_each(|ranked| self.best(&mut out, ranked));
        }
        for disagreement in &self.disagreements {
            out.push_str(&format!("\nWarning: {}\n", self.disagreement(disagreement)));
        }
        if !self.disagreements.is_empty() && !self.report.disagreement.is_empty() {
            out.push_str(&format!("  {}\n", self.report.disagreement));
        }
        self.around(&mut out);
        self.traded_off(&mut out);
        if let Some(chance) = &self.chance {
            out.push_str(&chance.text(self.frame, self.report, &self.candidates));
        }
        out
    }

    fn varied(&self, out: &mut String, file: &str) {
        let frame = self.frame;
        for axis in frame.design.all() {
            out.push_str(&format!("  {}\n", axis.describe()));
        }
        let how = frame.describe();
        let words = |key: &str| how.get(key).and_then(|v| v.as_str()).unwrap_or_default().to_string();
        let draws = match words("draws") {
            words if words.is_empty() => String::new(),
            words => format!(", each with {words}"),
        };
        out.push_str(&format!("  Points: {}{draws}; seed {}\n", words("points"), frame.seed));
        for skipped in &frame.skipped {
            out.push_str(&format!("  {} points left out: not \"{}\"\n", skipped.points, skipped.because));
        }
        out.push_str(&format!(
            "  {} of {} points tried, table in {file}\n",
            frame.rows(),
            frame.design.points()
        ));
    }

    fn counted(&self, out: &mut String) {
        let told = |counts: &std::collections::BTreeMap<String, u64>| {
            let mut all: Vec<(&String, &u64)> = counts.iter().collect();
            all.sort_by_key(|(_, n)| std::cmp::Reverse(**n));
            all.iter().map(|(word, n)| format!("{n} {word}")).collect::<Vec<_>>().join(", ")
        };
        if !self.table.tally.is_empty() {
            out.push_str(&format!("  Outcomes: {}\n", told(&self.table.tally)));
        }
        if self.table.statuses.keys().any(|status| status != "ran") {
            out.push_str(&format!(
                "  Not all could be tried: {} (see the column \"failure\")\n",
                told(&self.table.statuses)
            ));
        }
    }

    /// Headings of the columns that a table of candidates shows.
    fn shown_columns(&self) -> Vec<&Heading> {
        let mut shown: Vec<&Heading> = Vec::new();
        let named = self.ranked.iter().map(|r| &r.merit.column).chain(&self.frame.front);
        for name in named {
            let heading = self.frame.headings.iter().find(|h| h.name == *name);
            shown.extend(heading.filter(|h| !shown.iter().any(|s| s.name == h.name)));
        }
        shown
    }

    /// Candidates with their axes and results.
    fn table_of(&self, candidates: &[usize], numbered: bool) -> String {
        let columns = self.shown_columns();
        let uncertain = self.chance.is_some();
        let axes: Vec<usize> = axis_places(self.frame).take(self.frame.design.axes().len()).collect();
        let mut heads: Vec<String> = if numbered { vec!["#".into()] } else { Vec::new() };
        heads.extend(axes.iter().map(|&p| lines(&self.frame.headings[p])));
        if uncertain {
            heads.push("share that\nsucceeds".into());
        }
        heads.extend(
            columns.iter().map(|h| if uncertain { format!("median\n{}", lines(h)) } else { lines(h) }),
        );
        let mut grid = grid(heads);
        for (n, &c) in candidates.iter().enumerate() {
            let candidate = self.candidates.get(c);
            let at = self.frame.design.at(candidate.design * self.frame.design.draws_per_design());
            let mut cells: Vec<String> = if numbered { vec![(n + 1).to_string()] } else { Vec::new() };
            cells.extend(self.frame.design.axes().iter().zip(at).map(|(axis, at)| brief(&axis.cell(at))));
            if uncertain {
                cells.push(format!("{:.1} %", 100.0 * candidate.share));
            }
            cells.extend(columns.iter().map(|h| {
                self.table.place(&h.name).map_or(String::new(), |p| figure(self.candidates.value(c, p)))
            }));
            grid.add_row(cells.into_iter().map(|text| Cell::new(text).set_alignment(CellAlignment::Right)));
        }
        indented(&grid.to_string())
    }

    fn best(&self, out: &mut String, ranked: &Ranked) {
        let way = if ranked.merit.highest { "highest" } else { "lowest" };
        out.push_str(&format!("\nBest by {} ({way})\n", ranked.merit.name));
        out.push_str(&self.table_of(&ranked.order[..ranked.order.len().min(BEST)], true));
    }

    fn disagreement(&self, d: &Disagreement) -> String {
        let (before, day) = (&self.ranked[d.beforehand], &self.ranked[d.on_the_day]);
        let unit =
            self.frame.headings.iter().find(|h| h.name == day.merit.column).map_or("", |h| h.unit.as_str());
        let of = day.order.len();
        let fate = match d.stands {
            Some(stands) => format!(
                "is number {stands} of {of} by {}: {} {unit}, where the best has {} {unit}",
                day.merit.name,
                figure(d.value),
                figure(d.best)
            ),
            None => format!("has no {} at all", day.merit.name),
        };
        let agreement = d.agreement.map_or(String::new(), |share| {
            format!("; of all pairs, the two put {:.0} % in the same order", 100.0 * share)
        });
        format!("the best by {} {fate}{agreement}", before.merit.name)
    }

    fn around(&self, out: &mut String) {
        let Some(ranked) = super::merits::foremost(&self.ranked).filter(|_| !self.profiles.is_empty()) else {
            return;
        };
        out.push_str(&format!(
            "\nAround the best by {}: one value changed, the others as they are there\n",
            ranked.merit.name
        ));
        let (merit, response) = (&ranked.merit.column, &self.frame.response);
        let columns: Vec<&Heading> =
            self.frame.headings.iter().filter(|h| h.name == *merit || h.name == *response).collect();
        let explains: Vec<&&str> =
            self.report.explains.iter().filter(|c| self.frame.column(c).is_some()).collect();
        for profile in &self.profiles {
            let axis = &self.frame.design.axes()[profile.axis];
            let mut heads = vec![axis.heading()];
            heads.extend(columns.iter().map(|h| h.text()));
            heads.extend(explains.iter().map(ToString::to_string));
            let mut grid = grid(heads);
            for (i, (value, candidate)) in profile.levels.iter().enumerate() {
                let mark = if i == profile.best { "> " } else { "" };
                let mut cells =
                    vec![Cell::new(format!("{mark}{}", brief(value))).set_alignment(CellAlignment::Right)];
                match *candidate {
                    Some(c) => {
                        cells.extend(columns.iter().map(|h| {
                            let value =
                                self.table.place(&h.name).map_or(f64::NAN, |p| self.candidates.value(c, p));
                            Cell::new(figure(value)).set_alignment(CellAlignment::Right)
                        }));
                        let row = self.candidates.get(c).row as u64;
                        cells.extend(self.words.get(&row).into_iter().flatten().map(Cell::new));
                    }
                    None => cells.push(Cell::new("left out")),
                }
                grid.add_row(cells);
            }
            out.push_str(&indented(&grid.to_string()));
            out.push_str(&self.sides(profile));
        }
    }

    /// What explains the results below and above the best, where that is not the same.
    fn sides(&self, profile: &Profile) -> String {
        let word = |(_, candidate): &(String, Option<usize>)| {
            let row = self.candidates.get((*candidate)?).row as u64;
            self.words.get(&row)?.first().filter(|word| !word.is_empty())
        };
        let below = profile.levels[..profile.best].iter().find_map(word);
        let above = profile.levels[profile.best..].iter().skip(1).rev().find_map(word);
        match (below, above, self.report.explains.first()) {
            (Some(below), Some(above), Some(what)) if below != above => {
                format!("    {what}: {below} towards the first of these, {above} towards the last\n")
            }
            _ => String::new(),
        }
    }

    fn traded_off(&self, out: &mut String) {
        let (columns, front) = &self.front;
        if front.is_empty() || self.candidates.len() < 2 {
            return;
        }
        let shown = some(front, SHOWN_OF_FRONT);
        let names = columns.join(", ");
        out.push_str(&format!(
            "\nTrade-off between {names}: {} candidates that none beats in all of them",
            front.len()
        ));
        out.push_str(if shown.len() < front.len() { "; some of them\n" } else { "\n" });
        out.push_str(&self.table_of(&shown, false));
    }

    /// Whether a column is a result of a trial.
    pub(super) fn is_result(heading: &Heading) -> bool {
        matches!(heading.role, Role::Result(_))
    }
}

/// A heading on several lines, so that tables stay narrow.
fn lines(heading: &Heading) -> String {
    let name = heading.name.replace('.', ".\n");
    if heading.unit.is_empty() { name } else { format!("{name}\n[{}]", heading.unit) }
}

/// Four digits of a number that stands for itself; words as they are.
fn brief(text: &str) -> String {
    text.parse().map_or_else(|_| text.to_string(), figure)
}
