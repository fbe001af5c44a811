//! Quantities that say whether the formulas are used where their sources speak.
//! Each stays well inside its range while its formula carries nothing.

use super::forces::Forces;
use super::savitsky::porpoising_trim;
use engine::smooth::smoothstep;

/// Trim in the middle of Savitsky's range, 2° to 15° \[rad\].
const MID_TRIM: f64 = 8.5 * std::f64::consts::PI / 180.0;
/// Margin shown while no porpoising chart applies \[rad\].
const NO_LIMIT: f64 = 20.0 * std::f64::consts::PI / 180.0;

/// √(C_L/2) of the load the board carries while planing, and how far
/// Savitsky's charts apply, 0–1: planing, and √(C_L/2) above 0.10–0.13, where
/// his Fig. 18 begins. Below, a foil carries nearly all.
fn charted(f: &Forces, rho: f64, g: f64, beam: f64) -> (f64, f64) {
    // C_v below 0.5 is not planing: the floor only keeps the quotient finite
    let c_v = f.c_v.max(0.5);
    let c_l = f.load / (0.5 * rho * g * beam * beam * beam * c_v * c_v);
    let s = (0.5 * c_l).max(0.0).sqrt();
    (s, f.planing * smoothstep((s - 0.10) / 0.03))
}

/// Porpoising limit less trim, while planing \[rad\]; negative: the board may porpoise.
pub fn porpoising_margin(f: &Forces, trim: f64, rho: f64, g: f64, beam: f64) -> f64 {
    let (s, share) = charted(f, rho, g, beam);
    let limit = porpoising_trim(2.0 * s * s).to_radians();
    NO_LIMIT + share * (limit - trim - NO_LIMIT)
}

/// Trim at which Savitsky's formulas are asked \[rad\]; mid-range where they carry nothing.
pub fn planing_trim(f: &Forces, trim: f64, rho: f64, g: f64, beam: f64) -> f64 {
    MID_TRIM + charted(f, rho, g, beam).1 * (trim - MID_TRIM)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_trimmed_heavy_plate_porpoises_and_a_floating_one_does_not() {
        // √(C_L/2) 0.2 at C_v 3: C_L 0.08, load 0.08 × ½ ρ g b³ C_v²; limit 3.8° ± 0.3° (Fig. 18)
        let planing = Forces { load: 0.36 * 9810.0 * 0.343, c_v: 3.0, planing: 1.0, ..Forces::default() };
        let margin = |f: &Forces, deg: f64| porpoising_margin(f, deg.to_radians(), 1000.0, 9.81, 0.7);
        assert!(margin(&planing, 3.4) > 0.0);
        assert!(margin(&planing, 4.2) < 0.0);
        let floating = Forces { c_v: 0.0, planing: 0.0, ..planing };
        assert_eq!(margin(&floating, 10.0), NO_LIMIT);
        assert_eq!(planing_trim(&floating, -0.3, 1000.0, 9.81, 0.7), MID_TRIM);
    }
}
