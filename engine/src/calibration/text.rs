//! What was found, for a person and for a machine.

use serde_json::{Map, Value, json};

use super::found::Calibrated;
use super::set::Set;
use super::unknowns::Sought;
use crate::fit::Residual;
use crate::fit::setup::UNLIKELY;
use crate::text_table::{figure, paragraph, table};

/// Chance below which more is left over than one would expect.
const SELDOM: f64 = 0.05;
/// Standard uncertainties beyond which a reading is said to be odd.
const ODD: f64 = 3.0;
/// Most odd readings named.
const NAMED: usize = 12;

/// Moments of a log that are shown.
const MOMENTS: usize = 12;

/// Residuals of one quantity of one set.
struct Group<'a> {
    set: &'a Set,
    quantity: &'a str,
    residuals: Vec<&'a Residual>,
}

impl Calibrated {
    /// Words and tables.
    pub fn text(&self, title: &str) -> String {
        let mut out = format!("{title}\n\n");
        out.push_str(&paragraph(&self.opening()));
        out.push_str(&self.parameters());
        out.push_str(&paragraph(&self.verdict()));
        for words in self.cautions() {
            out.push_str(&paragraph(&words));
        }
        out.push_str("\nWhat is left over, in standard uncertainties of a reading\n");
        out.push_str(&self.left_over());
        for set in self.problem.sets.iter().filter(|set| set.in_time()) {
            out.push_str(&format!("\n\"{}\": read / predicted\n", set.name));
            out.push_str(&self.beside(set));
        }
        out
    }

    /// Some moments of a log, each quantity as read beside its prediction.
    fn beside(&self, set: &Set) -> String {
        let sites = self.problem.sites();
        let mine = sites
            .iter()
            .zip(&self.fitted.residuals)
            .filter(|(s, _)| self.problem.sets[s.set].name == set.name);
        let mine: Vec<_> = mine.map(|(site, residual)| (site.spot, residual)).collect();
        let mut rows: Vec<usize> = mine.iter().map(|(spot, _)| spot.row).collect();
        rows.dedup();
        let step = rows.len().div_ceil(MOMENTS).max(1);
        let seen: Vec<usize> =
            (0..set.channels.len()).filter(|&c| mine.iter().any(|(s, _)| s.channel == c)).collect();
        let heads = seen.iter().map(|&c| {
            let (part, kind) = set.channels[c].quantity.split_once('.').unwrap_or_default();
            format!("{part}\n{kind}\n{}", set.readings.columns[set.channels[c].column].unit.name)
        });
        let heads: Vec<String> = std::iter::once("line".into()).chain(heads).collect();
        let cell = |row: usize, c: usize| {
            let found = mine.iter().find(|(spot, _)| spot.row == row && spot.channel == c);
            found.map_or("-".into(), |(_, r)| {
                format!("{} / {}", shown(set, c, r.observed), shown(set, c, r.predicted))
            })
        };
        let line = |row: usize| {
            let cells = seen.iter().map(move |&c| cell(row, c));
            std::iter::once(set.readings.rows[row].line.to_string()).chain(cells).collect::<Vec<String>>()
        };
        table(heads, rows.iter().step_by(step).map(|&row| line(row)))
    }

    /// Headings and rows of a table with every reading and its prediction, SI.
    pub fn rows(&self) -> (Vec<String>, Vec<Vec<Value>>) {
        let heads = [
            "readings",
            "line",
            "time [s]",
            "quantity",
            "unit",
            "read",
            "predicted",
            "standard_uncertainty",
            "left_over_in_standard_uncertainties",
            "stands_out",
        ];
        let finite = |x: f64| if x.is_finite() { json!(x) } else { Value::Null };
        let row = |(site, r): (super::Site, &Residual)| {
            let set = &self.problem.sets[site.set];
            let channel = &set.channels[site.spot.channel];
            let sd = set.observation(site.spot).sd;
            vec![
                json!(set.name),
                json!(set.readings.rows[site.spot.row].line),
                finite(set.time(site.spot.row)),
                json!(channel.quantity),
                json!(channel.unit),
                finite(r.observed),
                finite(r.predicted),
                finite(sd),
                finite(r.normalised),
                json!(set.stands_out(site.spot)),
            ]
        };
        let rows = self.problem.sites().into_iter().zip(&self.fitted.residuals).map(row).collect();
        (heads.map(String::from).to_vec(), rows)
    }

