//! The designs that a study compares, each with what its draws say of it.

use super::super::frame::Frame;
use super::super::report::Report;
use super::table::Table;

/// A design: one row, or as many as there are draws of what is uncertain.
#[derive(Debug, Clone)]
pub struct Candidate {
    /// Number of the design.
    pub design: u64,
    /// Its first row, and the row after its last.
    pub row: u64,
    pub end: u64,
    /// Share of its rows that succeed.
    pub share: f64,
    /// Its value in each column read: of several draws the median, where those that have
    /// none count as the worst; infinite where most have none, NaN where there is none at all.
    pub values: Vec<f64>,
}

/// All designs of a table.
pub struct Candidates {
    pub all: Vec<Candidate>,
}

impl Candidates {
    pub fn of(table: &Table, frame: &Frame, report: &Report) -> Candidates {
        let per_design = frame.design.draws_per_design();
        let success = table.place(report.success);
        // whether a missing value counts as high or as low
        let highest: Vec<bool> = (0..table.width())
            .map(|place| frame.merits.iter().any(|m| m.highest && table.place(&m.column) == Some(place)))
            .collect();
        let mut all = Vec::new();
        let mut row = 0;
        while row < table.rows() {
            let design = table.index[row] / per_design;
            let end =
                (row..table.rows()).find(|&r| table.index[r] / per_design != design).unwrap_or(table.rows());
            let succeeded =
                success.map_or(0, |p| table.column(p)[row..end].iter().filter(|&&x| x == 1.0).count());
            let value = |place: usize| {
                let numbers = &table.column(place)[row..end];
                if numbers.len() == 1 { numbers[0] } else { median(numbers, highest[place]) }
            };
            all.push(Candidate {
                design,
                row: row as u64,
                end: end as u64,
                share: succeeded as f64 / (end - row) as f64,
                values: (0..table.width()).map(value).collect(),
            });
            row = end;
        }
        Candidates { all }
    }

    /// Place of a design in the list; designs come in order.
    pub fn find(&self, design: u64) -> Option<usize> {
        self.all.binary_search_by_key(&design, |c| c.design).ok()
    }
}

/// Median, where those without a value are the worst.
fn median(numbers: &[f64], highest: bool) -> f64 {
    if numbers.iter().all(|x| x.is_nan()) {
        return f64::NAN;
    }
    let worst = if highest { f64::NEG_INFINITY } else { f64::INFINITY };
    let mut sorted: Vec<f64> = numbers.iter().map(|&x| if x.is_nan() { worst } else { x }).collect();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted.len() / 2;
    if sorted.len() % 2 == 1 || sorted[middle - 1].is_infinite() || sorted[middle].is_infinite() {
        // of two in the middle the worse one, if one of them has no value
        return if highest && sorted.len().is_multiple_of(2) { sorted[middle - 1] } else { sorted[middle] };
    }
    0.5 * (sorted[middle - 1] + sorted[middle])
}

#[cfg(test)]
mod tests {
    use super::median;

    #[test]
    fn those_without_a_value_are_the_worst() {
        assert_eq!(median(&[3.0, 1.0, 2.0], false), 2.0);
        assert_eq!(median(&[3.0, 1.0, 2.0, 4.0], false), 2.5);
        assert_eq!(median(&[1.0, f64::NAN, 2.0], false), 2.0);
        assert_eq!(median(&[1.0, f64::NAN, f64::NAN], false), f64::INFINITY);
        assert_eq!(median(&[1.0, f64::NAN, 2.0], true), 1.0);
        assert_eq!(median(&[1.0, f64::NAN], true), f64::NEG_INFINITY);
        assert!(median(&[f64::NAN, f64::NAN], true).is_nan());
    }
}
