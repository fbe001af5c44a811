//! Blade outline of the Wageningen B-series.

use engine::table::Curve;

use super::b_series::BSeries;
use super::blade::{Blade, BladeError, Station};

/// Radii r/R of the table.
pub const RADII: [f64; 9] = [0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0];

/// Hub radius over R taken for all numbers of blades: the boss of the series, 0.167 D for four blades and more
/// (one public transcription); for three it is 0.180 D (from memory), left at the same.
pub const HUB: f64 = 0.167;

/// c Z/(D A_E/A_0) for four to seven blades, then for three.
///
/// # Source
/// M. W. C. Oosterveld, P. van Oossanen 1975, table of blade dimensions. Three public transcriptions agree to every
/// digit. They give nothing for two blades; those of three are taken.
pub const CHORD: [[f64; 9]; 2] = [
    [1.662, 1.882, 2.050, 2.152, 2.187, 2.144, 1.970, 1.582, 0.0],
    [1.633, 1.832, 2.000, 2.120, 2.186, 2.168, 2.127, 1.657, 0.0],
];

/// a/c, leading edge ahead of the generator line over the chord; four to seven blades, then three.
///
/// # Source
/// As [`CHORD`]; for three blades two transcriptions agree, for four to seven one, and memory. Nothing is printed at the
/// tip, where the chord vanishes: there the value at 0.9 R is kept.
pub const LEADING: [[f64; 9]; 2] = [
    [0.617, 0.613, 0.601, 0.586, 0.561, 0.524, 0.463, 0.351, 0.351],
    [0.616, 0.611, 0.599, 0.583, 0.558, 0.526, 0.481, 0.400, 0.400],
];

/// Gaps between hub and tip.
const GAPS: usize = 160;

impl BSeries {
    /// The expanded blade of this propeller at diameter D \[m\], of constant pitch.
    ///
    /// Through the table run monotone cubics; from 0.9 R to the tip the square of the chord falls in a straight line, so
    /// that the tip is round (the table ends the chord at nil and says no more). Four-bladed propellers of the
    /// series have up to 18 % less pitch towards the hub; **this is left out**: the nominal pitch is taken all over. The area comes out within 0.6 % of
    /// A_E/A_0 (checked), so ratios of areas should be used, not the area.
    ///
    /// # Errors
    /// D, P/D or A_E/A_0 is not positive.
    pub fn blade(&self, diameter: f64) -> Result<Blade, BladeError> {
        let row = usize::from(self.blades <= 3);
        let curve = |y: &[f64]| Curve::new(&RADII, y).ok();
        let (chord, leading) = (curve(&CHORD[row]), curve(&LEADING[row]));
        let outer = CHORD[row][7];
        let k = |x: f64| match &chord {
            Some(chord) if x < RADII[7] => chord.at(x),
            _ => outer * (10.0 * (1.0 - x)).max(0.0).sqrt(),
        };
        let scale = diameter * self.area_ratio / f64::from(self.blades.max(1));
        let station = |i: usize| {
            // closer towards the tip, where the chord falls steeply
            let s = 1.0 - i as f64 / GAPS as f64;
            let x = 1.0 - (1.0 - HUB) * s * s;
            let c = scale * k(x);
            let ahead = leading.as_ref().map_or(0.5, |curve| curve.at(x));
            Station {
                r: 0.5 * diameter * x,
                leading: c * ahead,
                trailing: c - c * ahead,
                pitch: self.pitch_ratio * diameter,
            }
        };
        Blade::new(self.blades, (0..=GAPS).map(station).collect())
    }
}
