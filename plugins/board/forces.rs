//! Force of the water on the board from rest to planing, without a switch.
//!
//! *Lift* goes from Archimedes to Savitsky (1964) between C_v 0.5 and 1.5, *wave
//! resistance* from Mercier–Savitsky (1973) to pressure drag (Δ tan τ of a
//! wedge) between F_n∇ 1.4 and 2.0 or C_v 1.0 and 1.5, whichever comes first.
//! Nobody prescribes the load: it is what draught, trim and
//! speed produce, so a foil that carries part of the weight lowers the hump by
//! itself. Every term vanishes with the wetted surface.
//!
//! **No resistance measurement of a short flat board below planing was found.**
//! The blend, the nose and the hump are estimates; `k_hump` (1.0, 68 %
//! range 0.75–1.5) is the knob to calibrate.

use super::hull::{Attitude, Hull, Immersion};
use super::mercier_savitsky::Residuary;
use super::savitsky::{C_DYNAMIC, C_STATIC};
use crate::handbook::friction::c_f_ittc57;
use crate::handbook::kinematics::{Offset, offset};
use engine::smooth;
use std::f64::consts::PI;

/// What the strips alone do not say about a board.
#[derive(Debug, Clone, Copy)]
pub struct Coefficients {
    /// Factor on the residuary (wave) resistance.
    pub k_hump: f64,
    /// Allowance ΔC_F for roughness.
    pub allowance: f64,
    /// Drag coefficient C_DN of the immersed nose as a blunt block, on beam × immersion.
    pub c_d_nose: f64,
    /// Damping ratio ζ of heave from wave making, strip by strip.
    pub heave_damping: f64,
}

/// A board: shape, wave resistance, coefficients.
#[derive(Debug, Clone)]
pub struct Board {
    /// Shape.
    pub hull: Hull,
    /// Wave resistance per load.
    pub residuary: Residuary,
    /// The rest.
    pub coefficients: Coefficients,
}

/// Water and gravity, SI.
#[derive(Debug, Clone, Copy)]
pub struct Water {
    /// Density ρ \[kg/m³\].
    pub rho: f64,
    /// Kinematic viscosity ν \[m²/s\].
    pub nu: f64,
    /// Acceleration of gravity g \[m/s²\].
    pub g: f64,
}

/// Force forward X, down Z \[N\] and bow-up moment M about the centre of gravity \[N·m\].
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Wrench {
    /// Forward.
    pub x: f64,
    /// Down.
    pub z: f64,
    /// Bow-up moment.
    pub m: f64,
}

impl Wrench {
    fn at(point: Offset, x: f64, z: f64) -> Wrench {
        let m = point.moment(x, z);
        Wrench { x, z, m }
    }

    /// Power the force takes out of the craft \[W\]: −(X u + Z w + M q).
    pub fn sink(self, u: f64, w: f64, q: f64) -> f64 {
        -(self.x * u + self.z * w + self.m * q)
    }
}

/// Force of the water on the board, by cause.
#[derive(Debug, Clone, Copy, Default)]
pub struct Forces {
    /// Buoyancy, as changed by planing.
    pub buoyancy: Wrench,
    /// Lift of the moving bottom.
    pub planing_lift: Wrench,
    /// Skin friction.
    pub friction: Wrench,
    /// Wave making and, planing, the backward lean of the pressure.
    pub wave: Wrench,
    /// Nose, transom and (astern) tail as blunt bodies.
    pub form: Wrench,
    /// Wave damping and slamming, vertical; along, the momentum of the water taken in.
    pub damping: Wrench,
    /// What is wet; added masses ÷ ρ.
    pub immersion: Immersion,
    /// Load on the water, Δ = buoyancy + planing lift \[N\], positive up.
    pub load: f64,
    /// Speed coefficient C_v of the bottom, 0 astern.
    pub c_v: f64,
    /// Volume Froude number F_n∇ of the load carried.
    pub f_n_volume: f64,
    /// Slenderness L/∇^⅓ of the load carried.
    pub slenderness: f64,
    /// Mean wetted length ratio with wave rise, λ.
    pub lambda: f64,
    /// Share of planing in the lift, 0–1.
    pub planing: f64,
    /// Mean wetted length of the bottom \[m\].
    pub wetted_length: f64,
    /// Height of the lowest point of the bottom above the water \[m\].
    pub clearance: f64,
}

impl Forces {
    /// Sum of all causes.
    pub fn total(&self) -> Wrench {
        let parts = [self.buoyancy, self.planing_lift, self.friction, self.wave, self.form, self.damping];
        parts.iter().fold(Wrench::default(), |a, b| Wrench { x: a.x + b.x, z: a.z + b.z, m: a.m + b.m })
    }
}

/// Rounds λ^½ near 0, where its slope is infinite: λ/√(λ + ε) (−0.25 % at λ = 1).
const ROUND_LAMBDA: f64 = 0.005;

/// Rounds |Ȧ11|/ρ near 0, r²/(|r| + ε) \[m³/s\]: a board of 1 m² sinking at 6 mm/s.
const ROUND_A11_RATE: f64 = 5e-4;

