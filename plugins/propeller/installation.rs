//! How a propeller of any description is fitted to the craft: the parameters and
//! equations that every kind of propeller shares.

use engine::model::Declare;
use engine::quantity::Kind;
use engine::setup::Params;
use engine::units::{ANGLE, FRACTION, LENGTH, MASS as MASS_UNIT, NUMBER};
use std::f64::consts::{PI, TAU};

use super::open_water::{Blades, OpenWater};
use super::{cavitation, inflow};
use crate::handbook::body_point::{Body, Wrench};
use crate::handbook::{G, disc, mass};
use crate::nomenclature::*;

/// Share of thrust and torque lost to air on the blades; a scenario prescribes it.
pub const VENTILATION: Kind =
    Kind::single("ventilation", "1", "share of thrust and torque lost to air drawn to the blades, 0 to 1");
/// D.
pub const DIAMETER: Kind = Kind::single("diameter", "m", "diameter of the propeller, D");
/// A_E.
pub const EXPANDED_AREA: Kind = Kind::single("expanded_area", "m2", "expanded area of all blades, A_E");
/// P.
pub const MEAN_PITCH: Kind = Kind::single("mean_pitch", "m", "mean pitch of the blades, P");
/// z of the shaft.
pub const SHAFT_DEPTH: Kind =
    Kind::single("shaft_depth", "m", "depth of the propeller's centre below the surface, down");
/// Share of the open-water thrust and torque that immersion and ventilation leave.
pub const LOADING: Kind =
    Kind::single("loading", "1", "share of thrust and torque left by immersion and ventilation");
/// V_A.
pub const SPEED_OF_ADVANCE: Kind =
    Kind::single("speed_of_advance", "m/s", "speed of advance along the shaft, V_A");
/// J.
pub const ADVANCE_RATIO: Kind =
    Kind::single("advance_ratio", "1", "advance ratio J = V_A/(n D), faded to 0 below 0.1 rev/s");
/// η0.
pub const EFFICIENCY: Kind =
    Kind::single("efficiency", "1", "open-water efficiency; 0 at rest and windmilling");
/// Q.
pub const TORQUE: Kind = Kind::single("torque", "N.m", "torque of the water against the shaft");
/// σ at 0.7 R.
pub const CAVITATION_NUMBER: Kind =
    Kind::single("cavitation_number", "1", "cavitation number at 0.7 R, from the resultant speed");
/// τ_c.
pub const THRUST_LOADING: Kind =
    Kind::single("thrust_loading", "1", "thrust over dynamic pressure at 0.7 R and projected blade area");
/// Keller's minimum of A_E/A_0.
pub const REQUIRED_AREA_RATIO: Kind = Kind::single(
    "required_area_ratio",
    "1",
    "smallest expanded area ratio against cavitation by Keller's criterion",
);

/// Where and how a propeller sits, with what the extensions of its law need.
#[derive(Debug, Clone, Copy)]
pub struct Installation {
    forward: f64,
    below: f64,
    inclination: f64,
    wake_fraction: f64,
    thrust_deduction: f64,
    keller_margin: f64,
    mass: f64,
    thrust_factor: f64,
    torque_factor: f64,
    /// C_D of the stopped blades on their expanded area.
    pub stopped_drag_coefficient: f64,
}

