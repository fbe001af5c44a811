//! Forces on a wing at its quarter chord, for any direction of motion.

use engine::smooth;
use engine::table::Curve;

use super::free_surface::{self, LiftFactor};
use super::stall::Stall;
use super::wing::{self, Section};
use crate::handbook::{friction, friction_curve};

/// Usual factor on the two-dimensional wave drag, beside A/(A + 2) for finite span.
///
/// # Source
/// Chosen so that full-size wings towed at 6 m/s fall inside the band measured there (W. Beaver,
/// J. Zseleczky 2009, C_Dw = (0.022–0.039) C_L² c/h, quoted); 1 would lie up to a quarter above it.
pub const WAVE_FACTOR: f64 = 0.75;

/// Measures and properties of a wing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Geometry {
    /// Span b \[m\].
    pub span: f64,
    /// Area S \[m²\].
    pub area: f64,
    /// Incidence of the chord to the board's bottom i \[rad\], nose up positive.
    pub incidence: f64,
    /// Planform factor δ of the induced drag.
    pub delta: f64,
    /// Factor on the wave drag, see [`WAVE_FACTOR`].
    pub wave_factor: f64,
    /// Least section drag c_d0 where it is known; otherwise from friction and form.
    pub c_d0: Option<f64>,
    /// Laminar share of the boundary layer, 0–1, for the drag from friction.
    pub laminar: f64,
    /// The section.
    pub section: Section,
}

/// A wing made ready for evaluation.
#[derive(Debug, Clone)]
pub struct Wing {
    geometry: Geometry,
    chord: f64,
    aspect_ratio: f64,
    sin_incidence: f64,
    cos_incidence: f64,
    /// Deep-water lift slope a \[1/rad\].
    slope: f64,
    lift_factor: LiftFactor,
    stall: Stall,
    /// c_d0 over Reynolds number.
    drag: Curve,
    wave_factor: f64,
}

/// The water at the quarter chord and how it moves.
#[derive(Debug, Clone, Copy)]
pub struct Flow {
    /// Forward speed of the wing through the water \[m/s\].
    pub v_x: f64,
    /// Downward speed of the wing through the water \[m/s\].
    pub v_z: f64,
    /// Sine of the craft's pitch angle.
    pub sin_pitch: f64,
    /// Cosine of the craft's pitch angle.
    pub cos_pitch: f64,
    /// Depth of the quarter chord h \[m\], negative above water.
    pub depth: f64,
    /// Downwash angle of a wing ahead ε \[rad\].
    pub downwash: f64,
    /// Density \[kg/m³\].
    pub rho: f64,
    /// Kinematic viscosity \[m²/s\].
    pub nu: f64,
    /// Gravity \[m/s²\].
    pub g: f64,
}

/// State of the flow on the wing, before any lag.
#[derive(Debug, Clone, Copy)]
pub struct Attitude {
    /// Speed through the water V \[m/s\].
    pub speed: f64,
    /// Angle of attack α from the chord \[rad\], downwash taken off.
    pub alpha: f64,
    /// Steady lift coefficient C_L.
    pub c_l: f64,
    /// Share of separated flow, 0–1.
    pub stalled: f64,
    /// Share of the forces left near the surface, 0–1.
    pub fade: f64,
    /// Free-surface factor on the induced drag σ.
    pub sigma: f64,
    /// Free-surface factor on lift K.
    pub k: f64,
    /// Drag coefficient of separated flow, 0 where attached.
    c_d_separated: f64,
    sin_alpha: f64,
    cos_alpha: f64,
}

/// Forces at the quarter chord: each drag \[N\] is ≥ 0 against the motion, lift across it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forces {
    /// Forward force X \[N\].
    pub x: f64,
    /// Downward force Z \[N\].
    pub z: f64,
    /// Moment about the quarter chord M \[N·m\], bow up positive.
    pub moment: f64,
    /// Lift \[N\], positive to the left of the motion (up, going forward).
    pub lift: f64,
    /// Section drag: friction and form.
    pub profile: f64,
    /// Drag of the trailing vortices, with the surface's share.
    pub induced: f64,
    /// Drag of the waves made.
    pub wave: f64,
    /// Drag of separated flow.
    pub separated: f64,
    /// Lift tilted back by the downwash of a wing ahead; may be negative.
    pub downwash: f64,
}

impl Forces {
    /// All drag together \[N\].
    pub fn drag(&self) -> f64 {
        self.profile + self.induced + self.wave + self.separated + self.downwash
    }
}

impl Wing {
    /// A wing; the caller has checked that lengths and areas are positive and
    /// c_l,min < 0 < c_l,max.
    pub fn new(geometry: Geometry) -> Wing {
        let section = geometry.section;
        let aspect_ratio = geometry.span * geometry.span / geometry.area;
        let chord = geometry.area / geometry.span;
        let slope = wing::helmbold_slope(section.lift_slope, aspect_ratio);
        let drag = profile_drag(&geometry);
        // friction of separated flow is small beside its pressure drag: one Reynolds number will do
        let typical = drag.held(4e5);
        Wing {
            chord,
            aspect_ratio,
            sin_incidence: geometry.incidence.sin(),
            cos_incidence: geometry.incidence.cos(),
            slope,
            lift_factor: LiftFactor::new(chord, aspect_ratio),
            stall: Stall::new(slope, aspect_ratio, section.c_l_max, section.c_l_min, typical),
            drag,
            wave_factor: geometry.wave_factor * aspect_ratio / (aspect_ratio + 2.0),
            geometry,
        }
    }

