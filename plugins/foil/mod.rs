//! A lifting wing under water: lift, drag and moment from deep water to the surface.

pub mod added_mass;
pub mod forces;
pub mod free_surface;
pub mod lift_factor;
pub mod stall;
#[cfg(test)]
mod tests;
pub mod wing;

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::quantity::Kind;
use engine::setup::{Invalid, Params};
use engine::smooth;
use engine::units::{ANGLE, AREA, FRACTION, LENGTH, MASS, NUMBER, VOLUME};

use crate::handbook::body_point::{AddedMass, Body, Water, Wrench};
use crate::handbook::{G, mass};
use crate::nomenclature::{ENERGY_SINK, STALL, WATER_DENSITY, WING_DEPTH};
use forces::{Flow, Geometry, Wing};
use wing::Section;

/// Entry in the list of parts.
pub const PART: PartKind =
    PartKind { name: "foil", about: "a wing under water, from deep water to the surface", read };

/// C_L.
pub const LIFT_COEFFICIENT: Kind = Kind::single("lift_coefficient", "1", "lift coefficient in effect, C_L");
/// The part of C_L that lags.
pub const LAGGING_LIFT: Kind =
    Kind::single("lagging_lift", "1", "lift coefficient that the wake has caught up with");
/// C_L if the motion went on as it is.
pub const STEADY_LIFT: Kind = Kind::single("steady_lift", "1", "lift coefficient without lag");
/// α.
pub const ANGLE_OF_ATTACK: Kind =
    Kind::single("angle_of_attack", "rad", "angle of attack of the chord, downwash taken off");
