//! What warmth does to a motor's constants.

pub use crate::handbook::copper::resistance_ratio;
use engine::smooth;

/// Torque constant at magnet temperature T [°C] over that at 20 °C: 1 + α (T − 20).
///
/// α is the reversible temperature coefficient of remanence [1/K], negative: sintered NdFeB
/// −0.0009 … −0.0012, SmCo −0.0003 … −0.0005. **Irreversible loss above a grade's limit
/// (about 80 °C plain, 150 °C "SH") is not in this line.** Kept above 0.05, far beyond any such limit.
///
/// # Source
/// Magnet makers' remanence coefficients (example grade −0.119 %/K between 20 and 150 °C).
pub fn magnet_ratio(temperature: f64, alpha: f64) -> f64 {
    0.05 + smooth::positive(0.95 + alpha * (temperature - 20.0), 0.01)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cold_motors_keep_their_data_sheet_and_nothing_turns_negative() {
        // 20 °C is the reference of both; round-off
        assert!((magnet_ratio(20.0, -0.0011) - 1.0).abs() < 1e-15);
        assert_eq!(resistance_ratio(20.0, 20.0), 1.0);
        for t in [-1e6, -300.0, 1e6] {
            assert!(magnet_ratio(t, -0.0011) > 0.0 && resistance_ratio(t, 20.0) > 0.0);
        }
    }
}
