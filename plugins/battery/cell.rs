//! One lithium-ion cell as an equivalent circuit.
//!
//! V = OCV(s) − R₀(s, T) I − v₁ − v₂; C_k dv_k/dt = I − v_k/R_k; ds/dt = −I/Q. Discharge current is positive.
//!
//! C₁ and C₂ do not vary: what ½ C v² gives and takes is then exactly I v − v²/R, and no energy
//! appears when the state of charge or the temperature moves.
//!
//! # Source
//! Usual second-order Thévenin model; the symbols are those of the battery-management literature.

use super::nmc_chen2020;
use engine::smooth;
use engine::table::{Curve, TableError};

/// Molar gas constant [J/(mol·K)] (CODATA 2018).
const GAS_CONSTANT: f64 = 8.314_462_618;

/// Equivalent circuit of a cell.
#[derive(Debug, Clone)]
pub struct Cell {
    /// Open-circuit voltage [V] over state of charge.
    ocv: Curve,
    /// Ohmic resistance R₀ [Ω] over state of charge at 25 °C, held beyond the ends of its table.
    r0: Curve,
    /// Fast pair (R₁ \[Ω\], C₁ \[F\]) at 25 °C.
    pub fast: (f64, f64),
    /// Slow pair (R₂ \[Ω\], C₂ \[F\]) at 25 °C.
    pub slow: (f64, f64),
    /// Charge Q [A·s] between state of charge 0 and 1.
    pub capacity: f64,
    /// Activation energy E_a of all resistances [J/mol]; 0: no influence of temperature.
    pub activation: f64,
}

fn curve(points: &[(f64, f64)]) -> Result<Curve, TableError> {
    let (x, y): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
    Curve::new(&x, &y)
}

impl Cell {
    /// A cell from tables of open-circuit voltage \[V\] and R₀ \[Ω\] over state of charge.
    ///
    /// # Errors
    /// [`TableError`] where a table is too short, unsorted or not finite.
    pub fn new(
        ocv: &[(f64, f64)],
        r0: &[(f64, f64)],
        fast: (f64, f64),
        slow: (f64, f64),
        capacity: f64,
    ) -> Result<Cell, TableError> {
        Ok(Cell { ocv: curve(ocv)?, r0: curve(r0)?, fast, slow, capacity, activation: 0.0 })
    }

    /// The cell of [`nmc_chen2020`].
    ///
    /// # Errors
    /// None with the tables as they stand.
    pub fn nmc_chen2020() -> Result<Cell, TableError> {
        use nmc_chen2020::{CAPACITY, FAST, OCV, R0, SLOW};
        Cell::new(&OCV, &R0, FAST, SLOW, CAPACITY)
    }

    /// A cell with its own open-circuit curve and capacity whose R₀ has the shape of [`nmc_chen2020`]
    /// over the state of charge and is `half` \[Ω\] at half charge; the pairs are that cell's.
    ///
    /// # Errors
    /// [`TableError`] of the open-circuit curve.
    pub fn scaled(ocv: &[(f64, f64)], half: f64, capacity: f64) -> Result<Cell, TableError> {
        Cell::shaped(ocv, half, [None; 5], capacity)
    }

    /// As [`Cell::scaled`], but R₀ \[Ω\] is as given at 10, 30, 70, 90 and 100 % charge where it is.
    ///
    /// # Errors
    /// [`TableError`] of the open-circuit curve, or of resistances that are not finite.
    pub fn shaped(
        ocv: &[(f64, f64)],
        half: f64,
        given: [Option<f64>; 5],
        capacity: f64,
    ) -> Result<Cell, TableError> {
        use nmc_chen2020::{FAST, R0, SLOW};
        // 0.5 is a knot of the shape
        let at_half = R0[2].1;
        let mut r0 = R0.map(|(s, r)| (s, r * half / at_half));
        let around = r0.iter_mut().enumerate().filter(|(knot, _)| *knot != 2).map(|(_, knot)| knot);
        for ((_, r), given) in around.zip(given) {
            *r = given.unwrap_or(*r);
        }
        Cell::new(ocv, &r0, FAST, SLOW, capacity)
    }

    /// The same cell with other pairs (R \[Ω\], C \[F\]).
    pub fn with_pairs(self, fast: (f64, f64), slow: (f64, f64)) -> Cell {
        Cell { fast, slow, ..self }
    }

    /// The same cell with an activation energy [J/mol] of its resistances.
    pub fn with_activation(self, activation: f64) -> Cell {
        Cell { activation, ..self }
    }

    /// Open-circuit voltage \[V\] at state of charge s. It goes on along the end slopes beyond 0 … 1, never below zero.
    pub fn ocv(&self, s: f64) -> f64 {
        smooth::positive(self.ocv.at(s), 0.1)
    }