/// L.
pub const LIFT: Kind = Kind::single("lift", "N", "force across the motion, up");
/// K.
pub const LIFT_FACTOR: Kind = Kind::single("lift_factor", "1", "free-surface factor on lift, K");
/// ε behind this wing.
pub const DOWNWASH: Kind = Kind::single("downwash", "rad", "downwash angle far behind this wing");
/// Ventilation, for the watch.
pub const VENTILATION: Kind =
    Kind::single("ventilation", "1", "above 0 where air may reach the suction side: shallow and lifting");

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let name = p.instance().to_owned();
    let span = p.value("span", LENGTH, "span b").within(0.05, 5.0).usual(0.2, 1.5).required();
    let area = p.value("area", AREA, "area S; or give `chord`").within(1e-3, 2.0).optional();
    let chord = p.value("chord", LENGTH, "mean chord c = S/b; or give `area`").within(0.01, 1.0).optional();
    let forward =
        p.value("forward", LENGTH, "quarter chord forward of the tail").within(-3.0, 6.0).required();
    let below =
        p.value("below", LENGTH, "quarter chord below the board's bottom").within(-0.5, 3.0).required();
    let incidence = p
        .value("incidence", ANGLE, "incidence of the chord to the bottom, nose up")
        .within(-0.35, 0.35)
        .or("0 deg");
    let mass = p.value("mass", MASS, "mass").within(0.0, 50.0).required();
    let volume = p.value("volume", VOLUME, "displaced volume; 0.685 t c b if left out").optional();
    let thickness =
        p.value("thickness", FRACTION, "thickness ratio t/c").within(0.02, 0.3).usual(0.06, 0.2).or("0.12");
    let lift_slope = p
        .value("section_slope", NUMBER, "section lift slope a_0 per rad")
        .within(3.0, 8.0)
        .source("2π, thin section")
        .or("6.2832");
    let zero_lift_angle = p
        .value("zero_lift_angle", ANGLE, "angle of zero lift, negative for positive camber")
        .within(-0.3, 0.3)
        .source("NACA TR 824, four-digit 12 % sections of 2 to 4 % camber, recalled")
        .or("-3 deg");
    let c_l_max = p
        .value("lift_max", NUMBER, "greatest lift coefficient")
        .within(0.3, 3.0)
        .source("take-off Reynolds numbers, cambered, no flap: 1.1 to 1.3; ±15 %")
        .or("1.2");
    let c_l_min = p.value("lift_min", NUMBER, "most negative lift coefficient").within(-3.0, -0.2).or("-0.8");
    let c_l_ideal = p.value("lift_ideal", NUMBER, "lift coefficient of least drag").or("0.4");
    let k_2 =
        p.value("drag_growth", NUMBER, "k_2 in c_d = c_d0 + k_2 (c_l − c_li)²").within(0.0, 0.2).or("0.01");
    let c_d0 = p
        .value("drag_min", NUMBER, "least section drag; from friction and thickness if left out")
        .within(0.0, 0.1)
        .optional();
    let laminar = p
        .value("laminar", FRACTION, "laminar share of the boundary layer")
        .within(0.0, 1.0)
        .source("towed struts at Re 6e5: uncertain, about half-way")
        .or("0.5");
    let c_m = p
        .value("moment", NUMBER, "moment coefficient about the quarter chord, bow-up")
        .within(-0.5, 0.5)
        .source("NACA TR 824, 2 to 4 % camber, recalled")
        .or("-0.07");
    let delta = p
        .value("induced_factor", NUMBER, "δ in C_Di = C_L² (1 + δ)/(πA)")
        .within(0.0, 1.0)
        .source("Anderson, ch. 5, untwisted taper")
        .or("0.05");
    let wave_factor = p
        .value("wave_factor", NUMBER, "factor on the wave drag")
        .within(0.0, 3.0)
        .source("towed full-size wings, Beaver and Zseleczky 2009")
        .or("0.75");
    let lagging = p.choice("lag", &["on", "off"], "whether lift lags behind a change of incidence").or("on");
    let ahead = p.name("downwash_from", "foil ahead whose downwash reaches this one").optional();
    let share = p
        .value("downwash_share", FRACTION, "share κ of the far downwash that arrives")
        .within(0.0, 1.0)
        .source("0.5 to 1; common practice, no source")
        .or("0.75");
    p.part(|| {
        let area = match (area, chord) {
            (Some(area), None) => area,
            (None, Some(chord)) => chord * span,
            (Some(_), Some(_)) => {
                return Err(Invalid::at("chord", "area and chord are both given").help("leave one out"));
            }
            (None, None) => {
                return Err(
                    Invalid::at("area", "neither area nor chord is given").help("add `area` or `chord`")
                );
            }
        };
        if area > span * span {
            let problem = "the wing is longer than wide, where its theory ends";
            return Err(Invalid::at("span", problem).help("span² must be at least the area"));
        }
        if ahead.as_deref() == Some(name.as_str()) {
            return Err(Invalid::at("downwash_from", "a wing is not behind itself").help("name another foil"));
        }
        let section =
            Section { lift_slope, zero_lift_angle, c_l_max, c_l_min, c_l_ideal, k_2, c_m, thickness };
        let wing = Wing::new(Geometry { span, area, incidence, delta, wave_factor, c_d0, laminar, section });
        let volume = volume.unwrap_or(0.685 * thickness * wing.chord() * area);
        Ok(Foil { wing, span, forward, below, mass, volume, lagging: lagging == "on", ahead, share })
    })
}

struct Foil {
    wing: Wing,
    span: f64,
    forward: f64,
    below: f64,
    mass: f64,
    volume: f64,
    lagging: bool,
    ahead: Option<String>,
    share: f64,
}

