//! Cells in series and parallel, seen from the terminals.

/// Series and parallel count and the resistance of welds, bars and protection board.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pack {
    /// Cells in series N_s.
    pub series: f64,
    /// Strings in parallel N_p.
    pub parallel: f64,
    /// Everything between the cells and the terminals \[Ω\].
    pub interconnect: f64,
}

impl Pack {
    /// Current of one cell \[A\] at pack current I_b \[A\].
    pub fn cell_current(&self, pack_current: f64) -> f64 {
        pack_current / self.parallel
    }

    /// Source voltage \[V\]: N_s (OCV − v₁ − v₂), all per cell.
    pub fn source_voltage(&self, ocv: f64, v1: f64, v2: f64) -> f64 {
        self.series * (ocv - v1 - v2)
    }

    /// Source resistance \[Ω\]: R₀ N_s/N_p + interconnect, R₀ per cell.
    pub fn source_resistance(&self, r0: f64) -> f64 {
        r0 * self.series / self.parallel + self.interconnect
    }

    /// Any per-cell power or energy, times the number of cells.
    pub fn total(&self, per_cell: f64) -> f64 {
        per_cell * self.series * self.parallel
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pack_power_is_the_cells_power() {
        let pack = Pack { series: 13.0, parallel: 8.0, interconnect: 0.0 };
        let (ocv, v1, v2, r0, i) = (3.7, 0.02, 0.01, 0.026, 40.0);
        let cell = pack.cell_current(i);
        let per_cell = cell * (ocv - v1 - v2 - r0 * cell);
        let terminals = pack.source_voltage(ocv, v1, v2) - pack.source_resistance(r0) * i;
        assert!((terminals * i - pack.total(per_cell)).abs() < 1e-10);
    }
}
