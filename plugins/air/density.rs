//! Density of air.

/// Specific gas constant of dry air R [J/(kg·K)].
///
/// # Source
/// ISO 2533:1975, *Standard Atmosphere*: 287.05287 J/(kg·K).
pub const GAS_CONSTANT: f64 = 287.05287;

/// Standard pressure at sea level p \[Pa\] (ISO 2533:1975).
pub const STANDARD_PRESSURE: f64 = 101_325.0;

/// Density ρ [kg/m³] of dry air at a temperature [°C] and pressure \[Pa\]: p = ρ R T, the ideal gas.
///
/// Humidity is left out: air saturated at 30 °C is 1.6 % lighter. The temperature is taken no lower
/// than −100 °C, far outside any outing, so that no input gives an infinite density.
///
/// ```
/// use foilborne::air::density::{STANDARD_PRESSURE, density};
/// assert!((density(15.0, STANDARD_PRESSURE) - 1.2250).abs() < 5e-5);
/// ```
///
/// # Source
/// ISO 2533:1975, equation of state of the perfect gas.
pub fn density(temperature: f64, pressure: f64) -> f64 {
    pressure / (GAS_CONSTANT * (temperature.max(-100.0) + 273.15))
}
