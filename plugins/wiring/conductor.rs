//! Direct-current resistance of cables and contacts.

/// Cross-section \[mm²\] and greatest resistance at 20 °C [Ω/km], plain copper and tinned copper.
///
/// # Source
/// IEC 60228, class 5 (flexible) conductors for single-core and multi-core cables.
pub const CLASS_5: [(f64, f64, f64); 10] = [
    (1.5, 13.3, 13.7),
    (2.5, 7.98, 8.21),
    (4.0, 4.95, 5.09),
    (6.0, 3.30, 3.39),
    (10.0, 1.91, 1.95),
    (16.0, 1.21, 1.24),
    (25.0, 0.780, 0.795),
    (35.0, 0.554, 0.565),
    (50.0, 0.386, 0.393),
    (70.0, 0.272, 0.277),
];

/// Resistance per metre [Ω/m] at 20 °C of a class 5 conductor of nominal `area` \[m²\]; `None` for a size the standard's table does not have.
pub fn resistance_per_metre(area: f64, tinned: bool) -> Option<f64> {
    let nominal = area * 1e6;
    CLASS_5
        .iter()
        // sizes are far apart: a thousandth only forgives the conversion from mm²
        .find(|(size, ..)| (size / nominal - 1.0).abs() < 1e-3)
        .map(|&(_, plain, tin)| 1e-3 * if tinned { tin } else { plain })
}

/// Resistance \[Ω\] at 20 °C of a battery lead of `run` \[m\], counted there **and** back, with `contacts` contacts of `contact` \[Ω\] each.
pub fn battery_side(per_metre: f64, run: f64, contacts: f64, contact: f64) -> f64 {
    2.0 * run * per_metre + contacts * contact
}

/// Line-to-line resistance \[Ω\] at 20 °C that three motor leads of `run` \[m\] add: two leads, and the contacts of two leads.
pub fn phase_side(per_metre: f64, run: f64, contacts_per_lead: f64, contact: f64) -> f64 {
    2.0 * (run * per_metre + contacts_per_lead * contact)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_between_the_table_are_refused() {
        assert_eq!(resistance_per_metre(12e-6, false), None);
        assert_eq!(resistance_per_metre(f64::NAN, false), None);
        assert_eq!(resistance_per_metre(0.0, false), None);
    }

    #[test]
    fn thicker_is_better_and_tin_costs_a_little() {
        assert!(CLASS_5.windows(2).all(|w| w[1].1 < w[0].1));
        assert!(CLASS_5.iter().all(|(_, plain, tin)| (1.0..1.04).contains(&(tin / plain))));
    }

    #[test]
    fn connectors_count_once_each() {
        assert!((battery_side(0.0, 1.0, 4.0, 0.5e-3) - 2e-3).abs() < 1e-18);
        assert!((phase_side(0.0, 1.0, 1.0, 0.5e-3) - 1e-3).abs() < 1e-18);
    }
}
