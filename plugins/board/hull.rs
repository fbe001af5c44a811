//! Shape of the board below its deck, cut into strips, and what of it is wet.
//!
//! The board is a plate with a flat bottom whose nose rises along a parabola.
//! Each strip is a box: outline width, and one height all along chosen so that
//! the strips together enclose the board's volume.

use super::added_mass::{AddedMass, board_surge, c_a_rectangular_plate};
use engine::smooth;
use std::f64::consts::PI;

/// Number of strips along the board.
pub const STRIPS: usize = 32;

/// Rounding of the waterline on a strip beyond its own slope \[m\].
const W_VOLUME: f64 = 0.001;
/// Rounding of "wet or dry" on a level strip \[m\]: ripples of a calm surface.
const W_WET: f64 = 0.015;

/// Plan form of the nose.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outline {
    /// Full beam to the tip.
    Square,
    /// Half an ellipse over the nose length.
    Round,
}

/// Main dimensions of a board \[m, m³\].
#[derive(Debug, Clone, Copy)]
pub struct Shape {
    /// Length L.
    pub length: f64,
    /// Beam b, carried to the tail.
    pub beam: f64,
    /// Largest thickness.
    pub thickness: f64,
    /// Enclosed volume.
    pub volume: f64,
    /// Length of the nose, over which the bottom rises and the outline closes.
    pub nose_length: f64,
    /// Rise of the bottom at the tip.
    pub nose_rise: f64,
    /// Plan form of the nose.
    pub outline: Outline,
}

/// The volume given does not fit the other dimensions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VolumeMismatch {
    /// Volume of a box of the board's outline and largest thickness \[m³\].
    pub outline_times_thickness: f64,
}

/// A board ready for evaluation.
#[derive(Debug, Clone)]
pub struct Hull {
    /// Length L \[m\].
    pub length: f64,
    /// Beam b \[m\].
    pub beam: f64,
    /// Height of every strip \[m\]: volume ÷ outline area.
    pub height: f64,
    /// Enclosed volume \[m³\].
    pub volume: f64,
    /// Area of the outline \[m²\].
    pub deck_area: f64,
    /// Forward end of the flat part of the bottom \[m\].
    pub flat_length: f64,
    /// Rise of the bottom at the tip \[m\].
    pub nose_rise: f64,
    strip_length: f64,
    flat_strips: usize,
    /// Surge added mass ÷ displaced mass, k_1.
    k_surge: f64,
    strips: Strips,
}

/// Per strip: place forward of the tail, bottom below the flat (≤ 0), plan area,
/// sine and cosine of the bottom's own slope, added mass ÷ ρ of the strip when
/// wet \[m³\], b^1.5 × strip length.
#[derive(Debug, Clone)]
struct Strips {
    x: [f64; STRIPS],
    z: [f64; STRIPS],
    area: [f64; STRIPS],
    sin: [f64; STRIPS],
    cos: [f64; STRIPS],
    added: [f64; STRIPS],
    width_15: [f64; STRIPS],
}

/// Place and motion of a board, water at rest: see `handbook::kinematics` for the axes.
#[derive(Debug, Clone, Copy)]
pub struct Attitude {
    /// Downward speed w of the centre of gravity \[m/s\].
    pub w: f64,
    /// Pitch rate q, bow-up \[rad/s\].
    pub q: f64,
    /// Sine of the pitch angle θ.
    pub sin: f64,
    /// Cosine of the pitch angle θ.
    pub cos: f64,
    /// Depth of the centre of gravity \[m\].
    pub depth: f64,
    /// Centre of gravity forward of the tail \[m\].
    pub cg_forward: f64,
    /// Centre of gravity below the board's bottom \[m\]; negative above it.
    pub cg_below: f64,
}

/// What of the board is wet. Distances `e_x` are ahead of the centre of gravity, in earth axes.
#[derive(Debug, Clone, Copy, Default)]
pub struct Immersion {
    /// Displaced volume \[m³\].
    pub volume: f64,
    /// Volume × e_x of the bottom under it \[m⁴\].
    pub volume_moment: f64,
    /// Volume × height of its centroid above the bottom \[m⁴\].
    pub volume_height: f64,
    /// Wetted length of the bottom \[m\].
    pub length: f64,
    /// Wetness of the tail, 0–1.
    pub tail: f64,
    /// Wetted area of the bottom \[m²\].
    pub area: f64,
    /// Wetted area of the two sides \[m²\].
    pub sides: f64,
    /// Wetted area of the deck \[m²\].
    pub deck: f64,
    /// Added mass ÷ ρ.
    pub added: AddedMass,
    /// Rate of the added mass ÷ ρ.
    pub added_rate: AddedMass,
    /// Σ over strips of ½ (a′) |v_z| v_z and its bow-up moment, ÷ ρ: force up on entry, down on exit.
    pub slam: (f64, f64),
    /// Σ over strips of b^1.5 v_z dx (wet) and its bow-up moment.
    pub heave_speed: (f64, f64),
}

