//! From the scale to the pull of the drive, and how sure that is.

use engine::analysis::Craft;
use engine::quantity::Kind;
use engine::run::{Options, Run};
use engine::statistics::uncertainty::{Budget, Input, UncertaintyError, budget};

use crate::handbook::lever::{Lever, Scale};
use crate::lever::{MISALIGNMENT, SCALE_ARM, SCALE_SLOPE, SCALE_ZERO, WET_MOMENT};
use crate::nomenclature::PROPELLER_ARM;

/// A lever with its scale and the moment of its wet strut \[N·m\].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Balance {
    /// Arms and angle.
    pub lever: Lever,
    /// Slope, offset, tare.
    pub scale: Scale,
    /// Further moment in the sense of the pull \[N·m\].
    pub moment: f64,
}

/// Standard uncertainties of a balance (GUM type B), SI; 0 is exact.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct BalanceUnsure {
    /// Of a single reading \[kg\], where there are no repeats to tell it.
    pub reading: f64,
    /// Of the scale: certificate, creep, hysteresis \[kg\].
    pub scale: f64,
    /// Smallest step of the scale \[kg\], the whole of it; half of it to either side is equally likely.
    pub step: f64,
    /// Of the scale's arm \[m\].
    pub scale_arm: f64,
    /// Of the propeller's arm \[m\].
    pub propeller_arm: f64,
    /// Of the angle \[rad\].
    pub misalignment: f64,
    /// Of the slope.
    pub slope: f64,
    /// Of the offset, tare included \[kg\].
    pub offset: f64,
    /// Of the further moment \[N·m\].
    pub moment: f64,
}

/// Standard uncertainty of what lies anywhere within ± `half`: half/√3 (GUM 4.3.7).
pub fn anywhere_within(half: f64) -> f64 {
    half.abs() / 3f64.sqrt()
}

impl Balance {
    /// The balance of a setup with a lever; `None` without one.
    pub fn of(craft: &Craft) -> Option<Balance> {
        let model = &craft.model;
        let mut run = Run::new(model.clone(), Options { settle: false, ..Options::default() });
        let mut value = |kind: &Kind| model.providers(kind.name).first().map(|&p| run.value(p));
        let lever = Lever {
            propeller_arm: value(&PROPELLER_ARM)?,
            scale_arm: value(&SCALE_ARM)?,
            misalignment: value(&MISALIGNMENT)?,
            // matters to the pivot's load only
            pivot_between: true,
        };
        let scale = Scale { slope: value(&SCALE_SLOPE)?, offset: value(&SCALE_ZERO)?, tare: 0.0 };
        Some(Balance { lever, scale, moment: value(&WET_MOMENT)? })
    }

    /// Pull of the drive \[N\] from readings of the scale \[kg\] at one state of it:
    /// F = (((m + m_tare − m₀)/s) g a_s cos θ − M)/a_p.
    ///
    /// Two readings and more tell their own scatter (type A); a single one has what `unsure` says.
    /// cos θ is flat at θ = 0, so slopes would lose an unsure angle: mean and variance of cos θ are taken for a
    /// normal θ, c e^(−u²/2) and ½ c² (1 − e^(−u²))² + ½ s² (1 − e^(−2u²)).
    ///
    /// # Errors
    /// No reading, or numbers that are none.
    ///
    /// # Source
    /// JCGM 100:2008, 4.2, 4.3, 5.1, and F.2.4.4 for the cosine. **Recirculation is no part of it.**
    pub fn thrust(&self, readings: &[f64], unsure: &BalanceUnsure) -> Result<Budget, UncertaintyError> {
        let exact = f64::INFINITY;
        let reading = match readings {
            [] => return Err(UncertaintyError::TooFew { name: "reading".into(), found: 0, needed: 1 }),
            [only] => Input::standard("reading", *only, unsure.reading, exact)?,
            several => Input::repeated("reading, repeated", several)?,
        };
        let (cosine, u_cosine) = cosine(self.lever.misalignment, unsure.misalignment);
        let inputs = [
            reading,
            Input::standard("scale", 0.0, unsure.scale, exact)?,
            Input::standard("step of the scale", 0.0, anywhere_within(0.5 * unsure.step), exact)?,
            Input::standard("offset of the scale", self.scale.offset, unsure.offset, exact)?,
            Input::standard("slope of the scale", self.scale.slope, unsure.slope, exact)?,
            Input::standard("scale arm", self.lever.scale_arm, unsure.scale_arm, exact)?,
            Input::standard("propeller arm", self.lever.propeller_arm, unsure.propeller_arm, exact)?,
            Input::standard("cosine of the angle", cosine, u_cosine, exact)?,
            Input::standard("moment of the strut", self.moment, unsure.moment, exact)?,
        ];
        budget(&inputs, &[], &mut |x| {
            let [reading, scale, step, offset, slope, scale_arm, propeller_arm, cosine, moment] = x else {
                return f64::NAN;
            };
            let shown = Scale { slope: *slope, offset: *offset, tare: self.scale.tare };
            let lever = Lever { scale_arm: scale_arm * cosine, propeller_arm: *propeller_arm, ..self.lever };
            Lever { misalignment: 0.0, ..lever }.pull(shown.hook(reading + scale + step), *moment)
        })
    }
}

