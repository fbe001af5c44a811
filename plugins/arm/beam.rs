//! A cantilever with a load at its tip, off its axis.

use super::section::Section;

/// What a beam of length L does under a load at its tip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Response {
    /// Bending stress at the root σ = F L c/I \[Pa\].
    pub bending: f64,
    /// Shear stress by torsion τ \[Pa\].
    pub shear: f64,
    /// Deflection of the tip δ = F L³/(3 E I) \[m\].
    pub deflection: f64,
    /// Slope at the tip F L²/(2 E I) \[rad\].
    pub slope: f64,
    /// Twist at the tip T L/(G J) \[rad\].
    pub twist: f64,
}

impl Response {
    /// von Mises' √(σ² + 3 τ²) \[Pa\]; greatest bending and greatest torsion are taken to meet in one place.
    pub fn combined(&self) -> f64 {
        (self.bending * self.bending + 3.0 * self.shear * self.shear).sqrt()
    }
}

/// A load F \[N\] at the tip of a beam of `length` \[m\], `offset` \[m\] beside its axis (T = F e); E, G \[Pa\].
///
/// Bernoulli's beam, small angles; shear by F itself is left out, small for long arms.
pub fn cantilever(section: &Section, length: f64, (e, g): (f64, f64), load: f64, offset: f64) -> Response {
    let i = section.second_moment();
    let (j, shear_per_torque) = section.torsion();
    let (load, torque) = (load.abs(), (load * offset).abs());
    Response {
        bending: load * length * section.outermost() / i,
        shear: torque * shear_per_torque,
        deflection: load * length.powi(3) / (3.0 * e * i),
        slope: load * length * length / (2.0 * e * i),
        twist: torque * length / (g * j),
    }
}

/// How far the edge of the propeller moves towards the wall \[m\]: the tip's deflection, and its disc of `radius` \[m\] tilted by slope and
/// by twist, which also swings the `offset` \[m\]; an upper bound, all taken to add up.
pub fn reach(response: &Response, radius: f64, offset: f64) -> f64 {
    response.deflection + radius * response.slope + (radius + offset.abs()) * response.twist
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn everything_is_straight_in_the_load_and_nothing_at_none() {
        let section = Section::Rectangle { width: 0.02, height: 0.05 };
        let at = |load| cantilever(&section, 0.7, (70e9, 27e9), load, 0.05);
        let (none, one, two) = (at(0.0), at(150.0), at(-300.0));
        assert_eq!((none.combined(), reach(&none, 0.08, 0.05)), (0.0, 0.0));
        // doubled, whichever way it pulls; round-off
        assert!((two.combined() / one.combined() - 2.0).abs() < 1e-12);
        assert!((reach(&two, 0.08, 0.05) / reach(&one, 0.08, 0.05) - 2.0).abs() < 1e-12);
    }
}