    fn opening(&self) -> String {
        let sets = &self.problem.sets;
        let names: Vec<String> = sets
            .iter()
            .map(|set| {
                let rows =
                    if set.rows.len() == 1 { "one row".into() } else { format!("{} rows", set.rows.len()) };
                format!("\"{}\" ({rows} of {})", set.name, set.file)
            })
            .collect();
        format!(
            "{} readings, {} sought. Readings: {}.",
            self.fitted.residuals.len(),
            match self.fitted.values.len() {
                1 => "one parameter".into(),
                n => format!("{n} parameters"),
            },
            names.join(", ")
        )
    }

    fn parameters(&self) -> String {
        let row = |(j, sought): (usize, &Sought)| {
            let (value, error) = (self.fitted.values[j], self.fitted.errors[j]);
            let unit = sought.unit;
            let found = if value.is_finite() { figure(unit.of(value)) } else { "-".into() };
            let error = match error.is_finite() {
                true => figure(error / unit.factor),
                false => "not told".into(),
            };
            [sought.unknown.name.clone(), sought.before.clone(), found, error, unit.name.to_owned()]
        };
        let heads = ["parameter", "known before", "found", "standard\nerror", "unit"];
        table(heads, self.problem.sought.iter().enumerate().map(row))
    }

    fn verdict(&self) -> String {
        let fitted = &self.fitted;
        if let Some(why) = &fitted.unfinished {
            return format!(
                "THE SEARCH CAME TO NO END ({why}, after {} predictions): these values are the best it had and no best fit, \
                 standard errors mean little, and no setup is written. Weighted squares left over: {} from {} readings. Look \
                 first whether a column or its unit was misread, then whether what is known beforehand holds the truth.",
                fitted.evaluations,
                figure(fitted.chi2),
                fitted.residuals.len()
            );
        }
        let squares = format!(
            "Weighted squares left over: {} at {} degrees of freedom.",
            figure(fitted.chi2),
            fitted.dof
        );
        match fitted.chance() {
            None => format!("{squares} Nothing is left over to tell whether the model fits."),
            Some(chance) if chance < UNLIKELY => format!(
                "{squares} If model and uncertainties were right, so much would be left over in {} of cases: the model \
                 does not fit these readings within their uncertainties, and the standard errors are too small.",
                percent(chance)
            ),
            Some(chance) if chance > 1.0 - UNLIKELY => format!(
                "{squares} If model and uncertainties were right, so little would be left over in {} of cases: the \
                 uncertainties that were told are likely too large, and the standard errors with them, or readings are no \
                 readings of their own.",
                percent(1.0 - chance)
            ),
            Some(chance) if chance < SELDOM => format!(
                "{squares} If model and uncertainties are right, at least so much is left over in {} of cases: more than one \
                 would expect, and not enough to speak against the model. Look at what is left over below.",
                percent(chance)
            ),
            Some(chance) => format!(
                "{squares} If model and uncertainties are right, at least so much is left over in {} of cases: nothing \
                 speaks against the model.",
                percent(chance)
            ),
        }
    }

