//! Density, kinematic viscosity and vapour pressure of water at atmospheric pressure.
//!
//! Fresh water (salinity 0) and standard sea water (salinity S = 35.165 g/kg) are tabulated
//! against temperature; a salinity between or slightly above is a straight line through the two.
//!
//! # Source
//! ITTC, *Fresh Water and Seawater Properties*, recommended procedure 7.5-02-01-03 (rev. 02, 2011,
//! tables 1 and 3; rev. 03 for the vapour pressure at 15 °C), 0–30 °C. Where the procedure has no
//! row, the table is completed: fresh density below 10 °C, fresh viscosity and fresh vapour pressure
//! are IAPWS-95 values (in density they agree with the procedure within 1·10⁻⁴ kg/m³ where both
//! exist); the sea-water vapour pressure is 0.97954 times the fresh one, the ratio at 15 °C; sea
//! water at 0 °C continues the rows above it.
//!
//! # Range
//! 0–30 °C. Beyond, the curves run on along their end slopes; at 35 °C that is 0.1 kg/m³ high in
//! density and 3 % low in vapour pressure.

use engine::table::Curve;
use std::sync::LazyLock;

/// Salinity of the ITTC standard sea water [g/kg].
pub const STANDARD_SALINITY: f64 = 35.165;

/// Temperatures the tables cover [°C].
pub const TEMPERATURE_RANGE: (f64, f64) = (0.0, 30.0);

/// Columns: T [°C]; fresh water ρ [kg/m³], ν [10⁻⁶ m²/s], p_v [Pa]; sea water the same three.
#[rustfmt::skip]
const TABLE: [(f64, f64, f64, f64, f64, f64, f64); 31] = [
    (0.0, 999.8438, 1.7914, 611.7, 1028.1555, 1.8538, 599.1),
    (1.0, 999.9018, 1.7312, 657.1, 1028.0941, 1.7926, 643.6),
    (2.0, 999.9430, 1.6736, 706.0, 1028.0197, 1.7344, 691.5),
    (3.0, 999.9672, 1.6191, 758.1, 1027.9327, 1.6791, 742.6),
    (4.0, 999.9749, 1.5673, 813.5, 1027.8336, 1.6257, 796.9),
    (5.0, 999.9666, 1.5182, 872.6, 1027.7225, 1.5763, 854.7),
    (6.0, 999.9429, 1.4716, 935.4, 1027.6000, 1.5288, 916.2),
    (7.0, 999.9043, 1.4272, 1002.1, 1027.4662, 1.4833, 981.6),
    (8.0, 999.8510, 1.3849, 1073.0, 1027.3214, 1.4406, 1051.0),
    (9.0, 999.7836, 1.3447, 1148.3, 1027.1659, 1.4000, 1124.8),
    (10.0, 999.7025, 1.3063, 1228.2, 1027.0000, 1.3603, 1203.1),
    (11.0, 999.6079, 1.2697, 1313.0, 1026.8238, 1.3235, 1286.1),
    (12.0, 999.5004, 1.2347, 1402.8, 1026.6376, 1.2877, 1374.1),
    (13.0, 999.3801, 1.2012, 1498.1, 1026.4416, 1.2529, 1467.4),
    (14.0, 999.2474, 1.1692, 1599.0, 1026.2360, 1.2200, 1566.3),
    (15.0, 999.1026, 1.1386, 1705.8, 1026.0210, 1.1891, 1670.9),
    (16.0, 998.9461, 1.1093, 1818.8, 1025.7967, 1.1591, 1781.6),
    (17.0, 998.7780, 1.0811, 1938.4, 1025.5633, 1.1301, 1898.7),
    (18.0, 998.5986, 1.0542, 2064.7, 1025.3210, 1.1031, 2022.5),
    (19.0, 998.4083, 1.0283, 2198.3, 1025.0700, 1.0760, 2153.3),
    (20.0, 998.2072, 1.0034, 2339.3, 1024.8103, 1.0509, 2291.5),
    (21.0, 997.9955, 0.9795, 2488.2, 1024.5421, 1.0258, 2437.3),
    (22.0, 997.7735, 0.9565, 2645.3, 1024.2656, 1.0027, 2591.2),
    (23.0, 997.5414, 0.9344, 2811.1, 1023.9808, 0.9805, 2753.6),
    (24.0, 997.2994, 0.9132, 2985.8, 1023.6881, 0.9583, 2924.7),
    (25.0, 997.0476, 0.8927, 3169.9, 1023.3873, 0.9371, 3105.1),
    (26.0, 996.7864, 0.8729, 3363.9, 1023.0788, 0.9168, 3295.1),
    (27.0, 996.5158, 0.8539, 3568.1, 1022.7626, 0.8976, 3495.1),
    (28.0, 996.2360, 0.8355, 3783.1, 1022.4389, 0.8783, 3705.7),
    (29.0, 995.9471, 0.8178, 4009.2, 1022.1078, 0.8600, 3927.2),
    (30.0, 995.6495, 0.8007, 4247.0, 1021.7694, 0.8427, 4160.1),
];

