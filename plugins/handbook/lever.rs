//! Statics of a lever that carries a propeller's pull to a scale.

use super::G;

/// A lever on a pivot: arms to the propeller's axis and to the scale's hook.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lever {
    /// Pivot to propeller axis a_p \[m\].
    pub propeller_arm: f64,
    /// Pivot to hook a_s \[m\].
    pub scale_arm: f64,
    /// How far the scale's line is off the perpendicular θ \[rad\].
    pub misalignment: f64,
    /// Whether the pivot lies between propeller and hook.
    pub pivot_between: bool,
}

impl Lever {
    /// Pull at the hook S \[N\] that balances a pull F \[N\] at the propeller and a further moment M \[N·m\] in its sense:
    /// S a_s cos θ = F a_p + M.
    pub fn hook(&self, pull: f64, moment: f64) -> f64 {
        (pull * self.propeller_arm + moment) / (self.scale_arm * self.misalignment.cos())
    }

    /// Pull at the propeller F \[N\] that a pull S \[N\] at the hook stands for, less the further moment M \[N·m\].
    pub fn pull(&self, hook: f64, moment: f64) -> f64 {
        (hook * self.scale_arm * self.misalignment.cos() - moment) / self.propeller_arm
    }

    /// Force of the pivot on the lever \[N\] along the propeller's pull and across it, weight left out.
    ///
    /// Between the two the pivot carries both pulls, at the end their difference; across, S sin θ.
    pub fn pivot(&self, pull: f64, hook: f64) -> (f64, f64) {
        let along = hook * self.misalignment.cos();
        let sum = if self.pivot_between { pull + along } else { pull - along };
        (sum, hook * self.misalignment.sin())
    }
}

/// What a scale shows for a true pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Indicated over true, from a calibration with known masses.
    pub slope: f64,
    /// Indicated at no pull \[kg\].
    pub offset: f64,
    /// Taken off before reading \[kg\].
    pub tare: f64,
}

impl Scale {
    /// Reading \[kg\] at a pull S \[N\]: slope S/g + offset − tare.
    pub fn reading(&self, hook: f64) -> f64 {
        self.slope * hook / G + self.offset - self.tare
    }

    /// Pull S \[N\] at a reading \[kg\].
    pub fn hook(&self, reading: f64) -> f64 {
        (reading + self.tare - self.offset) / self.slope * G
    }
}

/// Moment \[N·m\] about the pivot of the buoyancy of a wet strut when the lever leans by `lean` \[rad\]: ρ g V h sin(lean),
/// h \[m\] below the pivot to the middle of the wet part; 0 where the lever stands upright.
pub fn buoyancy_moment(density: f64, volume: f64, below: f64, lean: f64) -> f64 {
    density * G * volume * below * lean.sin()
}

#[cfg(test)]
mod tests {
    use super::*;

    const LEVER: Lever = Lever { propeller_arm: 0.6, scale_arm: 0.9, misalignment: 0.1, pivot_between: true };

    #[test]
    fn reading_and_pull_undo_each_other() {
        let scale = Scale { slope: 1.02, offset: 0.3, tare: 1.1 };
        for pull in [0.0, 1.0, 400.0] {
            let hook = LEVER.hook(pull, 2.5);
            // there and back is round-off
            assert!((scale.hook(scale.reading(hook)) - hook).abs() < 1e-10);
            assert!((LEVER.pull(hook, 2.5) - pull).abs() < 1e-10);
        }
    }

    #[test]
    fn moments_about_the_hook_vanish_too() {
        // equilibrium of the whole lever, about another point than it was solved for
        for pivot_between in [true, false] {
            let lever = Lever { pivot_between, ..LEVER };
            let hook = lever.hook(300.0, 0.0);
            let (along, _) = lever.pivot(300.0, hook);
            let reach = if pivot_between { 0.6 + 0.9 } else { 0.6 - 0.9 };
            // with the pivot between, the hook lies on the other side of it
            let about_hook = 300.0 * reach - along * if pivot_between { 0.9 } else { -0.9 };
            assert!(about_hook.abs() < 1e-9, "{about_hook}");
        }
    }

    #[test]
    fn five_degrees_show_four_thousandths_more() {
        let straight = Lever { misalignment: 0.0, ..LEVER };
        let off = Lever { misalignment: 5f64.to_radians(), ..LEVER };
        let more = off.hook(300.0, 0.0) / straight.hook(300.0, 0.0) - 1.0;
        // 1/cos 5° − 1 = 0.00382
        assert!((more - 0.00382).abs() < 1e-5);
    }

    #[test]
    fn an_upright_strut_has_no_moment() {
        assert_eq!(buoyancy_moment(999.0, 1e-3, 0.5, 0.0), 0.0);
    }
}