/// Mean and standard deviation of cos θ for a normal θ.
fn cosine(angle: f64, u: f64) -> (f64, f64) {
    let (s, c) = angle.sin_cos();
    let lost = -f64::exp_m1(-u * u);
    let variance = 0.5 * (c * lost).powi(2) - 0.5 * s * s * f64::exp_m1(-2.0 * u * u);
    (c * (-0.5 * u * u).exp(), variance.max(0.0).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLAIN: Balance = Balance {
        lever: Lever { propeller_arm: 0.64, scale_arm: 0.8, misalignment: 0.05, pivot_between: true },
        scale: Scale { slope: 1.01, offset: 0.2, tare: 0.5 },
        moment: 1.5,
    };

    #[test]
    fn what_the_scale_would_show_gives_the_pull_back() {
        for pull in [0.0, 3.0, 380.0] {
            let shown = PLAIN.scale.reading(PLAIN.lever.hook(pull, PLAIN.moment));
            let found = PLAIN.thrust(&[shown], &BalanceUnsure::default()).unwrap();
            // there and back is round-off of a few hundred
            assert!((found.value - pull).abs() < 1e-11 && found.u == 0.0, "{found:?}");
        }
    }

    #[test]
    fn an_unsure_angle_counts_though_the_cosine_is_flat() {
        // straight, ± 5° standard: mean cos = 1 − u²/2, deviation u²/√2 to the next order (u⁴: 6e-5)
        let u = 5f64.to_radians();
        let (mean, deviation) = cosine(0.0, u);
        assert!((mean - (1.0 - 0.5 * u * u)).abs() < 1e-5);
        assert!((deviation - u * u / 2f64.sqrt()).abs() < 6e-5);
        // off by 20° the slope takes over: u sin θ
        let (_, deviation) = cosine(20f64.to_radians(), 1e-3);
        assert!((deviation / (1e-3 * 20f64.to_radians().sin()) - 1.0).abs() < 1e-5);
        assert_eq!(cosine(0.3, 0.0), (0.3f64.cos(), 0.0));
    }

    #[test]
    fn repeats_and_the_rest_add_in_squares() {
        let unsure = BalanceUnsure { scale: 0.03, step: 0.1, scale_arm: 1e-3, ..BalanceUnsure::default() };
        let found = PLAIN.thrust(&[20.0, 20.3, 19.9, 20.2], &unsure).unwrap();
        let sum: f64 = found.rows.iter().map(|row| row.contribution.powi(2)).sum();
        assert!((sum.sqrt() - found.u).abs() < 1e-12);
        assert!(found.freedom > 3.0 && found.freedom.is_finite());
        assert!(PLAIN.thrust(&[], &unsure).is_err() && PLAIN.thrust(&[f64::NAN], &unsure).is_err());
    }
}