impl Installation {
    /// Reads the parameters that every kind of propeller takes.
    pub fn read(p: &mut Params) -> Installation {
        Installation {
            forward: p.value("forward", LENGTH, "propeller's centre forward of the tail").required(),
            below: p.value("below", LENGTH, "propeller's centre below the board's bottom").required(),
            inclination: p
                .value("inclination", ANGLE, "shaft against the board's bottom, thrust pointing up positive")
                .within(-0.5, 0.5)
                .or("0 deg"),
            wake_fraction: p
                .value("wake_fraction", FRACTION, "effective wake fraction w: V_A = (1 − w) V")
                .within(-0.3, 0.6)
                .usual(-0.05, 0.25)
                .source("no source for a pod on a mast; 0 is an open-water propeller")
                .or("0"),
            thrust_deduction: p
                .value(
                    "thrust_deduction",
                    FRACTION,
                    "thrust deduction fraction t: (1 − t) T reaches the craft",
                )
                .within(-0.2, 0.6)
                .usual(0.0, 0.25)
                .source("no source for a pod on a mast; 0 is an open-water propeller")
                .or("0"),
            keller_margin: p
                .value(
                    "keller_margin",
                    NUMBER,
                    "k of Keller's criterion: 0 mildest, 0.2 for single-screw ships",
                )
                .within(0.0, 0.3)
                .source("Holtrop and Mennen 1982; fitted to ships")
                .or("0"),
            mass: p.value("mass", MASS_UNIT, "mass of the propeller").within(0.0, 10.0).or("200 g"),
            thrust_factor: p
                .value("thrust_factor", NUMBER, "K_T as measured over K_T as given, at every J")
                .within(0.3, 2.0)
                .usual(0.7, 1.3)
                .source("calibration against a bench reading; 1 is the law as given")
                .or("1"),
            torque_factor: p
                .value("torque_factor", NUMBER, "K_Q as measured over K_Q as given, at every J")
                .within(0.3, 2.0)
                .usual(0.7, 1.3)
                .source("calibration against a bench reading; 1 is the law as given")
                .or("1"),
            stopped_drag_coefficient: p
                .value(
                    "stopped_drag_coefficient",
                    NUMBER,
                    "drag of the stopped blades on their expanded area",
                )
                .within(0.0, 3.0)
                .source("UFC 4-159-03, Design: Moorings, eq. 21")
                .or("1.0"),
        }
    }

