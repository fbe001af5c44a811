//! How the rider balances: shifting his own mass fore and aft.
//!
//! A shift s forward moves his weight m_r g ahead of where it rests and gives the bow-down
//! moment m_r g s cos θ: M_r = −m_r g s cos θ.

use engine::smooth;

/// Wanted pitch acceleration q̇ = −ω² (θ − θ_c) − 2 ζ ω q \[rad/s²\].
///
/// A second-order response of natural frequency ω \[rad/s\] and damping ratio ζ.
pub fn wanted_pitch_acceleration(
    (pitch, commanded): (f64, f64),
    pitch_rate: f64,
    omega: f64,
    zeta: f64,
) -> f64 {
    -omega * omega * (pitch - commanded) - 2.0 * zeta * omega * pitch_rate
}

/// Mass matrix of heave and pitch: [M_33, M_35, M_55] in kg, kg·m, kg·m².
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inertia {
    /// Heave mass with added mass M_33.
    pub heave: f64,
    /// Coupling M_35.
    pub coupling: f64,
    /// Pitch inertia with added inertia M_55.
    pub pitch: f64,
}

/// Moment the rider has to add \[N·m\] so that the craft turns with q̇, given the heave force Z and
/// moment M of everything else: inverse dynamics of
/// M_33 ẇ + M_35 q̇ = Z, M_35 ẇ + M_55 q̇ = M + M_r.
///
/// The heave mass is positive in any craft.
pub fn needed_moment(inertia: &Inertia, heave_force: f64, moment: f64, q_dot: f64) -> f64 {
    let w_dot = (heave_force - inertia.coupling * q_dot) / inertia.heave;
    inertia.coupling * w_dot + inertia.pitch * q_dot - moment
}

/// Shift forward \[m\] that gives the moment M_r \[N·m\] for weight m_r g \[N\] at pitch θ.
///
/// cos θ is kept above 0.3: a rider on a board at 70° has other worries.
pub fn shift_for(moment: f64, weight: f64, cos_pitch: f64) -> f64 {
    -moment / (weight * smooth::max(cos_pitch, 0.3, 0.05))
}

/// Moment of the shift s \[m\] forward \[N·m\], bow up positive.
pub fn moment_of(shift: f64, weight: f64, cos_pitch: f64) -> f64 {
    -weight * shift * cos_pitch
}

/// `shift` within ±`reach`: itself up to 90 % of the reach, then bending towards it (C1).
pub fn within_reach(shift: f64, reach: f64) -> f64 {
    let free = 0.9 * reach;
    let over = shift.abs() - free;
    if over <= 0.0 { shift } else { (free + smooth::saturate(over, reach - free)).copysign(shift) }
}

/// How the rider asks for trim.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Climb {
    /// Height of the board at which he begins to lower the bow \[m\].
    pub flight_height: f64,
    /// Trim taken off per metre above it \[rad/m\].
    pub gain: f64,
    /// Trim taken off per speed of climb [rad/(m/s)], once flying.
    pub damping: f64,
    /// Least and greatest trim asked for \[rad\].
    pub limits: (f64, f64),
}

/// Rounding of the height at which the bow is lowered \[m\].
const HEIGHT_ROUNDING: f64 = 0.05;

/// Rounding of the trim limits \[rad\].
const TRIM_ROUNDING: f64 = 0.01;

/// Trim the rider asks for \[rad\]: `trim` while the board is low, less with height and climb,
/// θ_c = trim − k_h p(h − h_f) − k_ḣ ḣ S(h/h_f), within its limits.
///
/// `height` is that of the board's bottom above still water \[m\], `climb` its rate \[m/s\].
/// Proportional only: he settles above h_f by (trim − trim needed)/k_h.
pub fn commanded_trim(trim: f64, height: f64, climb: f64, how: &Climb) -> f64 {
    let above = smooth::positive(height - how.flight_height, HEIGHT_ROUNDING);
    // afloat, heaving in waves or on the throttle is not climbing
    let flying = smooth::smoothstep(height / how.flight_height);
    let asked = trim - how.gain * above - how.damping * climb * flying;
    let (low, high) = how.limits;
    smooth::clamp(asked, low, high, TRIM_ROUNDING.min(0.25 * (high - low)))
}

/// How a rider who is late holds the trim.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Skill {
    /// Natural frequency ω \[rad/s\] at which he would hold the trim if he were not late.
    pub stiffness: f64,
    /// How far ahead he sees the trim coming, T_p \[s\].
    pub foresight: f64,
}

