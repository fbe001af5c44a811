//! Grades of metal for arms.

/// Least strength of a grade in a range of thickness.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grade {
    /// Word in a setup.
    pub name: &'static str,
    /// Greatest thickness of this row \[m\].
    pub up_to: f64,
    /// Proof or yield strength Rp0.2 \[Pa\].
    pub proof: f64,
    /// The same beside a weld \[Pa\].
    pub proof_welded: f64,
    /// Young's modulus E \[Pa\].
    pub e: f64,
    /// Shear modulus G \[Pa\].
    pub g: f64,
}

const MPA: f64 = 1e6;
const GPA: f64 = 1e9;

const fn grade(name: &'static str, mm: f64, proof: f64, welded: f64, (e, g): (f64, f64)) -> Grade {
    Grade { name, up_to: mm * 1e-3, proof: proof * MPA, proof_welded: welded * MPA, e: e * GPA, g: g * GPA }
}

const ALUMINIUM: (f64, f64) = (70.0, 27.0);
const STEEL: (f64, f64) = (210.0, 81.0);
const STAINLESS: (f64, f64) = (200.0, 77.0);

/// Grades, thin before thick.
///
/// # Source
/// EN AW-6060 T66 with its weld: EN 755-2 as in EN 1999-1-1, Table 3.2b. **From memory:** EN AW-6082 T6 (same table), S235 and S355 (EN 10025-2,
/// up to 16 mm; a sound weld is taken to cost nothing), 1.4301 (the least of its products, 190 MPa), all moduli.
pub const GRADES: &[Grade] = &[
    grade("6060-T66", 3.0, 160.0, 65.0, ALUMINIUM),
    grade("6060-T66", 25.0, 150.0, 65.0, ALUMINIUM),
    grade("6082-T6", 5.0, 250.0, 125.0, ALUMINIUM),
    grade("6082-T6", 15.0, 260.0, 125.0, ALUMINIUM),
    grade("S235", 16.0, 235.0, 235.0, STEEL),
    grade("S355", 16.0, 355.0, 355.0, STEEL),
    grade("1.4301", 75.0, 190.0, 190.0, STAINLESS),
];

/// Words of the grades.
pub const NAMES: &[&str] = &["6060-T66", "6082-T6", "S235", "S355", "1.4301"];

/// The row of a grade for a thickness \[m\]; `None` beyond the thickest.
pub fn of(name: &str, thickness: f64) -> Option<&'static Grade> {
    // a billionth forgives the conversion from mm
    GRADES.iter().find(|grade| grade.name == name && thickness <= grade.up_to * (1.0 + 1e-9))
}

/// Greatest thickness known of a grade \[m\]; 0 for an unknown one.
pub fn thickest(name: &str) -> f64 {
    GRADES.iter().filter(|grade| grade.name == name).fold(0.0, |t, grade| t.max(grade.up_to))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_has_rows_and_welds_never_help() {
        for name in NAMES {
            assert!(
                of(name, 1e-3).is_some() && of(name, 0.2).is_none() && of(name, f64::NAN).is_none(),
                "{name}"
            );
        }
        assert!(GRADES.iter().all(|grade| NAMES.contains(&grade.name) && grade.proof_welded <= grade.proof));
    }
}
