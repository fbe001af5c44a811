//! Where a pack meets a load of set current.

/// Voltage \[V\] behind a source of E \[V\] and R \[Ω\] at current I \[A\]: E − R I (Ohm's law).
///
/// Not held at zero: below it the current is more than the source can give.
pub fn voltage(emf: f64, resistance: f64, current: f64) -> f64 {
    emf - resistance * current
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn discharge_lowers_and_charge_raises_the_voltage() {
        let (e, r) = (3.7, 0.025);
        assert_eq!(voltage(e, r, 0.0), e);
        // round-off
        assert!((voltage(e, r, 4.0) - 3.6).abs() < 1e-15 && (voltage(e, r, -4.0) - 3.8).abs() < 1e-15);
        // at half the voltage the most power is drawn, E²/4R: the maximum-power theorem
        let power = |i: f64| i * voltage(e, r, i);
        let best = 0.5 * e / r;
        assert!((power(best) - e * e / (4.0 * r)).abs() < 1e-12);
        assert!(power(0.99 * best) < power(best) && power(1.01 * best) < power(best));
    }
}