    /// Mean chord c = S/b \[m\].
    pub fn chord(&self) -> f64 {
        self.chord
    }

    /// Aspect ratio A = b²/S.
    pub fn aspect_ratio(&self) -> f64 {
        self.aspect_ratio
    }

    /// Lift-curve slope in deep water a \[1/rad\].
    pub fn slope(&self) -> f64 {
        self.slope
    }

    /// Lift-curve slope under the surface \[1/rad\]: [`wing::helmbold_slope`] with the section
    /// slope a_0 K and the aspect ratio A/(1 + σ).
    ///
    /// # Source
    /// Self-consistent lifting line, a = a_0 K/(1 + a_0 K (1 + σ)/(πA)), in Helmbold's form so
    /// that deep water gives [`Wing::slope`].
    pub fn slope_at(&self, k: f64, sigma: f64) -> f64 {
        wing::helmbold_slope(self.geometry.section.lift_slope * k, self.aspect_ratio / (1.0 + sigma))
    }

    /// Angle of attack, surface factors and steady lift coefficient.
    pub fn attitude(&self, flow: &Flow) -> Attitude {
        let v_2 = flow.v_x * flow.v_x + flow.v_z * flow.v_z;
        let speed = v_2.sqrt();
        // chord in earth axes: pitch and incidence together
        let sin = flow.sin_pitch * self.cos_incidence + flow.cos_pitch * self.sin_incidence;
        let cos = flow.cos_pitch * self.cos_incidence - flow.sin_pitch * self.sin_incidence;
        // velocity along the chord and across it, downward
        let along = flow.v_x * cos - flow.v_z * sin;
        let across = flow.v_x * sin + flow.v_z * cos;
        let alpha = across.atan2(along) - flow.downwash;

        let sigma = free_surface::sigma(flow.depth / self.geometry.span);
        let k = self.lift_factor.at(flow.depth, speed, flow.g);
        let fade = wing::depth_fade(flow.depth, self.chord);

        // attached lift, limited by the stall at the same lift coefficient at every depth
        let from_zero_lift = alpha - self.geometry.section.zero_lift_angle;
        let slope = self.slope_at(k, sigma);
        let attached = slope * from_zero_lift;
        let stalled = self.stall.share(attached / self.slope);
        let (mut c_l, mut c_d_separated) = (attached, 0.0);
        let (mut sin_alpha, mut cos_alpha) = (0.0, 1.0);
        if stalled > 0.0 {
            (sin_alpha, cos_alpha) = from_zero_lift.sin_cos();
            let (c_l_stall, c_d_stall) = self.stall.separated(from_zero_lift, sin_alpha, cos_alpha);
            c_l = attached + stalled * (c_l_stall - attached);
            c_d_separated = c_d_stall;
        }
        Attitude { speed, alpha, c_l, stalled, fade, sigma, k, c_d_separated, sin_alpha, cos_alpha }
    }

    /// Forces at the lift coefficient `c_l`, which may lag behind the steady one.
    ///
    /// Lift points along (v_z, −v_x)/V, drag along −(v_x, v_z)/V; everything fades with V² at rest.
    pub fn forces(&self, flow: &Flow, at: &Attitude, c_l: f64) -> Forces {
        let attached = 1.0 - at.stalled;
        let q_s = 0.5 * flow.rho * at.speed * at.speed * self.geometry.area * at.fade;
        let section = &self.geometry.section;

        let c_d0 = self.drag.held(at.speed * self.chord / flow.nu);
        let lift = q_s * c_l;
        let profile = q_s * attached * section.drag(c_d0, c_l);
        let induced = q_s
            * attached
            * (1.0 + at.sigma)
            * wing::induced_drag(c_l, self.aspect_ratio, self.geometry.delta);
        let wave = self.wave_factor
            * attached
            * at.fade
            * free_surface::wave_drag(
                flow.rho,
                flow.g,
                self.chord,
                self.geometry.area,
                c_l,
                flow.depth,
                at.speed * at.speed,
            );
        let separated = q_s * at.stalled * at.c_d_separated;
        let downwash = lift * flow.downwash;

        // centre of pressure of a plate: from a quarter chord ahead to three quarters astern
        let normal = c_l * at.cos_alpha + at.c_d_separated * at.sin_alpha;
        let c_m = attached * section.c_m - at.stalled * 0.25 * (1.0 - at.cos_alpha) * normal;

        let drag = profile + induced + wave + separated + downwash;
        // unit vector of the motion; 0 at rest, where the forces are of second order
        let scale = 1.0 / (at.speed + f64::MIN_POSITIVE);
        let (e_x, e_z) = (flow.v_x * scale, flow.v_z * scale);
        Forces {
            x: lift * e_z - drag * e_x,
            z: -lift * e_x - drag * e_z,
            moment: q_s * self.chord * c_m,
            lift,
            profile,
            induced,
            wave,
            separated,
            downwash,
        }
    }