impl Part for Foil {
    fn declare(&self, m: &mut Declare) {
        let chord = self.wing.chord();
        let (forward, below) = (self.forward, self.below);
        // the mass of a thin section lies near 0.4 chords
        mass::place(
            m,
            mass::Mass {
                mass: self.mass,
                forward: forward - 0.15 * chord,
                below,
                inertia: self.mass * chord * chord / 16.0,
            },
        );
        if self.lagging {
            m.state(&LAGGING_LIFT, 0.0, 0.5).within(-5.0, 5.0);
        }

        m.equation("lift, drag and moment", |e| {
            let body = Body::reads(e);
            let water = Water::reads(e);
            let ahead = self.ahead.as_ref().map(|name| e.reads_from(name, &DOWNWASH));
            let lagged = self.lagging.then(|| (e.reads(&LAGGING_LIFT), e.rate_of(&LAGGING_LIFT)));
            let wrench = Wrench::adds(e);
            let (c_l, steady) = (e.writes(&LIFT_COEFFICIENT), e.writes(&STEADY_LIFT));
            let (alpha, depth, lift) = (e.writes(&ANGLE_OF_ATTACK), e.writes(&WING_DEPTH), e.writes(&LIFT));
            let (factor, downwash) = (e.writes(&LIFT_FACTOR), e.writes(&DOWNWASH));
            let (stall, ventilation) = (e.writes(&STALL), e.writes(&VENTILATION));
            let [profile, induced, wave, separated, tilted, moment, current, buoyancy] =
                ["profile", "induced", "wave", "separated", "downwash", "moment", "current", "buoyancy"]
                    .map(|label| e.adds_as(&ENERGY_SINK, label));
            let (wing, share, volume) = (self.wing.clone(), self.share, self.volume);
            move |at| {
                let point = body.point(at, forward, below);
                let (sin_pitch, cos_pitch) = body.pitch(at);
                let stream = at[water.current];
                let flow = Flow {
                    v_x: point.v_x - stream,
                    v_z: point.v_z,
                    sin_pitch,
                    cos_pitch,
                    depth: point.depth,
                    downwash: ahead.map_or(0.0, |angle| share * at[angle]),
                    rho: at[water.rho],
                    nu: at[water.nu],
                    g: G,
                };
                let attitude = wing.attitude(&flow);
                let effective = match lagged {
                    Some((state, rate)) => {
                        at[rate] = wing::lag_rate(attitude.c_l, at[state], attitude.speed, chord);
                        wing::lagged_lift(attitude.c_l, at[state])
                    }
                    None => attitude.c_l,
                };
                let f = wing.forces(&flow, &attitude, effective);
                let float = flow.rho * G * volume * attitude.fade;
                wrench.put(at, &[(point, f.x, f.z - float)], f.moment);

                // each drag D takes D V out of the craft; lift stands across the motion
                at[profile] = f.profile * attitude.speed;
                at[induced] = f.induced * attitude.speed;
                at[wave] = f.wave * attitude.speed;
                at[separated] = f.separated * attitude.speed;
                at[tilted] = f.downwash * attitude.speed;
                at[moment] = -f.moment * body.pitch_rate(at);
                at[current] = -f.x * stream;
                at[buoyancy] = float * point.v_z;

                at[c_l] = effective;
                at[steady] = attitude.c_l;
                at[alpha] = attitude.alpha;
                at[depth] = point.depth;
                at[lift] = f.lift;
                at[factor] = attitude.k;
                at[downwash] = wing.downwash(&attitude, effective);
                let way = smooth::smoothstep(attitude.speed - 1.0);
                at[stall] = attitude.stalled * attitude.fade * way;
                at[ventilation] = way * wing.ventilation_margin(point.depth, effective);
            }
        });

        m.equation("added mass", |e| {
            let body = Body::reads(e);
            let rho = e.reads(&WATER_DENSITY);
            let added = AddedMass::adds(e);
            // per unit density, at mid-chord
            let volume = added_mass::added_mass(1.0, self.span, chord);
            move |at| {
                let point = body.point(at, forward - 0.25 * chord, below);
                let full = at[rho] * volume;
                let mass = full * wing::depth_fade(point.depth, chord);
                let mass_rate = full * wing::depth_fade_slope(point.depth, chord) * point.v_z;
                let pitch_rate = body.pitch_rate(at);
                added.put(at, &point, mass, mass_rate, pitch_rate);
            }
        });

        m.watch(&STALL, f64::NEG_INFINITY, 0.5, "the wing has stalled");
        m.watch(
            &VENTILATION,
            f64::NEG_INFINITY,
            0.0,
            "less than half a chord deep and lifting: air may reach the suction side, which is not modelled",
        );
    }
}
