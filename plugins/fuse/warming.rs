//! How fast a conductor warms while no heat leaves it.

/// Resistivity of copper at 20 °C \[Ω·m\]: 1/58 Ω·mm²/m, the international annealed copper standard (IEC 60028).
const RESISTIVITY: f64 = 1e-6 / 58.0;
/// Heat capacity of copper by volume [J/(m³·K)], 8.9 g/cm³ × 385 J/(kg·K), from memory.
const HEAT: f64 = 8900.0 * 385.0;

/// Rate \[K/s\] at which a copper conductor of `area` \[m²\] at 20 °C warms under `current` \[A\]: ρ (I/A)²/(c γ).
///
/// For information: **no limit of an insulation is known here**, and a warm conductor warms faster (+0.4 %/K).
pub fn adiabatic_rate(current: f64, area: f64) -> f64 {
    RESISTIVITY / HEAT * (current / area).powi(2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_heat_is_what_the_resistance_makes() {
        // one metre of 10 mm² at 60 A: I² R over m c, worked out by the length instead of by the volume
        let watts = 60f64.powi(2) / 58.0 / 10.0;
        let joules_per_kelvin = 8.9e-3 * 1000.0 * 10.0 / 1000.0 * 385.0;
        assert!((adiabatic_rate(60.0, 10e-6) - watts / joules_per_kelvin).abs() < 1e-12);
        assert_eq!(adiabatic_rate(0.0, 10e-6), 0.0);
    }
}
