//! Losses of a motor controller, and how it folds its current limit back.

use engine::smooth::smoothstep;

/// Lumped losses of a controller: P = P₀ + R_c I² + k_sw V I \[W\].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Losses {
    /// Idle power P₀ \[W\].
    pub idle: f64,
    /// Conduction resistance R_c \[Ω\] per DC-equivalent current; two switches in series, 2 R_ds.
    pub resistance: f64,
    /// Switching loss k_sw per volt and ampere, dimensionless: ½ (t_r + t_f) f for one leg.
    pub switching: f64,
}

impl Losses {
    /// Conduction loss R_c I² \[W\] at DC-equivalent motor current I \[A\].
    pub fn conduction(&self, current: f64) -> f64 {
        self.resistance * current * current
    }

    /// Switching loss k_sw V |I| \[W\] at battery-side voltage V \[V\].
    pub fn commutation(&self, voltage: f64, current: f64) -> f64 {
        self.switching * voltage * current.abs()
    }

    /// All losses \[W\].
    pub fn power(&self, voltage: f64, current: f64) -> f64 {
        self.idle + self.conduction(current) + self.commutation(voltage, current)
    }
}

/// Conduction resistance R_c \[Ω\] of switches with on-resistance `r_ds` \[Ω\] (hot value): 2 R_ds.
///
/// Six-step: two switches carry I_dc. Sinusoidal: 3 R_ds I_rms² = 2 R_ds I_dc². The same.
pub fn conduction_resistance(r_ds: f64) -> f64 {
    2.0 * r_ds
}

/// Fold-back of a current limit against temperature: 1 up to `start` [°C], 0 from `end` [°C] on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FoldBack {
    /// Temperature at which the limit begins to fall [°C].
    pub start: f64,
    /// Temperature at which nothing is left [°C]; above `start`.
    pub end: f64,
}

impl FoldBack {
    /// Fraction of the limit left, from 1 to 0.
    ///
    /// Controllers fold back along a straight line (common practice, no source); here its two
    /// corners are rounded into a smoothstep, at most 0.096 of the limit away from the line.
    pub fn factor(&self, temperature: f64) -> f64 {
        let width = (self.end - self.start).max(1e-6);
        smoothstep((self.end - temperature) / width)
    }
}

/// Margin of a limit: used/allowed − 1, 0 where it binds, negative where there is slack.
pub fn margin(used: f64, allowed: f64) -> f64 {
    used / allowed - 1.0
}

/// Margin of a limit that throttle or temperature hold to the `fraction` of a fixed one, of which `used`
/// is taken: `used` − `fraction`. Wide open it is −1, for then the fixed limit is the one that binds.
pub fn held_margin(used: f64, fraction: f64) -> f64 {
    if fraction < 1.0 { used - fraction } else { -1.0 }
}

/// Rate of a one-node temperature [K/s]: C dT/dt = P − (T − T_around)/R_th.
pub fn heating_rate(temperature: f64, around: f64, power: f64, resistance: f64, capacity: f64) -> f64 {
    (power - (temperature - around) / resistance) / capacity
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fold_back_runs_from_one_to_nothing_without_a_corner() {
        let f = FoldBack { start: 85.0, end: 100.0 };
        assert_eq!(f.factor(20.0), 1.0);
        assert_eq!(f.factor(85.0), 1.0);
        assert!((f.factor(92.5) - 0.5).abs() < 1e-15);
        assert_eq!(f.factor(100.0), 0.0);
        assert_eq!(f.factor(400.0), 0.0);
        let slope = |t: f64| (f.factor(t + 1e-4) - f.factor(t - 1e-4)) / 2e-4;
        // second derivative 6/15² = 0.027, over 2e-3 K
        for corner in [85.0, 100.0] {
            assert!((slope(corner - 1e-3) - slope(corner + 1e-3)).abs() < 1e-4);
        }
        // the doc comment's distance from the straight line: x² (3 − 2x) − x is at most √3/18
        let far = (0..=1000)
            .map(|i| 85.0 + 0.015 * i as f64)
            .map(|t| (f.factor(t) - (100.0 - t) / 15.0).abs())
            .fold(0.0, f64::max);
        assert!(far < 0.0963 && far > 0.096, "{far}");
    }

    #[test]
    fn equal_switches_lose_the_same_in_both_schemes() {
        // 3 R_ds I_rms² with I_rms = √(2/3) I_dc
        let (r, i) = (1.6e-3, 65.0f64);
        let rms2 = 2.0 / 3.0 * i * i;
        let losses = Losses { idle: 0.0, resistance: conduction_resistance(r), switching: 0.0 };
        assert!((losses.power(44.0, i) - 3.0 * r * rms2).abs() < 1e-12);
    }

    #[test]
    fn one_node_settles_at_resistance_times_power() {
        assert!(heating_rate(20.0 + 0.5 * 30.0, 20.0, 30.0, 0.5, 200.0).abs() < 1e-15);
    }
}