/// Trim used in the formulas \[deg\]: the angle itself from 0.5° to 15°, no less
/// than 0, no more than 20°, rounded between.
fn planing_trim(angle: f64) -> f64 {
    smooth::min(smooth::positive(angle.to_degrees(), 0.5), 20.0, 5.0)
}

/// Savitsky's buoyant lift ÷ buoyancy of the still-water wedge
/// ½ ρ g b³ λ₁² tan τ: κ = 0.0055 λ^2.5 τ^1.1/(λ₁² tan τ), 0.6–0.8.
///
/// `rise` = λ/λ₁, as if the bottom went on ahead of a board that is wet to its nose; τ \[deg\] is kept above 1°, so that a board running level on
/// its whole bottom keeps about half of its buoyancy (assumption: outside the fit).
fn buoyant_share(root_lambda: f64, rise: f64, tau_deg: f64) -> f64 {
    let tau = smooth::max(tau_deg, 1.0, 0.5);
    C_STATIC * rise * rise * root_lambda * tau.powf(1.1) / tau.to_radians().tan()
}

/// λ/λ₁ of [`super::savitsky::wave_rise`], finite at λ₁ = 0.
fn wave_rise_ratio(lambda_1: f64) -> f64 {
    if lambda_1 <= 1.0 { 1.60 - 0.30 * lambda_1 } else { 1.0 + 0.30 / lambda_1 }
}

/// Drag ÷ (½ ρ V² B) of an immersed transom of draught `t` \[m\]:
/// t c₆, c₆ = 0.2 (1 − 0.2 F_nT), F_nT = V/√(2 g A_T/(B + B C_wp)), C_wp ≈ 0.9.
///
/// # Source
/// J. Holtrop, G. G. J. Mennen, *Int. Shipbuilding Progress* 29 (1982) 166–170 (quoted by later texts).
fn transom_drag_area(v: f64, t: f64, g: f64) -> f64 {
    let f_n_t = v * (0.95 / (g * t + 1e-6)).sqrt();
    0.2 * t * smooth::positive(1.0 - 0.2 * f_n_t, 0.2)
}

