//! A comparison in words.

use engine::statistics::uncertainty::Paired;
use engine::text_table::{figure, paragraph, table};

use super::{Comparison, POWER, Pair, Step};

fn percent(share: f64) -> String {
    format!("{:.2} %", 100.0 * share)
}

impl Comparison {
    /// Words and a table of the pairs.
    pub fn text(&self) -> String {
        let (a, b) = (&self.names.0, &self.names.1);
        let mut out = format!("Is {a} better than {b}? {}\n", self.of.0);
        out.push_str(&paragraph(&self.verdict()));
        if let Some((covariate, found)) = &self.corrected {
            out.push_str(&paragraph(&match found {
                Ok(p) => self.drift(covariate.word(), p),
                Err(why) => format!("The drift with {} is not taken out: {why}.", covariate.word()),
            }));
        }
        if self.in_blocks && !self.confounded() && self.result().is_ok() {
            out.push_str(&paragraph(
                "All of one were read before all of the other: whatever drifted meanwhile (charge, warmth, water set going) is in \
                 the difference and in no interval. A few readings of the first once more, at the end, would tell.",
            ));
        }
        out.push_str(&paragraph(&self.repeats()));
        out.push_str(&self.table());
        if self.unpaired != (0, 0) {
            let (of_a, of_b) = self.unpaired;
            out.push_str(&paragraph(&format!(
                "Without a partner at an equal step: {of_a} of {a}, {of_b} of {b}."
            )));
        }
        out.push_str(&paragraph(
            "What the tub does to both alike drops out of the difference; what it does to one more than the other (a larger \
             jet, another depth) does not.",
        ));
        out
    }

    fn verdict(&self) -> String {
        let (a, b) = (&self.names.0, &self.names.1);
        let p = match self.result() {
            Ok(p) => p,
            Err(why) => return format!("Cannot be told: {why}."),
        };
        let confidence = format!("{:.0} %", 100.0 * self.confidence);
        let told = format!(
            "{} of {a} less {b}: {:+.2} % of their mean, {confidence} interval {:+.2} to {:+.2} %, from {} pairs",
            self.of.0,
            100.0 * p.difference,
            100.0 * p.interval.low,
            100.0 * p.interval.high,
            self.pairs.len()
        );
        if self.confounded() {
            return format!(
                "Cannot be told: {told}. By the order in which they were read, the drift asked for and the difference are one."
            );
        }
        if !p.settled() {
            return format!(
                "Not settled: {told}. The interval holds zero: with these readings either may be the better."
            );
        }
        let more = p.difference > 0.0;
        let words = match self.more_is_better {
            Some(better) if better == more => format!("Yes, {a} is better"),
            Some(_) => format!("No, {b} is better"),
            None => format!("{} has more", if more { a } else { b }),
        };
        format!("{words}: {told}.")
    }

    fn drift(&self, word: &str, p: &Paired) -> String {
        let Some((slope, u)) = p.drift else { return String::new() };
        let plain = match &self.plain {
            Ok(plain) => format!("; with it the difference would be {:+.2} %", 100.0 * plain.difference),
            Err(_) => String::new(),
        };
        let counts = if slope.abs() > 2.0 * u { "it counts" } else { "within its uncertainty it is none" };
        format!(
            "Drift with {word}, taken out of the result above: {} (u {}) per unit [SI] of what A was read apart from B, as \
             a share of the mean; {counts}{plain}.",
            figure(slope),
            figure(u)
        )
    }

    fn repeats(&self) -> String {
        let Ok(p) = self.result() else {
            return "How many repeats would settle it cannot be told from these.".into();
        };
        let of = |found: &Option<Result<u64, _>>| match found {
            Some(Ok(n)) => format!("{n} pairs"),
            Some(Err(why)) => format!("no number ({why})"),
            None => "no number".into(),
        };
        format!(
            "Single differences scatter by {} (standard deviation). To find a difference of {}, as found here, {} are needed, \
             and {} for one of {} (each with a chance of {:.0} % of being found). Take them as A B B A, with equal charge \
             and rests.",
            percent(p.scatter),
            percent(p.difference.abs()),
            of(&self.to_settle),
            of(&self.worth.1),
            percent(self.worth.0),
            100.0 * POWER
        )
    }

    fn table(&self) -> String {
        let (a, b) = (&self.names.0, &self.names.1);
        let unit = self.of.1;
        let step = if self.by == Step::Throttle { "throttle" } else { "motor A" };
        let heads = [
            step.to_string(),
            format!("{a}\n{unit}"),
            format!("{b}\n{unit}"),
            "A − B".into(),
            "lines".into(),
        ];
        let row = |pair: &Pair| {
            let (x, y) = pair.values;
            let at = match self.by {
                Step::Throttle => format!("{:.0} %", 100.0 * pair.step),
                Step::MotorCurrent => figure(pair.step),
            };
            let share = format!("{:+.2} %", 200.0 * (x - y) / (x + y));
            [at, figure(x), figure(y), share, format!("{}, {}", pair.lines.0, pair.lines.1)]
        };
        table(heads, self.pairs.iter().map(row))
    }
}