impl Hull {
    /// Cuts the shape into strips.
    ///
    /// # Errors
    /// [`VolumeMismatch`] if the volume is more than outline × thickness or less than half of it.
    pub fn new(shape: &Shape) -> Result<Hull, VolumeMismatch> {
        let Shape { length: l, beam, .. } = *shape;
        let dx = l / STRIPS as f64;
        let flat_length = l - shape.nose_length;
        let x: [f64; STRIPS] = std::array::from_fn(|i| (i as f64 + 0.5) * dx);
        // 0 on the flat part, 1 at the tip
        let s = x.map(|x| ((x - flat_length) / shape.nose_length.max(1e-9)).clamp(0.0, 1.0));
        let width = s.map(|s| match shape.outline {
            Outline::Square => beam,
            Outline::Round => beam * (1.0 - s * s).sqrt(),
        });
        let slope = s.map(|s| (2.0 * shape.nose_rise * s / shape.nose_length.max(1e-9)).atan());
        let area: f64 = width.iter().map(|b| b * dx).sum();
        let outline_times_thickness = area * shape.thickness;
        if !(0.5..=1.0).contains(&(shape.volume / outline_times_thickness)) {
            return Err(VolumeMismatch { outline_times_thickness });
        }
        // a floating strip has half the added mass of its double body, π/4 b² · ½
        let three_d = c_a_rectangular_plate(l / beam);
        Ok(Hull {
            length: l,
            beam,
            height: shape.volume / area,
            volume: shape.volume,
            deck_area: area,
            flat_length,
            nose_rise: shape.nose_rise,
            strip_length: dx,
            k_surge: board_surge(l, beam, shape.volume),
            flat_strips: s.iter().filter(|&&s| s == 0.0).count(),
            strips: Strips {
                x,
                z: s.map(|s| -shape.nose_rise * s * s),
                area: width.map(|b| b * dx),
                sin: slope.map(f64::sin),
                cos: slope.map(f64::cos),
                added: width.map(|b| three_d * PI / 8.0 * b * b * dx),
                width_15: width.map(|b| b * b.sqrt() * dx),
            },
        })
    }

    /// One pass over the strips.
    ///
    /// *Volume:* on a strip with straight bottom the mean immersion is the
    /// positive part of the depth at its middle, rounded over ± half its rise;
    /// that rounding **is** the exact integral along the strip, so a floating
    /// board obeys Archimedes. *Wet or dry:* a septic smoothstep over ± two strips'
    /// rise, which tiles along the bottom to a nearly straight line.
    /// *Added mass:* wet strips only; its rate is the exact derivative along the motion. In surge it is
    /// k_1 of the volume below the water, each strip counted plumb up to its deck, with the
    /// waterline rounded over the band of wetness: a place, whatever the speed.
    ///
    /// `dry`, 0–1: how far the water no longer closes over the deck behind the
    /// nose, because the board outruns it. A dry deck takes no pressure off the bottom.
    pub fn immersion(&self, at: &Attitude, dry: f64) -> Immersion {
        let &Attitude { w, q, sin, cos, .. } = at;
        let k = &self.strips;
        let dx = self.strip_length;
        // keeps the wall-sided height finite on edge; exact below 70°
        let upright = smooth::max(cos, 0.2, 0.1);
        let (per_upright, deck_above) = (1.0 / upright, self.height * upright);
        let flat = self.edge(at, 0.0, 1.0);
        let mut sum = Immersion::default();
        for i in 0..STRIPS {
            let (r_x, r_z) = (k.x[i] - at.cg_forward, k.z[i] - at.cg_below);
            let e_x = r_x * cos + r_z * sin;
            let d = at.depth - r_x * sin + r_z * cos;
            let edge = if i < self.flat_strips { flat } else { self.edge(at, k.sin[i], k.cos[i]) };
            // clear of the water: nothing to add
            if d <= -edge.band {
                continue;
            }
            let v_z = w - q * e_x;
            // displaced volume
            let over = if i < self.flat_strips { 1.0 - dry } else { 1.0 };
            let height = per_upright * (edge.positive(d) - over * edge.positive(d - deck_above));
            let volume = k.area[i] * height;
            sum.volume += volume;
            sum.volume_moment += volume * e_x;
            sum.volume_height += 0.5 * volume * height;
            sum.sides += height;
            // wetted surface
            let (wet, wet_slope) = edge.wet(d);
            if i == 0 {
                sum.tail = wet;
            }
            sum.length += wet;
            sum.area += wet * k.area[i];
            if d - deck_above > -edge.band {
                sum.deck += over * edge.wet(d - deck_above).0 * k.area[i];
            }
            // volume in surge and its rate
            let (depth, depth_rate) = edge.depth(d, wet, v_z);
            sum.added.a11 += k.area[i] * depth;
            sum.added_rate.a11 += k.area[i] * depth_rate;
            let d_deck = d - self.height;
            if d_deck > -edge.band {
                let (depth, depth_rate) = edge.depth(d_deck, edge.wet(d_deck).0, v_z);
                sum.added.a11 -= k.area[i] * depth;
                sum.added_rate.a11 -= k.area[i] * depth_rate;
            }
            // added mass; a e_x also changes as the strip swings about the centre of gravity
            let a = k.added[i] * wet;
            let a_e_x = a * e_x;
            let e_x_rate = q * (d - at.depth);
            sum.added.a33 += a;
            sum.added.a35 -= a_e_x;
            sum.added.a55 += a_e_x * e_x;
            sum.added_rate.a35 -= a * e_x_rate;
            sum.added_rate.a55 += 2.0 * a_e_x * e_x_rate;
            // waves
            let speed = k.width_15[i] * wet * v_z;
            sum.heave_speed.0 += speed;
            sum.heave_speed.1 -= speed * e_x;
            // entering or leaving: rate of the added mass (depth and band both move), slamming
            if wet_slope > 0.0 {
                let a_slope = k.added[i] * wet_slope;
                let a_rate = a_slope * (v_z - d * edge.band_rate);
                sum.added_rate.a33 += a_rate;
                sum.added_rate.a35 -= a_rate * e_x;
                sum.added_rate.a55 += a_rate * e_x * e_x;
                let slam = 0.5 * a_slope * v_z.abs() * v_z;
                sum.slam.0 -= slam;
                sum.slam.1 += slam * e_x;
            }
        }
        sum.added.a11 *= self.k_surge;
        sum.added_rate.a11 *= self.k_surge;
        sum.sides *= 2.0 * dx;
        sum.length *= dx;
        sum
    }