    /// Declares thrust, torque law, mass, warnings and energy of a propeller with the given law.
    pub fn declare(self, m: &mut Declare, law: &OpenWater, blades: Blades, number_of_blades: f64) {
        let Installation { forward, below, wake_fraction, thrust_deduction, .. } = self;
        let law = &law.scaled(self.thrust_factor, self.torque_factor);
        let d = law.diameter();
        m.constant(&DIAMETER, d);
        m.constant(&EXPANDED_AREA, blades.area_ratio * PI / 4.0 * d * d);
        m.constant(&MEAN_PITCH, blades.pitch_ratio * d);
        mass::place(m, mass::Mass { mass: self.mass, forward, below, inertia: 0.0 });
        m.input(&VENTILATION, 0.0).within(0.0, 1.0);
        m.watch(&VENTILATION, 0.0, 1.0, "ventilation is a share");
        m.watch(&ADVANCE_RATIO, -0.1, law.last_advance_ratio(), "outside the advance ratios that K_T and K_Q are given for: the propeller runs on an assumed extension");
        m.watch(
            &REQUIRED_AREA_RATIO,
            0.0,
            blades.area_ratio,
            "Keller's criterion asks for more blade area: cavitation is likely and the thrust too high",
        );

        // angle of the shaft above the horizon: pitch and inclination
        let (sin_e, cos_e) = self.inclination.sin_cos();
        let shaft = move |sin: f64, cos: f64| (sin * cos_e + cos * sin_e, cos * cos_e - sin * sin_e);

        m.equation("inflow", |e| {
            let body = Body::reads(e);
            let (current, ventilation) = (e.reads_or(&CURRENT, 0.0), e.reads(&VENTILATION));
            let (v_a, depth, loading) =
                (e.writes(&SPEED_OF_ADVANCE), e.writes(&SHAFT_DEPTH), e.writes(&LOADING));
            move |at| {
                let point = body.point(at, forward, below);
                let (sin, cos) = body.pitch(at);
                let (sin_a, cos_a) = shaft(sin, cos);
                at[v_a] =
                    inflow::speed_of_advance(point.v_x - at[current], point.v_z, sin_a, cos_a, wake_fraction);
                at[depth] = point.depth;
                at[loading] = disc::immersed_share(point.depth, 0.5 * d) * (1.0 - at[ventilation]);
            }
        });

        let torque_law = law.clone();
        m.law(&PROPELLER_TORQUE_LAW, |e| {
            let (rho, v_a, loading) =
                (e.reads(&WATER_DENSITY), e.reads(&SPEED_OF_ADVANCE), e.reads(&LOADING));
            move |at, omega| at[loading] * torque_law.torque(at[rho], omega / TAU, at[v_a])
        });

        let thrust_law = law.clone();
        m.equation("thrust and torque", |e| {
            let (omega, v_a, loading) =
                (e.reads(&SHAFT_SPEED), e.reads(&SPEED_OF_ADVANCE), e.reads(&LOADING));
            let (rho, guard) = (e.reads(&WATER_DENSITY), e.reads_or(&GUARD_THRUST_FACTOR, 1.0));
            let (body, wrench) = (Body::reads(e), Wrench::adds(e));
            let (thrust, torque) = (e.writes(&THRUST), e.writes(&TORQUE));
            let (slip, hull, lost) = (
                e.adds_as(&ENERGY_SINK, "slip"),
                e.adds_as(&ENERGY_SINK, "wake_and_thrust_deduction"),
                e.adds_as(&ENERGY_SINK, "guard_on_thrust"),
            );
            move |at| {
                let n = at[omega] / TAU;
                let t = at[loading] * thrust_law.thrust(at[rho], n, at[v_a]);
                at[thrust] = t;
                at[torque] = at[loading] * thrust_law.torque(at[rho], n, at[v_a]);

                // what reaches the craft, along the shaft
                let behind_guard = at[guard] * t;
                let net = (1.0 - thrust_deduction) * behind_guard;
                let point = body.point(at, forward, below);
                let (sin, cos) = body.pitch(at);
                let (sin_a, cos_a) = shaft(sin, cos);
                wrench.put(at, &[(point, net * cos_a, -net * sin_a)], 0.0);

                // where the shaft's power goes that does not push the craft
                let along_shaft = point.v_x * cos_a - point.v_z * sin_a;
                at[slip] = TAU * n * at[torque] - t * at[v_a];
                at[lost] = (t - behind_guard) * at[v_a];
                at[hull] = behind_guard * (at[v_a] - (1.0 - thrust_deduction) * along_shaft);
            }
        });

        let law = law.clone();
        m.equation("advance ratio and efficiency", |e| {
            let (omega, v_a) = (e.reads(&SHAFT_SPEED), e.reads(&SPEED_OF_ADVANCE));
            let (j, eta) = (e.writes(&ADVANCE_RATIO), e.writes(&EFFICIENCY));
            move |at| {
                let n = at[omega] / TAU;
                at[j] = at[v_a] * n / ((n * n + 0.01) * d);
                at[eta] = law.efficiency(at[j]);
            }
        });

        let projected =
            cavitation::projected_area_ratio(blades.area_ratio, blades.pitch_ratio) * PI / 4.0 * d * d;
        m.equation("cavitation", |e| {
            let (omega, v_a, depth) =
                (e.reads(&SHAFT_SPEED), e.reads(&SPEED_OF_ADVANCE), e.reads(&SHAFT_DEPTH));
            let (rho, p_v) = (e.reads(&WATER_DENSITY), e.reads(&VAPOUR_PRESSURE));
            let (p_a, thrust) = (e.reads_or(&AIR_PRESSURE, 101_325.0), e.reads(&THRUST));
            let (sigma, tau_c, keller) =
                (e.writes(&CAVITATION_NUMBER), e.writes(&THRUST_LOADING), e.writes(&REQUIRED_AREA_RATIO));
            let k = self.keller_margin;
            move |at| {
                let p_0 = at[p_a] + at[rho] * G * at[depth];
                let v2 = cavitation::section_speed_squared(at[omega] / TAU, d, at[v_a]);
                at[sigma] = cavitation::cavitation_number(p_0, at[p_v], at[rho], v2);
                at[tau_c] = cavitation::thrust_loading(at[thrust], at[rho], projected, v2);
                at[keller] = cavitation::keller_area_ratio(at[thrust], number_of_blades, p_0, at[p_v], d, k);
            }
        });
    }
}
