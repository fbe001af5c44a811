//! The designs that a study compares, each with what its draws say of it.

use std::rc::Rc;

use super::super::frame::Frame;
use super::super::report::Report;
use super::table::Table;

/// A design: one row, or as many as there are draws of what is uncertain.
#[derive(Debug, Clone, Copy)]
pub struct Candidate {
    /// Number of the design.
    pub design: u64,
    /// Its first row, and the row after its last.
    pub row: usize,
    pub end: usize,
    /// Share of its rows that succeed.
    pub share: f64,
}

/// All designs of a table, by column: a study may have a hundred million.
pub struct Candidates {
    /// Numbers of the designs, in order; [`MOST`](super::super::design::MOST) fits.
    designs: Vec<u32>,
    /// First row of each design, and the number of rows.
    begins: Vec<u32>,
    shares: Vec<f64>,
    /// By column read and design; the table's own where a design is a row.
    values: Vec<Rc<Vec<f64>>>,
}

impl Candidates {
    pub fn of(table: &Table, frame: &Frame, report: &Report) -> Candidates {
        let per_design = frame.design.draws_per_design();
        let design = |row: usize| (table.index[row] / per_design) as u32;
        let (mut designs, mut begins) = (Vec::new(), Vec::new());
        for row in 0..table.rows() {
            if designs.last() != Some(&design(row)) {
                designs.push(design(row));
                begins.push(row as u32);
            }
        }
        begins.push(table.rows() as u32);
        let rows = |at: &[u32]| at[0] as usize..at[1] as usize;
        let success = table.place(report.success).map(|place| table.column(place));
        let share = |at: &[u32]| {
            let rows = rows(at);
            let succeeded = success.map_or(0, |all| all[rows.clone()].iter().filter(|&&x| x == 1.0).count());
            succeeded as f64 / rows.len() as f64
        };
        let shares = begins.windows(2).map(share).collect();
        let values = |place: usize| {
            let column = table.shared(place);
            if designs.len() == table.rows() {
                return column;
            }
            // whether a missing value counts as high or as low
            let highest = frame.merits.iter().any(|m| m.highest && table.place(&m.column) == Some(place));
            Rc::new(begins.windows(2).map(|at| median(&column[rows(at)], highest)).collect())
        };
        let values = (0..table.width()).map(values).collect();
        Candidates { designs, begins, shares, values }
    }

    /// Number of designs.
    pub fn len(&self) -> usize {
        self.designs.len()
    }

    /// A design, by its place in the list.
    pub fn get(&self, i: usize) -> Candidate {
        let (row, end) = (self.begins[i] as usize, self.begins[i + 1] as usize);
        Candidate { design: self.designs[i].into(), row, end, share: self.shares[i] }
    }

    /// A design's value in a column read: of several draws the median, where those that have
    /// none count as the worst; infinite where most have none, NaN where there is none at all.
    pub fn value(&self, i: usize, place: usize) -> f64 {
        self.values[place][i]
    }

    /// Place of a design in the list; designs come in order.
    pub fn find(&self, design: u64) -> Option<usize> {
        self.designs.binary_search_by_key(&design, |&d| d.into()).ok()
    }
}

/// Median, where those without a value are the worst.
fn median(numbers: &[f64], highest: bool) -> f64 {
    if let [alone] = numbers {
        return *alone;
    }
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
