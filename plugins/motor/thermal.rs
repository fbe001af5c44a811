//! Two-node thermal network of a motor in water: winding and case.
//!
//! C_w dT_w/dt = P_w − (T_w − T_c)/R_wc
//! C_c dT_c/dt = P_c + (T_w − T_c)/R_wc − (T_c − T_water)/R_cw
//!
//! Usual lumped-parameter practice. **R_cw in still air is ten to fifty times that in moving water.**

/// Thermal resistances [K/W] and heat capacities [J/K].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoNodes {
    /// Heat capacity of the winding C_w; 385 J/(kg·K) times its copper mass.
    pub winding_capacity: f64,
    /// Heat capacity of case, iron and magnets C_c.
    pub case_capacity: f64,
    /// Resistance from winding to case R_wc.
    pub winding_to_case: f64,
    /// Resistance from case to water R_cw.
    pub case_to_water: f64,
}

impl TwoNodes {
    /// Heat flow from winding to case \[W\].
    pub fn to_case(&self, winding: f64, case: f64) -> f64 {
        (winding - case) / self.winding_to_case
    }

    /// Heat flow from case to water \[W\].
    pub fn to_water(&self, case: f64, water: f64) -> f64 {
        (case - water) / self.case_to_water
    }

    /// Rates dT_w/dt and dT_c/dt [K/s] at temperatures [°C], with heat `in_winding` and `in_case` \[W\].
    pub fn rates(&self, winding: f64, case: f64, water: f64, in_winding: f64, in_case: f64) -> (f64, f64) {
        let across = self.to_case(winding, case);
        let away = self.to_water(case, water);
        ((in_winding - across) / self.winding_capacity, (in_case + across - away) / self.case_capacity)
    }

    /// Steady winding temperature [°C] with copper loss I² R₂₀ (234.5 + T)/254.5 alone, R₂₀ in Ω at 20 °C.
    /// `None` at and above the runaway current, where every temperature heats faster than it cools.
    ///
    /// T_w = T_water + a (1 + α₂₀ (T_water − 20))/(1 − α₂₀ a), a = R_th I² R₂₀, α₂₀ = 1/254.5.
    pub fn steady_winding(&self, current: f64, resistance_20: f64, water: f64) -> Option<f64> {
        let a = (self.winding_to_case + self.case_to_water) * current * current * resistance_20;
        let left = 1.0 - ALPHA_20 * a;
        (left > 0.0).then(|| water + a * (1.0 + ALPHA_20 * (water - 20.0)) / left)
    }

    /// Current \[A\] above which copper loss alone has no steady temperature: √(1/(α₂₀ R_th R₂₀)).
    pub fn runaway_current(&self, resistance_20: f64) -> f64 {
        (ALPHA_20 * (self.winding_to_case + self.case_to_water) * resistance_20).recip().sqrt()
    }
}

/// Temperature coefficient of copper at 20 °C, 1/(234.5 + 20) [1/K].
const ALPHA_20: f64 = 1.0 / 254.5;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steady_temperature_is_where_the_rates_vanish() {
        let n = TwoNodes {
            winding_capacity: 116.0,
            case_capacity: 300.0,
            winding_to_case: 0.35,
            case_to_water: 0.25,
        };
        let (i, r, water) = (60.0, 0.018, 12.0);
        let winding = n.steady_winding(i, r, water).unwrap();
        let heat = i * i * r * crate::handbook::copper::resistance_ratio(winding, 20.0);
        let case = water + heat * n.case_to_water;
        let (w, c) = n.rates(winding, case, water, heat, 0.0);
        // round-off of terms near 0.7 K/s
        assert!(w.abs() < 1e-12 && c.abs() < 1e-12, "{w} {c}");
    }

    #[test]
    fn heat_is_conserved() {
        let n = TwoNodes {
            winding_capacity: 100.0,
            case_capacity: 200.0,
            winding_to_case: 0.3,
            case_to_water: 0.2,
        };
        let (w, c) = n.rates(80.0, 50.0, 10.0, 70.0, 30.0);
        let stored = w * 100.0 + c * 200.0;
        assert!((stored - (100.0 - n.to_water(50.0, 10.0))).abs() < 1e-10);
    }
}