/// One property of fresh and of sea water against temperature.
struct Property {
    fresh: Curve,
    sea: Curve,
}

impl Property {
    fn at(&self, temperature: f64, salinity: f64) -> f64 {
        let fresh = self.fresh.at(temperature);
        fresh + (self.sea.at(temperature) - fresh) * salinity / STANDARD_SALINITY
    }
}

/// Density, viscosity, vapour pressure; fitted on first use.
static PROPERTIES: LazyLock<[Property; 3]> = LazyLock::new(|| {
    let t = TABLE.map(|row| row.0);
    // The rows above are sorted and finite (the tests read every one back).
    let curve = |y: [f64; 31]| Curve::new(&t, &y).expect("a sorted constant table");
    [
        Property { fresh: curve(TABLE.map(|row| row.1)), sea: curve(TABLE.map(|row| row.4)) },
        Property { fresh: curve(TABLE.map(|row| row.2 * 1e-6)), sea: curve(TABLE.map(|row| row.5 * 1e-6)) },
        Property { fresh: curve(TABLE.map(|row| row.3)), sea: curve(TABLE.map(|row| row.6)) },
    ]
});

/// Density ρ [kg/m³] at a temperature [°C] and salinity [g/kg].
///
/// At 15 °C the straight line in salinity is 0.007 kg/m³ low at 20 g/kg and 0.04 kg/m³ low at
/// 10 g/kg against the brackish rows of the procedure.
pub fn density(temperature: f64, salinity: f64) -> f64 {
    PROPERTIES[0].at(temperature, salinity)
}

/// Kinematic viscosity ν [m²/s] at a temperature [°C] and salinity [g/kg].
pub fn kinematic_viscosity(temperature: f64, salinity: f64) -> f64 {
    PROPERTIES[1].at(temperature, salinity)
}

/// Vapour pressure p_v \[Pa\] at a temperature [°C] and salinity [g/kg].
pub fn vapour_pressure(temperature: f64, salinity: f64) -> f64 {
    PROPERTIES[2].at(temperature, salinity)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_met_at_both_ends_of_the_salinity() {
        for (t, rho, nu, p_v, rho_sea, nu_sea, p_v_sea) in TABLE {
            // round-off only: the curves pass through their knots
            assert!((density(t, 0.0) - rho).abs() < 1e-9);
            assert!((density(t, STANDARD_SALINITY) - rho_sea).abs() < 1e-9);
            assert!((kinematic_viscosity(t, 0.0) - nu * 1e-6).abs() < 1e-18);
            assert!((kinematic_viscosity(t, STANDARD_SALINITY) - nu_sea * 1e-6).abs() < 1e-18);
            assert!((vapour_pressure(t, 0.0) - p_v).abs() < 1e-9);
            assert!((vapour_pressure(t, STANDARD_SALINITY) - p_v_sea).abs() < 1e-9);
        }
    }

    #[test]
    fn all_stay_positive_and_finite_from_freezing_to_a_hot_lagoon() {
        for t in -2..=40 {
            for s in [0.0, 10.0, 35.165, 42.0] {
                let t = f64::from(t);
                let (rho, nu, p_v) = (density(t, s), kinematic_viscosity(t, s), vapour_pressure(t, s));
                assert!((980.0..1040.0).contains(&rho), "{t} °C, {s} g/kg: ρ {rho}");
                assert!((4e-7..2.2e-6).contains(&nu), "{t} °C, {s} g/kg: ν {nu}");
                assert!((400.0..8000.0).contains(&p_v), "{t} °C, {s} g/kg: p_v {p_v}");
            }
        }
    }
}