    /// Roundings on a strip whose bottom has the slope given by sine and cosine.
    fn edge(&self, at: &Attitude, slope_sin: f64, slope_cos: f64) -> Edge {
        // rise of the bottom over the strip, and its rate
        let rise = self.strip_length * (at.sin * slope_cos + at.cos * slope_sin);
        let rise_rate = self.strip_length * at.q * (at.cos * slope_cos - at.sin * slope_sin);
        let round = (0.25 * rise * rise + W_VOLUME * W_VOLUME).sqrt();
        let band_squared = 4.0 * rise * rise + W_WET * W_WET;
        let band = band_squared.sqrt();
        Edge {
            round,
            per_round: 0.5 / round,
            band,
            per_band: 0.5 / band,
            band_rate: 4.0 * rise * rise_rate / band_squared,
        }
    }
}

/// Roundings at the waterline of a strip.
#[derive(Clone, Copy)]
struct Edge {
    /// Half width of the rounding of the volume \[m\], and ½ of its inverse.
    round: f64,
    per_round: f64,
    /// Half width of the band between dry and wet \[m\], and ½ of its inverse.
    band: f64,
    per_band: f64,
    /// Relative rate of that half width \[1/s\].
    band_rate: f64,
}

impl Edge {
    /// Wetness at depth `d`, 0–1, and its slope \[1/m\]: `smooth::smootherstep` and its
    /// slope, since slamming follows the slope. With a quintic the corners in the force's own slope
    /// passed under the integrator's error control in a hard landing.
    #[inline(always)]
    fn wet(&self, d: f64) -> (f64, f64) {
        let u = (0.5 + d * self.per_band).clamp(0.0, 1.0);
        let (uu, rest) = (u * u, u * (1.0 - u));
        (uu * uu * (35.0 + u * (u * (70.0 - 20.0 * u) - 84.0)), 140.0 * rest * rest * rest * self.per_band)
    }

    /// Depth `d` from 0 on, rounded over the band, and its rate at downward speed `v_z`: the
    /// integral of [`Edge::wet`], of which `wet` is the value here.
    #[inline(always)]
    fn depth(&self, d: f64, wet: f64, v_z: f64) -> (f64, f64) {
        if d >= self.band {
            return (d, v_z);
        }
        let u = (0.5 + d * self.per_band).clamp(0.0, 1.0);
        let uu = u * u;
        let depth = self.band * uu * uu * u * (14.0 + u * (u * (20.0 - 5.0 * u) - 28.0));
        // the band moves too
        (depth, wet * v_z + (depth - wet * d) * self.band_rate)
    }

    /// `smooth::positive` of depth `d`, without a branch or a division.
    #[inline(always)]
    fn positive(&self, d: f64) -> f64 {
        let t = (0.5 + d * self.per_round).clamp(0.0, 1.0);
        self.round * t * t + (d - self.round).max(0.0)
    }
}