impl Board {
    /// Force at water-relative forward speed `v` of the centre of gravity \[m/s\].
    pub fn forces(&self, v: f64, at: &Attitude, water: Water) -> Forces {
        let &Attitude { w, q, sin, cos, cg_forward, cg_below, .. } = at;
        let Water { rho, nu, g } = water;
        let hull = &self.hull;
        let b = hull.beam;
        let k = &self.coefficients;
        let bottom = |forward: f64| offset(forward - cg_forward, -cg_below, sin, cos);

        // speed of the bottom through the water; planing only ahead
        let v_cg = v;
        let v = v + q * bottom(0.5 * hull.length).z;
        let ahead = v.max(0.0);
        let (c_unit, q_dynamic) = ((g * b).sqrt(), 0.5 * rho * ahead * ahead);
        let c_v = ahead / c_unit;
        let planing = smooth::smoothstep(c_v - 0.5);

        // the deck stays dry as the transom does: for F_nT above 2.5, here with the planing lift
        let wet = hull.immersion(at, planing);

        // wetted length ratio: still water, with the wave rise, and what the board has of it
        let lambda_1 = wet.length / b;
        let raw_rise = wave_rise_ratio(lambda_1);
        let lambda = smooth::min(raw_rise * lambda_1, hull.length / b, 0.1);
        let rise = if lambda_1 > 0.05 { lambda / lambda_1 } else { raw_rise };
        let rounded_root = |lambda: f64| lambda / (lambda + ROUND_LAMBDA).sqrt();
        // aft end of the wetted bottom: the tail, unless only the nose is in the water
        let aft = (1.0 - wet.tail) * (hull.length - wet.length);

        // lift of the moving bottom, at ¾ of the wetted length; incidence of that point,
        // so that the lift brakes the motion of the place where it acts
        let upright = smooth::max(cos, 0.2, 0.1);
        let theta = sin.atan2(upright);
        let at_dynamic = bottom(aft + 0.75 * lambda * b);
        let steady = smooth::max(ahead, 0.4 * c_unit, 0.1 * c_unit);
        let incidence = theta + ((w - q * at_dynamic.x) / steady).atan();
        let trim_11 = planing_trim(incidence).powf(1.1);
        let lift = planing * q_dynamic * b * b * C_DYNAMIC * rounded_root(lambda) * trim_11;

        // buoyancy: strips at rest, κ × strips planing; its centre moves with the wave rise
        let trim = planing_trim(theta);
        let kappa = buoyant_share(rounded_root(raw_rise * lambda_1), raw_rise, trim);
        let buoyancy = rho * g * wet.volume * (1.0 + planing * (kappa - 1.0));
        let load = buoyancy + lift;

        // volume Froude number of the load; 2 % of the board's volume keeps it finite
        let volume = load / (rho * g) + 0.02 * hull.volume;
        let length_of_volume = volume.cbrt();
        let f_n_volume = ahead / (g * length_of_volume).sqrt();
        let displacing = (1.0 - smooth::smoothstep((f_n_volume - 1.4) / 0.6))
            * (1.0 - smooth::smoothstep(2.0 * (c_v - 1.0)));
        let pressing = 1.0 - displacing;
        let (x_, z_) = (length_of_volume / hull.length, volume / (b * b * b));

        // place of the buoyancy: centroid of the volume at rest, of the pressure when planing
        let per_volume = 1.0 / (wet.volume + 1e-12);
        let on_bottom = wet.volume_moment * per_volume;
        let shift = planing * (rise - 1.0) * (on_bottom - bottom(aft).x);
        let lean = displacing * wet.volume_height * per_volume * sin;
        let at_buoyancy = Offset { x: on_bottom + shift - lean, z: 0.0 };

        // wave resistance: residuary per load, then pressure on a dry transom: the hydrostatic
        // one that is missing there, ½ ρ g b T² (κ Δ tan τ of a wedge), and the lift leaning back
        let immersed = |point: Offset, dry: f64| {
            let d = point.depth(at.depth);
            smooth::positive(d, 0.005) - (1.0 - dry) * smooth::positive(d - hull.height * upright, 0.005)
        };
        let tail = bottom(0.0);
        let tail_draught = immersed(tail, planing);
        let residuary =
            if displacing > 0.0 { k.k_hump * self.residuary.per_weight(f_n_volume, x_, z_) } else { 0.0 };
        let square = tail_draught * tail_draught / (upright * upright);
        let dry_transom = 0.5 * rho * g * b * square * (1.0 + planing * (kappa - 1.0));
        let leaning = lift * trim.to_radians().tan();
        let wave = displacing * residuary * load + pressing * (dry_transom + leaning);
        // acts where the pressure does, on the bottom
        let at_wave = bottom(aft + 0.5 * lambda * b);

        // friction: whole wetted surface at V, or λ b² at V₁ and along the bottom
        let slower = C_DYNAMIC * trim_11 / (lambda + ROUND_LAMBDA).sqrt();
        let v_1_squared = smooth::max(1.0 - planing * slower, 0.5, 0.1);
        let mean_width = wet.area / wet.length.max(1e-9);
        let area = (1.0 - planing) * (wet.area + wet.sides) + planing * lambda * b * mean_width + wet.deck;
        let wetted = wet.length + planing * (lambda * b - wet.length);
        let re = v.abs() * v_1_squared.sqrt() * wetted / nu;
        let along = 1.0 + planing * (1.0 / upright - 1.0);
        let friction = 0.5 * rho * v.abs() * v * v_1_squared * area * along * (c_f_ittc57(re) + k.allowance);

        // blunt ends: nose ahead, transom while no wave system has formed, tail astern
        let tip = offset(hull.length - cg_forward, -hull.nose_rise - cg_below, sin, cos);
        let nose_draught = immersed(tip, 0.0);
        let nose = q_dynamic * b * nose_draught * k.c_d_nose;
        let before_waves = 1.0 - smooth::smoothstep((f_n_volume - 0.3) / 0.7);
        let astern = v.min(0.0);
        // astern: C_D 1, a square-edged block (common practice, no source)
        let tail_drag = q_dynamic * b * before_waves * transom_drag_area(ahead, tail_draught, g)
            - 0.5 * rho * astern * astern * b * tail_draught;
        // lowest of tail, knuckle and tip, the corner between them rounded over 2 mm
        let knuckle = bottom(hull.flat_length).depth(at.depth);
        let lowest = smooth::max(tail.depth(at.depth), knuckle, 0.002);
        let lowest = smooth::max(lowest, tip.depth(at.depth), 0.002);
        let nose = Wrench::at(tip, -nose, 0.0);
        let transom = Wrench::at(tail, -tail_drag, 0.0);

        // damping: wave making (half of it left when planing), slamming; along, likewise ½ |Ȧ11| u
        let waves = (1.0 - 0.5 * planing) * 2.0 * k.heave_damping * rho * (PI / 8.0 * g).sqrt();
        let a11_rate = wet.added_rate.a11;
        let damping = Wrench {
            x: -0.5 * rho * a11_rate * a11_rate / (a11_rate.abs() + ROUND_A11_RATE) * v_cg,
            z: rho * wet.slam.0 - waves * wet.heave_speed.0,
            m: rho * wet.slam.1 - waves * wet.heave_speed.1,
        };

        Forces {
            buoyancy: Wrench::at(at_buoyancy, 0.0, -buoyancy),
            planing_lift: Wrench::at(at_dynamic, 0.0, -lift),
            friction: Wrench::at(bottom(aft + 0.5 * wetted), -friction, 0.0),
            wave: Wrench::at(at_wave, -wave, 0.0),
            form: Wrench { x: nose.x + transom.x, z: 0.0, m: nose.m + transom.m },
            damping,
            immersion: wet,
            load,
            c_v,
            f_n_volume,
            slenderness: 1.0 / x_,
            lambda,
            planing,
            wetted_length: wetted,
            clearance: -lowest,
        }
    }
}
