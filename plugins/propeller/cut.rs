//! A cut as parameters, and the propeller of the series that stands for the cut blade.

use engine::setup::{Invalid, Params};
use engine::units::{LENGTH, NUMBER};

use super::b_series::BSeries;
use super::blade::{Blade, BladeError, outline_set_back, scaled, tip_turned_off};

/// Ranges of the series: P/D and A_E/A_0.
const PITCH_RATIOS: (f64, f64) = (0.5, 1.4);
const AREA_RATIOS: (f64, f64) = (0.30, 1.05);

/// What is cut, and how much.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    how: &'static str,
    /// x \[m\].
    removed: f64,
    thrust_exponent: f64,
    torque_exponent: f64,
}

/// A propeller of the series in place of a blade that is none of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct Equivalent {
    /// D′ \[m\].
    pub diameter: f64,
    /// Z, A_E/A_0′, P/D′.
    pub series: BSeries,
    /// (D′/D) to the exponents: K_T and K_Q are multiplied by these.
    pub thrust_factor: f64,
    /// Likewise.
    pub torque_factor: f64,
    /// What has to be said of it.
    pub advice: Vec<String>,
}

impl Cut {
    /// Reads the parameters.
    pub fn read(p: &mut Params) -> Cut {
        const SPREAD: &str = "assumption, no source: crop exponents computed from the series and rules of the trade differ by as much";
        Cut {
            how: p
                .choice(
                    "cut",
                    &["none", "tip", "outline", "scale"],
                    "what is taken off the blades: the tip turned off, the outline set back all round, or every length scaled",
                )
                .or("none"),
            removed: p
                .value("removed", LENGTH, "how much the cut takes off the tip radius, and with `outline` off both edges")
                .within(0.0, 0.3)
                .or("0 mm"),
            thrust_exponent: p
                .value("cut_thrust_exponent", NUMBER, "K_T of the cut blade is further multiplied by (D'/D) to this power")
                .within(-5.0, 5.0)
                .usual(-0.5, 0.5)
                .source(SPREAD)
                .or("0"),
            torque_exponent: p
                .value("cut_torque_exponent", NUMBER, "K_Q of the cut blade is further multiplied by (D'/D) to this power")
                .within(-5.0, 5.0)
                .usual(-0.5, 0.5)
                .source(SPREAD)
                .or("0"),
        }
    }

    /// Whether the blade is left as it is.
    pub fn is_none(&self) -> bool {
        self.removed == 0.0
    }

    /// The cut blade.
    fn apply(&self, blade: &Blade) -> Result<Blade, BladeError> {
        match self.how {
            "tip" => tip_turned_off(blade, self.removed),
            "outline" => outline_set_back(blade, self.removed),
            "scale" => scaled(blade, self.removed),
            _ => Ok(blade.clone()),
        }
    }

    /// The series propeller of the cut blade's D′, P/D′, A_E/A_0′ and Z. `area_ratio` is A_E/A_0 of the whole blade
    /// as it is to be counted: the outline only tells by how much it changes.
    ///
    /// **An assumption, not evidence**: a cropped tip is blunt and has a chord, a blade of the series has neither.
    ///
    /// # Errors
    /// There is no such cut, or what is left is no propeller.
    pub fn equivalent(&self, whole: &Blade, area_ratio: f64) -> Result<Equivalent, Invalid> {
        if !self.is_none() && self.how == "none" {
            let error = Invalid::at("removed", format!("takes {} m off, but `cut` is `none`", self.removed));
            return Err(error.help("say how it is cut: tip, outline or scale"));
        }
        let blade = self
            .apply(whole)
            .map_err(|error| Invalid::at("removed", format!("this cut {error}")).help("take less off"))?;
        let diameter = blade.diameter();
        let series = BSeries {
            blades: whole.blades(),
            area_ratio: area_ratio * blade.area_ratio() / whole.area_ratio(),
            pitch_ratio: blade.mean_pitch() / diameter,
        };
        let ratio = diameter / whole.diameter();
        let mut advice = Vec::new();
        if !self.is_none() {
            advice.push(
                "the cut blade is taken for the series propeller of its diameter, pitch and area, which is an \
                 assumption: thin edges, blunt tips, balance and strength are outside the model"
                    .to_string(),
            );
        }
        advice.extend(outside(&series));
        Ok(Equivalent {
            diameter,
            series,
            thrust_factor: ratio.powf(self.thrust_exponent),
            torque_factor: ratio.powf(self.torque_exponent),
            advice,
        })
    }
}

/// What to say of a blade that the series does not reach to.
fn outside(series: &BSeries) -> Option<String> {
    let BSeries { pitch_ratio, area_ratio, .. } = *series;
    let within = |x: f64, (low, high): (f64, f64)| (low..=high).contains(&x);
    (!within(pitch_ratio, PITCH_RATIOS) || !within(area_ratio, AREA_RATIOS)).then(|| {
        format!(
            "P/D {pitch_ratio:.2} and A_E/A_0 {area_ratio:.2} lie outside the B-series (P/D 0.5 to 1.4, A_E/A_0 0.30 \
             to 1.05): thrust and torque are extrapolated"
        )
    })
}