    /// Ohmic resistance R₀ \[Ω\] at 25 °C; constant beyond its table, with rounded corners at the ends.
    pub fn r0(&self, s: f64) -> f64 {
        let (low, high) = self.r0.range();
        // narrow against the table's 0.9: the value at an end moves by 0.0025 of charge
        self.r0.at(smooth::clamp(s, low, high, 0.01))
    }

    /// Factor exp[(E_a/R)(1/T − 1/298.15 K)] on all resistances at `temperature` [°C].
    ///
    /// E_a about 20–40 kJ/mol (10 °C: ×1.5 to ×2.3; common practice, no source). Temperatures
    /// are held to −40 … 100 °C, outside of which no cell works.
    pub fn temperature_factor(&self, temperature: f64) -> f64 {
        let kelvin = smooth::clamp(temperature, -40.0, 100.0, 2.0) + 273.15;
        (self.activation / GAS_CONSTANT * (1.0 / kelvin - 1.0 / 298.15)).exp()
    }
}

/// Activation energy [J/mol] of resistances that are `ratio` times as large at 0 °C as at 25 °C.
pub fn activation_energy(ratio: f64) -> f64 {
    GAS_CONSTANT * ratio.ln() / (1.0 / 273.15 - 1.0 / 298.15)
}

/// Rate dv/dt [V/s] of a resistor–capacitor pair at voltage v \[V\] and cell current I \[A\].
pub fn pair_rate(v: f64, current: f64, (r, c): (f64, f64)) -> f64 {
    (current - v / r) / c
}

/// Voltage \[V\] of a pair after `time` \[s\] of constant current: v e^(−t/τ) + R I (1 − e^(−t/τ)), τ = R C.
pub fn pair_after(v: f64, current: f64, (r, c): (f64, f64), time: f64) -> f64 {
    let left = (-time / (r * c)).exp();
    v * left + r * current * (1.0 - left)
}

/// Rate of the state of charge [1/s] at cell current I \[A\] and capacity Q [A·s].
pub fn charge_rate(current: f64, capacity: f64) -> f64 {
    -current / capacity
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn open_circuit_voltage_rises_with_charge_and_stays_finite() {
        let cell = Cell::nmc_chen2020().unwrap();
        let v: Vec<f64> = (0..=120).map(|i| cell.ocv(-0.1 + 0.01 * i as f64)).collect();
        assert!(v.windows(2).all(|w| w[1] > w[0]));
        assert!([-1e9, 1e9].iter().all(|&s| cell.ocv(s).is_finite() && cell.ocv(s) >= 0.0));
        assert_eq!((cell.r0(-3.0), cell.r0(9.0)), (37.699e-3, 37.525e-3));
    }

    #[test]
    fn resistances_are_as_given_and_of_the_default_shape_elsewhere() {
        use nmc_chen2020::{CAPACITY, OCV, R0};
        let half = 0.5 * R0[2].1;
        let given = [Some(0.05), None, Some(0.02), None, Some(0.03)];
        let cell = Cell::shaped(&OCV, half, given, CAPACITY).unwrap();
        assert_eq!((cell.r0(-3.0), cell.r0(0.7), cell.r0(9.0)), (0.05, 0.02, 0.03));
        // round-off of one product and one quotient
        let near = |s: f64, r: f64| assert!((cell.r0(s) / r - 1.0).abs() < 1e-15, "{s}");
        near(0.3, 0.5 * R0[1].1);
        near(0.5, half);
        near(0.9, 0.5 * R0[4].1);
        assert!(Cell::shaped(&OCV, half, [Some(f64::NAN); 5], CAPACITY).is_err());
    }

    #[test]
    fn cold_raises_the_resistance_as_stated() {
        let mut cell = Cell::nmc_chen2020().unwrap();
        assert_eq!(cell.temperature_factor(-10.0), 1.0);
        // the band quoted in the doc comment
        cell.activation = 20e3;
        assert!((cell.temperature_factor(10.0) - 1.5).abs() < 0.05);
        cell.activation = 40e3;
        assert!((cell.temperature_factor(10.0) - 2.3).abs() < 0.1);
        assert!((cell.temperature_factor(25.0) - 1.0).abs() < 1e-15);
        assert!(cell.temperature_factor(-1e12).is_finite());
        let cell = cell.with_activation(activation_energy(2.4));
        assert!((cell.temperature_factor(0.0) - 2.4).abs() < 1e-12);
    }

    #[test]
    fn a_pair_stores_what_it_does_not_burn() {
        let (pair, i, v) = ((0.016, 2500.0), 7.0, 0.05);
        let stored = pair.1 * v * pair_rate(v, i, pair);
        assert!((i * v - stored - v * v / pair.0).abs() < 1e-15);
    }
}