    fn groups(&self) -> Vec<Group<'_>> {
        let mut groups: Vec<Group> = Vec::new();
        for (site, residual) in self.problem.sites().into_iter().zip(&self.fitted.residuals) {
            let set = &self.problem.sets[site.set];
            let quantity = set.channels[site.spot.channel].quantity.as_str();
            match groups.iter_mut().find(|g| g.set.name == set.name && g.quantity == quantity) {
                Some(group) => group.residuals.push(residual),
                None => groups.push(Group { set, quantity, residuals: vec![residual] }),
            }
        }
        groups
    }

    fn left_over(&self) -> String {
        let row = |group: &Group| {
            let n = group.residuals.len() as f64;
            let mean = group.residuals.iter().map(|r| r.normalised).sum::<f64>() / n;
            let rms = (group.residuals.iter().map(|r| r.normalised.powi(2)).sum::<f64>() / n).sqrt();
            let worst = group
                .residuals
                .iter()
                .map(|r| r.normalised)
                .fold(0.0, |a: f64, b| if b.abs() > a.abs() { b } else { a });
            let numbers = [mean, rms, worst].map(|x| format!("{x:+.2}"));
            let [mean, rms, worst] = numbers;
            [
                group.set.name.clone(),
                group.quantity.to_owned(),
                format!("{n}"),
                mean,
                rms.replace('+', ""),
                worst,
            ]
        };
        let heads = ["readings", "quantity", "number", "mean", "root mean\nsquare", "farthest"];
        let mut out = table(heads, self.groups().iter().map(row));
        let sites = self.problem.sites();
        let far = sites.iter().zip(&self.fitted.residuals).filter(|(_, r)| r.normalised.abs() > ODD);
        let told = |(site, r): (&super::Site, &Residual)| {
            let (set, c) = (&self.problem.sets[site.set], site.spot.channel);
            let unit = set.readings.columns[set.channels[c].column].unit.name;
            let [read, fits] = [r.observed, r.predicted].map(|x| shown(set, c, x));
            format!("{} read {read} where {fits} {unit} fits", r.label)
        };
        let odd: Vec<String> = far.map(told).collect();
        if !odd.is_empty() {
            let more = odd.len().saturating_sub(NAMED);
            let rest = if more > 0 { format!("; and {more} more") } else { String::new() };
            out.push_str(&paragraph(&format!("Odd readings: {}{rest}.", odd[..odd.len() - more].join("; "))));
        }
        out
    }

    /// The same for a machine.
    pub fn values(&self) -> Map<String, Value> {
        let fitted = &self.fitted;
        let finite = |x: f64| if x.is_finite() { json!(x) } else { Value::Null };
        let parameter = |(j, sought): (usize, &Sought)| {
            let interval = fitted.interval(&sought.unknown.name, 0.95).ok();
            json!({"parameter": sought.parameter, "set": sought.set, "unit": sought.dimension.si,
                   "known_before": sought.before, "value": finite(fitted.values[j]),
                   "standard_error": finite(fitted.errors[j]),
                   "interval_95": interval.map(|i| [finite(i.low), finite(i.high)])})
        };
        let residual = |(site, r): (super::Site, &Residual)| {
            let set = &self.problem.sets[site.set];
            let spot = site.spot;
            json!({"set": set.name, "line": set.readings.rows[spot.row].line,
                   "quantity": set.channels[spot.channel].quantity, "read": finite(r.observed),
                   "predicted": finite(r.predicted), "in_standard_uncertainties": finite(r.normalised),
                   "stands_out": set.stands_out(spot)})
        };
        let mut map = Map::new();
        let mut put = |key: &str, value: Value| map.insert(key.into(), value);
        put("readings", json!(fitted.residuals.len()));
        put("parameters", self.problem.sought.iter().enumerate().map(parameter).collect());
        put("correlations", json!(fitted.correlations));
        put("weighted_squares", finite(fitted.chi2));
        put("degrees_of_freedom", json!(fitted.dof));
        put("chance", json!(fitted.chance()));
        put("unfinished", json!(fitted.unfinished));
        put("weighted_squares_elsewhere", json!(self.elsewhere));
        put("not_told", json!(fitted.unidentified.iter().map(ToString::to_string).collect::<Vec<_>>()));
        put("on_a_bound", json!(fitted.at_bound.iter().map(|(name, _)| name).collect::<Vec<_>>()));
        put("residuals", self.problem.sites().into_iter().zip(&fitted.residuals).map(residual).collect());
        map
    }
}

/// A value in the model's terms as it would stand in its column.
fn shown(set: &Set, channel: usize, value: f64) -> String {
    let channel = &set.channels[channel];
    figure(set.readings.columns[channel.column].unit.of(value / channel.factor))
}

fn percent(share: f64) -> String {
    match 100.0 * share {
        p if p < 0.1 => "less than 0.1 %".into(),
        p if p < 10.0 => format!("{p:.1} %"),
        p => format!("{p:.0} %"),
    }
}