impl Skill {
    /// Shift forward \[m\] against the trim error seen T_p ahead:
    /// s = (M_55 ω²/(m_r g)) (θ − θ_c + T_p q).
    ///
    /// On a craft without damping of its own and without delay this is natural frequency ω and
    /// damping ratio ½ ω T_p.
    pub fn correction(&self, off: f64, pitch_rate: f64, inertia: f64, weight: f64) -> f64 {
        inertia * self.stiffness * self.stiffness / weight * (off + self.foresight * pitch_rate)
    }
}

/// Rates of the second-order Padé delay of T \[s\] for the input u, states (x_1, x_2):
/// ẋ_1 = x_2, ẋ_2 = 12 (u − x_1)/T² − 6 x_2/T; output u − T x_2.
///
/// # Source
/// (1 − sT/2 + s²T²/12)/(1 + sT/2 + s²T²/12), the diagonal Padé approximant of e^{−sT};
/// gain 1 at every frequency, phase within 1 % of the delay's up to ωT = 2.
pub fn delay_rates(input: f64, (x_1, x_2): (f64, f64), delay: f64) -> (f64, f64) {
    (x_2, 12.0 * (input - x_1) / (delay * delay) - 6.0 * x_2 / delay)
}

/// Output of the Padé delay of [`delay_rates`].
pub fn delayed(input: f64, x_2: f64, delay: f64) -> f64 {
    input - delay * x_2
}

/// Speed of the body \[m/s\] towards the shift wanted: a first-order lag τ \[s\], no faster than
/// `fastest` \[m/s\], bending towards it.
pub fn shift_rate(wanted: f64, shift: f64, lag: f64, fastest: f64) -> f64 {
    smooth::saturate((wanted - shift) / lag, fastest)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inverse_dynamics_undoes_the_equations_of_motion() {
        let inertia = Inertia { heave: 130.0, coupling: -7.0, pitch: 35.0 };
        let (z, m, wanted) = (-40.0, 55.0, 0.7);
        let total = m + needed_moment(&inertia, z, m, wanted);
        // solve the 2 × 2 system forward
        let det = inertia.heave * inertia.pitch - inertia.coupling * inertia.coupling;
        let q_dot = (inertia.heave * total - inertia.coupling * z) / det;
        // round-off
        assert!((q_dot - wanted).abs() < 1e-13);
    }

    #[test]
    fn reach_is_exact_inside_and_never_exceeded() {
        assert_eq!(within_reach(0.2, 0.25), 0.2);
        assert_eq!(within_reach(-0.225, 0.25), -0.225);
        for s in [0.3, 1.0, 1e6] {
            assert!(within_reach(s, 0.25) <= 0.25 && within_reach(s, 0.25) > 0.225);
            assert_eq!(within_reach(-s, 0.25), -within_reach(s, 0.25));
        }
        // slope 1 at the joint on both sides
        let slope = |x: f64| (within_reach(x + 1e-7, 0.25) - within_reach(x - 1e-7, 0.25)) / 2e-7;
        assert!((slope(0.225 + 1e-6) - slope(0.225 - 1e-6)).abs() < 1e-6);
    }

    #[test]
    fn trim_falls_with_height_and_stays_within_limits() {
        let how = Climb { flight_height: 0.3, gain: 0.35, damping: 0.05, limits: (-0.09, 0.12) };
        assert_eq!(commanded_trim(0.07, 0.0, 0.3, &how), 0.07);
        assert!(commanded_trim(0.07, 0.5, 0.0, &how) < 0.01);
        assert!(commanded_trim(0.07, 0.25, 0.5, &how) < 0.06);
        assert_eq!(commanded_trim(0.07, 50.0, 9.0, &how), -0.09);
    }

    #[test]
    fn the_delay_delays() {
        // a ramp comes out T later once the start has died away
        let (delay, step) = (0.15, 1e-4);
        let (mut x, mut t) = ((0.0, 0.0), 0.0);
        while t < 2.0 {
            let (r_1, r_2) = delay_rates(t, x, delay);
            x = (x.0 + step * r_1, x.1 + step * r_2);
            t += step;
        }
        // Euler steps of 1e-4 s on a settled ramp: error of the order of one step
        assert!((delayed(t, x.1, delay) - (t - delay)).abs() < 2e-4);
    }
}