    /// Downwash angle far behind this wing \[rad\] at the lift coefficient `c_l`, with the share
    /// the surface adds.
    pub fn downwash(&self, at: &Attitude, c_l: f64) -> f64 {
        at.fade * (1.0 + at.sigma) * wing::far_downwash(c_l, self.aspect_ratio)
    }

    /// Whether air may reach the suction side, as a number above 0: depth below half a chord while
    /// lifting more than C_L 0.3.
    ///
    /// # Source
    /// Common practice, no source; ventilation needs low pressure and a path for air
    /// (Harwood et al., *J. Fluid Mech.* 2016; Swales et al. 1974, quoted).
    pub fn ventilation_margin(&self, depth: f64, c_l: f64) -> f64 {
        // positive when both conditions hold: the smaller of two scaled excesses
        let shallow = 1.0 - depth / (0.5 * self.chord);
        smooth::min(shallow, c_l / 0.3 - 1.0, 0.05)
    }
}

/// c_d0 over Reynolds number: constant if given, else 2 C_F (1 + 2 t/c + 60 (t/c)⁴).
fn profile_drag(geometry: &Geometry) -> Curve {
    match geometry.c_d0 {
        Some(c_d0) => Curve::hermite(&[0.0, 1e6], &[c_d0; 2], &[0.0; 2]),
        None => {
            let form = friction::form_factor_section(geometry.section.thickness);
            friction_curve::plate(2.0 * form, geometry.laminar)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wing() -> Wing {
        Wing::new(Geometry {
            span: 0.9,
            area: 0.12,
            incidence: 0.02,
            delta: 0.05,
            wave_factor: WAVE_FACTOR,
            c_d0: None,
            laminar: 0.5,
            section: Section {
                lift_slope: 6.0,
                zero_lift_angle: -0.06,
                c_l_max: 1.2,
                c_l_min: -0.8,
                c_l_ideal: 0.3,
                k_2: 0.01,
                c_m: -0.07,
                thickness: 0.12,
            },
        })
    }

    fn at(angle: f64, depth: f64) -> [f64; 3] {
        let wing = wing();
        let flow = Flow {
            v_x: 4.0 * angle.cos(),
            v_z: 4.0 * angle.sin(),
            sin_pitch: 0.05f64.sin(),
            cos_pitch: 0.05f64.cos(),
            depth,
            downwash: 0.01,
            rho: 1000.0,
            nu: 1e-6,
            g: 9.81,
        };
        let attitude = wing.attitude(&flow);
        let f = wing.forces(&flow, &attitude, attitude.c_l);
        [f.x, f.z, f.moment]
    }

    #[test]
    fn no_corner_in_angle_or_depth() {
        let slopes = |f: &dyn Fn(f64) -> [f64; 3], low: f64, high: f64, n: u32| {
            let step = (high - low) / f64::from(n);
            let values: Vec<[f64; 3]> = (0..=n).map(|i| f(low + f64::from(i) * step)).collect();
            let mut worst = [0.0f64; 3];
            let mut steepest = [0.0f64; 3];
            for w in values.windows(3) {
                for k in 0..3 {
                    let (before, after) = ((w[1][k] - w[0][k]) / step, (w[2][k] - w[1][k]) / step);
                    worst[k] = worst[k].max((after - before).abs());
                    steepest[k] = steepest[k].max(after.abs());
                }
            }
            // a corner stays as the grid gets finer; a bend seen on n points shrinks with 1/n
            (0..3).map(|k| worst[k] / steepest[k]).fold(0.0, f64::max)
        };
        // round the clock, across the seam at ±180°: the blend at the stall is 8° wide
        let by_angle = slopes(&|a| at(a, 0.4), -3.3, 3.3, 20_000);
        assert!(by_angle < 0.02, "{by_angle}");
        let by_depth = slopes(&|h| at(0.03, h), -0.05, 0.6, 20_000);
        assert!(by_depth < 0.02, "{by_depth}");
    }

    #[test]
    fn drags_add_up_to_the_force_against_the_motion() {
        let wing = wing();
        let flow = Flow {
            v_x: 3.0,
            v_z: 0.4,
            sin_pitch: 0.1,
            cos_pitch: (1.0f64 - 0.01).sqrt(),
            depth: 0.2,
            downwash: 0.02,
            rho: 1000.0,
            nu: 1e-6,
            g: 9.81,
        };
        let attitude = wing.attitude(&flow);
        let f = wing.forces(&flow, &attitude, attitude.c_l);
        let power = -(f.x * flow.v_x + f.z * flow.v_z);
        // round-off of sums of some hundred watts
        assert!((power - f.drag() * attitude.speed).abs() < 1e-10);
    }
}
