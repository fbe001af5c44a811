//! The rider as a body: how he stands, how heavy and how draggy he is.

/// Ways to ride.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stance {
    /// On the knees.
    Kneeling,
    /// Standing with bent knees and hips.
    Crouched,
    /// Standing upright.
    Standing,
}

impl Stance {
    /// Drag area C_D A \[m²\] of a person of 80 kg and 1.75 m, square to the wind.
    ///
    /// # Source
    /// E. Spring et al., *Drag area of a cross-country skier*, Int. J. Sport Biomechanics 4 (1988)
    /// 103–113: 0.65 ± 0.05 upright, 0.27 ± 0.03 semi-squatting, 5–11 m/s.
    /// Kneeling 0.35: assumption, no measurement found (0.3–0.4).
    pub fn drag_area(self) -> f64 {
        match self {
            Stance::Kneeling => 0.35,
            Stance::Crouched => 0.27,
            Stance::Standing => 0.65,
        }
    }

    /// Height of the rider's centre of gravity above the deck, over body height.
    ///
    /// # Source
    /// Upright 0.56: usual anthropometry, from memory. Crouched 0.42 and kneeling 0.30:
    /// assumptions, from segment lengths by eye.
    pub fn centre_of_gravity(self) -> f64 {
        match self {
            Stance::Kneeling => 0.30,
            Stance::Crouched => 0.42,
            Stance::Standing => 0.56,
        }
    }

    /// Height of the figure the rider makes, over body height.
    pub fn height(self) -> f64 {
        match self {
            Stance::Kneeling => 0.72,
            Stance::Crouched => 0.75,
            Stance::Standing => 1.0,
        }
    }
}

/// Drag area scaled to another build, (m H / (80 kg · 1.75 m))^(1/2): frontal area goes with height
/// times breadth, and breadth squared with mass over height.
///
/// # Source
/// Geometric similarity; an assumption for real people.
pub fn scaled_drag_area(drag_area: f64, mass: f64, height: f64) -> f64 {
    drag_area * (mass * height / (80.0 * 1.75)).sqrt()
}

/// Moment of inertia about the own centre of gravity, pitching \[kg·m²\]: a uniform rod of the
/// figure's height, m L²/12.
///
/// # Source
/// Assumption. 80 kg upright gives 20 kg·m²; measurements of standing people are some
/// 10–13 kg·m², heavier in the middle than a rod.
pub fn rod_inertia(mass: f64, length: f64) -> f64 {
    mass * length * length / 12.0
}

/// Air drag \[N\], signed against the motion through the air: D = ½ ρ_a C_D A V|V|.
pub fn air_drag(rho_air: f64, drag_area: f64, air_speed: f64) -> f64 {
    0.5 * rho_air * drag_area * air_speed * air_speed.abs()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn air_drag_turns_with_the_wind() {
        assert_eq!(air_drag(1.2, 0.65, 0.0), 0.0);
        assert_eq!(air_drag(1.2, 0.65, -5.0), -air_drag(1.2, 0.65, 5.0));
    }

    #[test]
    fn the_reference_build_is_not_scaled() {
        assert_eq!(scaled_drag_area(0.27, 80.0, 1.75), 0.27);
    }
}
