//! What has to be told with what was found.

use super::found::Calibrated;
use super::set::Set;
use super::unknowns::CLOCK;
use crate::text_table::figure;

/// Standard deviations of what was known before beyond which a value is told.
const FAR: f64 = 4.0;
/// Correlations from here on are told.
const CORRELATED: f64 = 0.7;

impl Calibrated {
    /// What has to be told with what was found.
    pub(super) fn cautions(&self) -> Vec<String> {
        let fitted = &self.fitted;
        let mut all: Vec<String> =
            fitted.unidentified.iter().map(|lost| format!("Not told by the readings: {lost}.")).collect();
        if let Some(least) = self.elsewhere.iter().copied().reduce(f64::min) {
            all.push(format!(
                "From elsewhere the search ended at another place, with weighted squares of {} against {}: there are several \
                 best places, and standard errors know of one only. Where the difference is a few, either may hold the truth.",
                figure(least),
                figure(fitted.chi2)
            ));
        }
        for (name, _) in &fitted.at_bound {
            all.push(format!(
                "{name} is on a bound of what is known of it or of what its part takes: it would go on if it might. Something else \
                 is likely wrong, and the values beside it make up for it."
            ));
        }
        all.extend(self.far_off());
        let mut pairs = Vec::new();
        for (i, row) in fitted.correlations.iter().enumerate() {
            for (j, r) in row.iter().enumerate().take(i).filter(|(_, r)| r.abs() >= CORRELATED) {
                pairs.push(format!("{} and {} ({r:+.2})", fitted.names[j], fitted.names[i]));
            }
        }
        if !pairs.is_empty() {
            all.push(format!("Known together better than each by itself: {}.", pairs.join("; ")));
        }
        for set in &self.problem.sets {
            for (line, column, reason) in &set.left_out {
                all.push(format!(
                    "\"{}\", line {line} {column}: left out by the script: {reason}.",
                    set.name
                ));
            }
            let out: Vec<String> = standing_out(set);
            if !out.is_empty() {
                let done = if set.leave_out { "left out as the script asks" } else { "used all the same" };
                all.push(format!(
                    "Readings of \"{}\" that stand out among their like, {done}: {}.",
                    set.name,
                    out.join(", ")
                ));
            }
        }
        all.push(
            "What is told of a reading is taken to be chance, new in every row. What all rows of an instrument share (a gain, \
             a slope, a zero) makes more rows no surer: it counts only if it is sought, too."
                .into(),
        );
        all.extend(self.clocks());
        all.extend(self.counted_twice());
        all.extend(self.unused());
        for file in self.problem.files() {
            // sets of a file share its table
            let set =
                self.problem.sets.iter().find(|set| set.file == file && !set.readings.unread.is_empty());
            if let Some(set) = set {
                all.push(format!(
                    "Columns of {} that nothing was asked of: {}.",
                    set.file,
                    set.readings.unread.join(", ")
                ));
            }
        }
        all
    }

    /// Parameters that ended where what was known of them would hardly have them.
    fn far_off(&self) -> Option<String> {
        let each = self.problem.sought.iter().zip(&self.fitted.values);
        let far: Vec<String> = each
            .filter_map(|(sought, value)| {
                let prior = sought.unknown.prior?;
                let off = prior.off(*value);
                (off.abs() > FAR).then(|| format!("{} ({off:+.1})", sought.unknown.name))
            })
            .collect();
        (!far.is_empty()).then(|| {
            format!(
                "Far from what was known before, in its standard deviations: {}. Either that was not known so well, or the \
                 readings or the model are wrong.",
                far.join(", ")
            )
        })
    }

    /// What lies in a file and is not used, without anybody having said so.
    fn unused(&self) -> Vec<String> {
        let mut all = Vec::new();
        for set in &self.problem.sets {
            let blank = |c: &&super::Channel| set.rows.iter().all(|&row| set.read_at(row, c).is_none());
            for channel in set.channels.iter().filter(blank) {
                let column =
                    set.readings.columns.get(channel.column).map_or("", |column| column.name.as_str());
                all.push(format!("\"{}\": nothing was read in the column {column}.", set.name));
            }
        }
        for file in self.problem.files() {
            let of_file: Vec<&Set> = self.problem.sets.iter().filter(|set| set.file == file).collect();
            let used = |row: &usize| of_file.iter().any(|set| set.rows.binary_search(row).is_ok());
            let mut left: Vec<&str> = Vec::new();
            let rows = of_file.first().map_or(&[][..], |set| &set.readings.rows);
            for (_, row) in rows.iter().enumerate().filter(|(place, _)| !used(place)) {
                if !left.contains(&row.group.as_str()) {
                    left.push(&row.group);
                }
            }
            if !left.is_empty() {
                all.push(format!(
                    "Groups of {file} that nothing in this fit takes: \"{}\".",
                    left.join("\", \"")
                ));
            }
        }
        all
    }

    /// Where a model does not fit a log, its clock may be the reason.
    fn clocks(&self) -> Option<String> {
        let sought = |set: &&Set| {
            let mut sought = self.problem.sought.iter();
            !sought.any(|s| s.parameter == CLOCK && s.set.as_ref() == Some(&set.name))
        };
        let timed = self.problem.sets.iter().filter(|set| set.in_time());
        let names: Vec<String> = timed.filter(sought).map(|set| format!("\"{}\"", set.name)).collect();
        let misses = self.misfits();
        (misses && !names.is_empty()).then(|| {
            format!(
                "The clock of {} was taken for the run's own. If it may be ahead or behind, let it be found: \
                 find(\"{}\", values, name of the readings).",
                names.join(", "),
                CLOCK
            )
        })
    }

    /// Rows that several sets are made of.
    fn counted_twice(&self) -> Vec<String> {
        let sets = &self.problem.sets;
        let pairs = (0..sets.len()).flat_map(|a| (0..a).map(move |b| (&sets[b], &sets[a])));
        let shared = pairs
            .filter(|(a, b)| a.file == b.file && b.rows.iter().any(|row| a.rows.binary_search(row).is_ok()));
        shared
            .map(|(a, b)| {
                format!(
                    "\"{}\" and \"{}\" share rows of {}: these readings count twice, and the standard errors are too small.",
                    a.name, b.name, a.file
                )
            })
            .collect()
    }
}

/// Readings of a set that stand out, by line and quantity.
fn standing_out(set: &Set) -> Vec<String> {
    let mut all = Vec::new();
    for &row in &set.rows {
        let row = &set.readings.rows[row];
        for flag in &row.flags {
            let column = set.readings.columns.get(flag.column).map_or("", |c| c.name.as_str());
            all.push(format!("line {} {column}", row.line));
        }
    }
    all
}
