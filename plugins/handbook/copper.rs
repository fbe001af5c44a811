//! Resistance of copper conductors against temperature.

/// Inferred temperature at which the resistance of annealed copper would vanish, −T₀, with T₀ in °C.
///
/// # Source
/// IEC 60228 (conductors of insulated cables), annex on temperature correction. IEC 60034-1 rounds it to 235.
pub const COPPER_CONSTANT: f64 = 234.5;

/// Copper resistance at `temperature` over that at `reference`, R/R_ref, both temperatures in °C.
///
/// R/R_ref = (234.5 + T)/(234.5 + T_ref); from 20 °C to 100 °C it is 1.3143.
/// The straight line is meant for −50 … 200 °C; below −184.5 °C the value at −184.5 °C is kept.
pub fn resistance_ratio(temperature: f64, reference: f64) -> f64 {
    // No winding gets near this floor; it keeps a resistance positive for every finite input.
    (COPPER_CONSTANT + temperature).max(50.0) / (COPPER_CONSTANT + reference).max(50.0)
}

/// Winding temperature T₂ [°C] from the resistances `hot` and `cold` (same unit), the cold one taken at `cold_temperature` [°C].
///
/// T₂ = (R₂/R₁)(234.5 + T₁) − 234.5, the resistance method of a test bench.
pub fn temperature_by_resistance(hot: f64, cold: f64, cold_temperature: f64) -> f64 {
    hot / cold * (COPPER_CONSTANT + cold_temperature) - COPPER_CONSTANT
}
