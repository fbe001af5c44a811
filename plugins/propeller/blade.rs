//! A blade as a row of stations along the radius, and what follows from its outline: area, mean pitch.
//!
//! Symbols: r radius \[m\], R tip radius \[m\], c chord \[m\], P pitch \[m\], A_E expanded area of all blades
//! \[m²\], A_0 = π R² disc \[m²\]. Between stations everything is linear.

mod cuts;
mod error;

pub use cuts::{outline_set_back, scaled, tip_turned_off};
pub use error::BladeError;

use std::f64::consts::{PI, TAU};

/// One station of the expanded blade.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    /// Radius r \[m\].
    pub r: f64,
    /// Leading edge ahead of the blade's line, along the section \[m\]; negative behind it.
    pub leading: f64,
    /// Trailing edge behind the blade's line, along the section \[m\]; negative ahead of it.
    pub trailing: f64,
    /// Pitch P \[m\].
    pub pitch: f64,
}

impl Station {
    /// Chord c \[m\].
    pub fn chord(&self) -> f64 {
        self.leading + self.trailing
    }
}

/// Blades of one propeller, all alike.
#[derive(Debug, Clone, PartialEq)]
pub struct Blade {
    blades: u32,
    /// Ascending in r, from the hub to the tip; two at least.
    stations: Vec<Station>,
}

/// Pitch \[m\] of a section at radius r \[m\] whose face makes the angle \[rad\] with the plane of rotation:
/// `P = 2π r tan φ`.
pub fn pitch_of_angle(r: f64, angle: f64) -> f64 {
    TAU * r * angle.tan()
}

/// Chord \[m\] of a section that is seen along the shaft to be as wide as `seen` \[m\] (along the circle of its
/// radius), at a face angle \[rad\]: `c = seen/cos φ`.
pub fn expanded_chord(seen: f64, angle: f64) -> f64 {
    seen / angle.cos()
}

impl Blade {
    /// From stations (any number from two up, r ascending from the hub to the tip).
    ///
    /// # Errors
    /// [`BladeError`] where they make no blade: a number that is none, radii that do not rise, a chord that is not
    /// positive (at the tip it may vanish), a pitch that is not positive.
    pub fn new(blades: u32, stations: Vec<Station>) -> Result<Blade, BladeError> {
        if blades == 0 || stations.len() < 2 {
            return Err(BladeError::TooFew { stations: stations.len(), blades });
        }
        let last = stations.len() - 1;
        for (k, s) in stations.iter().enumerate() {
            if ![s.r, s.leading, s.trailing, s.pitch].iter().all(|x| x.is_finite()) {
                return Err(BladeError::NotFinite { station: k + 1 });
            }
            if s.r <= 0.0 {
                return Err(BladeError::Radius { station: k + 1, r: s.r });
            }
            if s.chord() < 0.0 || (s.chord() == 0.0 && k < last) {
                return Err(BladeError::Chord { r: s.r, chord: s.chord() });
            }
            if s.pitch <= 0.0 {
                return Err(BladeError::Pitch { r: s.r, pitch: s.pitch });
            }
        }
        match stations.windows(2).find(|w| w[1].r <= w[0].r) {
            Some(w) => Err(BladeError::Unsorted { before: w[0].r, r: w[1].r }),
            None => Ok(Blade { blades, stations }),
        }
    }

    /// Number of blades Z.
    pub fn blades(&self) -> u32 {
        self.blades
    }

    /// Stations from the hub to the tip.
    pub fn stations(&self) -> &[Station] {
        &self.stations
    }

    /// Radius of the hub \[m\].
    pub fn hub_radius(&self) -> f64 {
        self.stations.first().map_or(0.0, |s| s.r)
    }

    /// Radius of the tip R \[m\].
    pub fn tip_radius(&self) -> f64 {
        self.stations.last().map_or(0.0, |s| s.r)
    }

    /// Diameter D = 2 R \[m\].
    pub fn diameter(&self) -> f64 {
        2.0 * self.tip_radius()
    }

    /// Station at radius r \[m\], between those given; the end stations beyond the ends.
    pub fn at(&self, r: f64) -> Station {
        let after = self.stations.partition_point(|s| s.r <= r).clamp(1, self.stations.len() - 1);
        let (a, b) = (self.stations[after - 1], self.stations[after]);
        let share = ((r - a.r) / (b.r - a.r)).clamp(0.0, 1.0);
        let between = |x: f64, y: f64| x + share * (y - x);
        Station {
            r,
            leading: between(a.leading, b.leading),
            trailing: between(a.trailing, b.trailing),
            pitch: between(a.pitch, b.pitch),
        }
    }

    /// Expanded area A_E of all blades outside the hub \[m²\]: `A_E = Z ∫ c dr`.
    pub fn expanded_area(&self) -> f64 {
        let strip = |w: &[Station]| 0.5 * (w[0].chord() + w[1].chord()) * (w[1].r - w[0].r);
        f64::from(self.blades) * self.stations.windows(2).map(strip).sum::<f64>()
    }

    /// Expanded area ratio A_E/A_0, A_0 = π R².
    pub fn area_ratio(&self) -> f64 {
        self.expanded_area() / (PI * self.tip_radius().powi(2))
    }

    /// Mean pitch \[m\], the mean over the blade weighted with c r²: `P = ∫ P c r² dr / ∫ c r² dr`.
    ///
    /// At a given angle of attack the lift of a strip at rest goes with its area and the square of its speed, ω r.
    /// This is the weight of both, and of one badly measured angle it makes less than the pitch at 0.7 R alone, the
    /// usual nominal pitch. For a helical blade (constant pitch) all means agree. No source: a choice.
    pub fn mean_pitch(&self) -> f64 {
        let weight = |s: &Station| s.chord() * s.r * s.r;
        let (mut sum, mut weights) = (0.0, 0.0);
        for w in self.stations.windows(2) {
            let width = w[1].r - w[0].r;
            sum += width * (weight(&w[0]) * w[0].pitch + weight(&w[1]) * w[1].pitch);
            weights += width * (weight(&w[0]) + weight(&w[1]));
        }
        sum / weights
    }

    /// The same blade with stations close enough for integrals and cuts: between any two given ones further ones,
    /// so that no gap is wider than a hundredth of R.
    pub fn refined(&self) -> Blade {
        let widest = self.tip_radius() / 100.0;
        let mut stations = Vec::new();
        for w in self.stations.windows(2) {
            let gaps = ((w[1].r - w[0].r) / widest).ceil().clamp(1.0, 100.0) as usize;
            stations.push(w[0]);
            stations.extend((1..gaps).map(|k| self.at(w[0].r + (w[1].r - w[0].r) * k as f64 / gaps as f64)));
        }
        stations.extend(self.stations.last());
        Blade { blades: self.blades, stations }
    }
}

#[cfg(test)]
mod tests;
