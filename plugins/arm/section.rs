//! Cross-sections of a beam in bending and torsion.

use std::f64::consts::PI;

/// A cross-section; all lengths are outer ones in m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Section {
    /// Closed box.
    Box {
        /// Across the load.
        width: f64,
        /// In the direction of the load.
        height: f64,
        /// Thickness.
        wall: f64,
    },
    /// The same, slit lengthways.
    SlitBox {
        /// Across the load.
        width: f64,
        /// In the direction of the load.
        height: f64,
        /// Thickness.
        wall: f64,
    },
    /// Round tube.
    Tube {
        /// Outer.
        diameter: f64,
        /// Thickness.
        wall: f64,
    },
    /// The same, slit lengthways.
    SlitTube {
        /// Outer.
        diameter: f64,
        /// Thickness.
        wall: f64,
    },
    /// Solid rectangle.
    Rectangle {
        /// Across the load.
        width: f64,
        /// In the direction of the load.
        height: f64,
    },
}

impl Section {
    /// Second moment of area I \[m⁴\]: (b h³ − b_i h_i³)/12, π (D⁴ − d⁴)/64; a slit is taken to cost nothing.
    pub fn second_moment(&self) -> f64 {
        match *self {
            Section::Box { width, height, wall } | Section::SlitBox { width, height, wall } => {
                let (inner_width, inner_height) = (width - 2.0 * wall, height - 2.0 * wall);
                (width * height.powi(3) - inner_width * inner_height.powi(3)) / 12.0
            }
            Section::Tube { diameter, wall } | Section::SlitTube { diameter, wall } => {
                PI / 64.0 * (diameter.powi(4) - (diameter - 2.0 * wall).powi(4))
            }
            Section::Rectangle { width, height } => width * height.powi(3) / 12.0,
        }
    }

    /// Distance of the outermost fibre c \[m\].
    pub fn outermost(&self) -> f64 {
        match *self {
            Section::Box { height, .. }
            | Section::SlitBox { height, .. }
            | Section::Rectangle { height, .. } => 0.5 * height,
            Section::Tube { diameter, .. } | Section::SlitTube { diameter, .. } => 0.5 * diameter,
        }
    }

    /// Torsion constant J \[m⁴\] and greatest shear stress per torque τ/T [1/m³].
    ///
    /// Closed box (Bredt): J = 4 A_m² t/s, τ = T/(2 A_m t), A_m inside the wall's middle line of length s.
    /// Open: J = s t³/3, τ = T t/J. Round tube, closed: J = π (D⁴ − d⁴)/32, τ = T D/(2 J), exact.
    ///
    /// # Source
    /// R. Bredt 1896; S. Timoshenko, *Strength of Materials*, on thin open sections and the rectangle (from memory, no page).
    pub fn torsion(&self) -> (f64, f64) {
        match *self {
            Section::Box { width, height, wall } => {
                let (b, h) = (width - wall, height - wall);
                let area = b * h;
                (4.0 * area * area * wall / (2.0 * (b + h)), 1.0 / (2.0 * area * wall))
            }
            Section::SlitBox { width, height, wall } => open(2.0 * (width + height - 2.0 * wall), wall),
            Section::Tube { diameter, .. } => {
                let j = 2.0 * self.second_moment();
                (j, 0.5 * diameter / j)
            }
            Section::SlitTube { diameter, wall } => open(PI * (diameter - wall), wall),
            Section::Rectangle { width, height } => rectangle(width.max(height), width.min(height)),
        }
    }

    /// The wall or, of a solid, the smaller side \[m\]: what a material's strength goes by.
    pub fn thickness(&self) -> f64 {
        match *self {
            Section::Box { wall, .. }
            | Section::SlitBox { wall, .. }
            | Section::Tube { wall, .. }
            | Section::SlitTube { wall, .. } => wall,
            Section::Rectangle { width, height } => width.min(height),
        }
    }
}

/// J and τ/T of a thin open wall of length s and thickness t.
fn open(s: f64, t: f64) -> (f64, f64) {
    let j = s * t.powi(3) / 3.0;
    (j, t / j)
}

/// J and τ/T of a solid rectangle, sides a ≥ b, by the series of Saint-Venant:
/// J = a b³/3 [1 − (192/π⁵)(b/a) Σ tanh(n π a/2b)/n⁵], τ/T = b/J [1 − (8/π²) Σ 1/(n² cosh(n π a/2b))], n odd.
fn rectangle(a: f64, b: f64) -> (f64, f64) {
    let (mut tanhs, mut coshs) = (0.0, 0.0);
    // the 20th term of the first sum is below 1e-8, that of the second below 1e-27
    for k in 0..20 {
        let n = f64::from(2 * k + 1);
        // beyond 300 the hyperbolic functions are at their limits
        let x = (0.5 * n * PI * a / b).min(300.0);
        tanhs += x.tanh() / n.powi(5);
        coshs += 1.0 / (n * n * x.cosh());
    }
    let j = a * b.powi(3) / 3.0 * (1.0 - 192.0 / PI.powi(5) * b / a * tanhs);
    (j, b / j * (1.0 - 8.0 / (PI * PI) * coshs))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_solid_square_and_a_strip_twist_as_tabled() {
        // Timoshenko's table of the rectangle, from memory, four and three digits: J = 0.1406 a⁴, τ = T/(0.208 a³)
        let (j, tau) = rectangle(1.0, 1.0);
        assert!((j - 0.1406).abs() < 5e-5 && (1.0 / tau - 0.208).abs() < 5e-4);
        // a long strip is a thin open section; 0.63 b/a is all that remains
        let (j, tau) = rectangle(1000.0, 1.0);
        assert!((j * 3.0 / 1000.0 - 1.0).abs() < 7e-4 && (tau * j - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_slit_costs_twist_and_a_thick_wall_is_solid() {
        let closed = Section::Box { width: 0.04, height: 0.03, wall: 0.002 };
        let slit = Section::SlitBox { width: 0.04, height: 0.03, wall: 0.002 };
        assert_eq!(closed.second_moment(), slit.second_moment());
        assert!(slit.torsion().0 < 0.05 * closed.torsion().0 && slit.torsion().1 > 5.0 * closed.torsion().1);
        let full = Section::Box { width: 0.04, height: 0.03, wall: 0.015 };
        let solid = Section::Rectangle { width: 0.04, height: 0.03 };
        // the hole is gone: equal but for round-off
        assert!((full.second_moment() / solid.second_moment() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_thin_tube_obeys_bredt() {
        let (d, t) = (0.05, 0.0005);
        let (j, tau) = Section::Tube { diameter: d, wall: t }.torsion();
        let area = PI / 4.0 * (d - t).powi(2);
        // thin-wall theory leaves out terms of t/d = 1 %
        assert!((j / (4.0 * area * area * t / (PI * (d - t))) - 1.0).abs() < 0.01);
        assert!((tau * 2.0 * area * t - 1.0).abs() < 0.012);
    }
}
