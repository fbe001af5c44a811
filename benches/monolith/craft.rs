//! The demo board as one plain struct: what the parts hold, and the constants
//! that follow from all of them together.

use engine::profile::Profile;
use engine::setup::Setup;
use engine::units::*;
use foilborne::battery::cell::{Cell, activation_energy};
use foilborne::battery::nmc_chen2020::OCV;
use foilborne::battery::pack::Pack;
use foilborne::battery::protection::OverCurrent;
use foilborne::board::forces::{Board, Coefficients, Water};
use foilborne::board::hull::{Hull, Outline, Shape};
use foilborne::board::mercier_savitsky::Residuary;
use foilborne::controller::limits::{FoldBack, Losses};
use foilborne::foil::added_mass;
use foilborne::foil::forces::{Geometry, Wing};
use foilborne::foil::wing::Section;
use foilborne::handbook::G;
use foilborne::handbook::copper::resistance_ratio;
use foilborne::mast::strut::{Spray, Strut, section_area};
use foilborne::motor::equivalent_dc::{NoLoad, SpeedConstant};
use foilborne::motor::thermal::TwoNodes;
use foilborne::pod::body::Body;
use foilborne::propeller::b_series::BSeries;
use foilborne::propeller::open_water::OpenWater;
use foilborne::rider::balance::Climb;
use foilborne::rider::posture::{self, Stance};
use foilborne::water::properties;
use foilborne::wiring::conductor::{battery_side, phase_side, resistance_per_metre};
use foilborne::{air, shaft};

use super::sheet::Sheet;

/// A wing and where it sits.
pub struct Foil {
    pub wing: Wing,
    pub chord: f64,
    pub forward: f64,
    pub below: f64,
    pub volume: f64,
    /// Added mass ÷ density.
    pub added: f64,
    /// Share of the downwash of the wing ahead that arrives.
    pub share: f64,
}

/// A streamlined body and where it sits.
pub struct Pod {
    pub body: Body,
    pub forward: f64,
    pub below: f64,
}

/// Everything that does not change during a run.
pub struct Craft {
    pub water: Water,
    pub current: f64,
    pub head_wind: f64,
    pub vapour_pressure: f64,
    pub water_temperature: f64,
    pub air_pressure: f64,
    pub air_density: f64,
    pub air_temperature: f64,

    pub cell: Cell,
    pub pack: Pack,
    pub battery_heat: f64,
    pub battery_to_air: f64,
    pub trip: OverCurrent,
    pub cable: f64,
    pub lead: f64,

    pub throttle: Profile,
    pub limits: shaft::operating_point::Limits,
    pub losses: Losses,
    pub own_heat: FoldBack,
    pub motor_heat: FoldBack,
    pub controller_capacity: f64,
    pub controller_to_water: f64,

    pub torque_constant: f64,
    pub winding: f64,
    pub no_load: NoLoad,
    pub iron_share: f64,
    pub magnet_coefficient: f64,
    pub nodes: TwoNodes,
    pub seal: f64,

    pub screw: OpenWater,
    pub screw_forward: f64,
    pub screw_below: f64,
    pub sin_inclination: f64,
    pub cos_inclination: f64,
    pub wake_fraction: f64,
    pub thrust_deduction: f64,
    pub keller_margin: f64,
    pub blades: f64,
    pub area_ratio: f64,

    pub board: Board,
    pub strut: Strut,
    pub strut_section: f64,
    pub mast_forward: f64,
    pub front: Foil,
    pub stabiliser: Foil,
    pub fuselage: Pod,
    pub pod: Pod,

    pub rider_forward: f64,
    pub rider_below: f64,
    pub rider_weight: f64,
    pub drag_area: f64,
    pub board_area: f64,
    pub trim: f64,
    pub climb: Climb,
    pub reach: f64,
    pub omega: f64,
    pub zeta: f64,

    pub share: f64,
    pub lasting: f64,
    pub flight: f64,

    pub mass: f64,
    pub cg_forward: f64,
    pub cg_below: f64,
    /// Pitch inertia about the centre of gravity, without added mass.
    pub inertia: f64,

    /// States at the start, before the craft settles.
    pub start: super::rates::State,
}

/// Mass, place and own inertia.
type Body4 = [f64; 4];

fn placed(s: &Sheet, part: &str) -> Body4 {
    let at = |key: &str, dimension| s.value(&format!("{part}.{key}"), dimension);
    [at("mass", MASS), at("forward", LENGTH), at("below", LENGTH), 0.0]
}

fn foil(s: &Sheet, part: &str) -> (Foil, Body4) {
    let at = |key: &str, dimension| s.value(&format!("{part}.{key}"), dimension);
    s.takes_for_granted(&format!("{part}.lag"), "on");
    s.lacks(&[&format!("{part}.chord"), &format!("{part}.volume"), &format!("{part}.drag_min")]);
    let (span, area, thickness) = (at("span", LENGTH), at("area", AREA), at("thickness", FRACTION));
    let wing = Wing::new(Geometry {
        span,
        area,
        incidence: at("incidence", ANGLE),
        delta: at("induced_factor", NUMBER),
        wave_factor: at("wave_factor", NUMBER),
        c_d0: None,
        laminar: at("laminar", FRACTION),
        section: Section {
            lift_slope: at("section_slope", NUMBER),
            zero_lift_angle: at("zero_lift_angle", ANGLE),
            c_l_max: at("lift_max", NUMBER),
            c_l_min: at("lift_min", NUMBER),
            c_l_ideal: at("lift_ideal", NUMBER),
            k_2: at("drag_growth", NUMBER),
            c_m: at("moment", NUMBER),
            thickness,
        },
    });
    let chord = wing.chord();
    let [mass, forward, below, _] = placed(s, part);
    let foil = Foil {
        volume: 0.685 * thickness * chord * area,
        added: added_mass::added_mass(1.0, span, chord),
        share: at("downwash_share", FRACTION),
        wing,
        chord,
        forward,
        below,
    };
    (foil, [mass, forward - 0.15 * chord, below, mass * chord * chord / 16.0])
}

fn pod(s: &Sheet, part: &str) -> (Pod, Body4) {
    let at = |key: &str, dimension| s.value(&format!("{part}.{key}"), dimension);
    s.takes_for_granted(&format!("{part}.part"), "pod");
    s.lacks(&[&format!("{part}.volume")]);
    let length = at("length", LENGTH);
    let body = Body::new(at("diameter", LENGTH), length, at("laminar", FRACTION), None);
    let [mass, forward, below, _] = placed(s, part);
    (Pod { body, forward, below }, [mass, forward, below, mass * length * length / 12.0])
}

impl Craft {
    /// Reads the demo board and the scenario's throttle ramp: `to` from `from`
    /// seconds on, within `duration` seconds.
    pub fn new(setup: &Setup, (from, duration, to): (f64, f64, f64)) -> Craft {
        let s = &Sheet::of(setup);
        for (name, word) in [
            ("controller.throttle_sets", "duty"),
            ("controller.motor_current_is", "dc-equivalent"),
            ("controller.cooled_by", "water"),
            ("motor.speed_constant_of", "line-line peak"),
            ("wiring.strands", "plain"),
            ("propeller.part", "propeller_series"),
            ("mast.spray", "towed"),
            ("board.outline", "round"),
            ("rider.part", "rider_ideal"),
            ("rider.stance", "crouched"),
            ("stabiliser.downwash_from", "front_wing"),
        ] {
            s.takes_for_granted(name, word);
        }
        s.lacks(&["controller.speed_max", "motor.phase_inductance", "shaft.inertia", "mast.drag"]);
        s.lacks(&["board.nose_length", "board.cg_forward", "board.cg_below", "board.inertia"]);
        s.lacks(&["front_wing.downwash_from", "rider.drag_area", "motor.torque_constant"]);

        let (t_water, salt) =
            (s.value("water.temperature", TEMPERATURE), 1000.0 * s.value("water.salinity", FRACTION));
        let water = Water {
            rho: properties::density(t_water, salt),
            nu: properties::kinematic_viscosity(t_water, salt),
            g: G,
        };
        let (t_air, p_air) = (s.value("air.temperature", TEMPERATURE), s.value("air.pressure", PRESSURE));

        let pair = |r: &str, time: &str| {
            let (r, time) = (s.value(r, RESISTANCE), s.value(time, TIME));
            (r, time / r)
        };
        let cell = Cell::scaled(
            &OCV,
            s.value("battery.cell_resistance", RESISTANCE),
            s.value("battery.cell_capacity", CHARGE),
        )
        .expect("the default curve")
        .with_pairs(
            pair("battery.fast_resistance", "battery.fast_time"),
            pair("battery.slow_resistance", "battery.slow_time"),
        )
        .with_activation(activation_energy(s.value("battery.resistance_at_freezing", NUMBER)));
        let pack = Pack {
            series: s.value("battery.cells_in_series", NUMBER),
            parallel: s.value("battery.strings_in_parallel", NUMBER),
            interconnect: s.value("battery.interconnect", RESISTANCE),
        };

        let warm = resistance_ratio(s.value("wiring.temperature", TEMPERATURE), 20.0);
        let contact = s.value("wiring.contact_resistance", RESISTANCE);
        let cross_section = |key: &str| {
            resistance_per_metre(s.value(key, AREA), false).expect("a size of the standard") * warm
        };
        let cable = battery_side(
            cross_section("wiring.battery_area"),
            s.value("wiring.battery_run", LENGTH),
            s.value("wiring.battery_contacts", NUMBER),
            contact,
        );
        let lead = phase_side(
            cross_section("wiring.phase_area"),
            s.value("wiring.phase_run", LENGTH),
            s.value("wiring.phase_contacts", NUMBER),
            contact,
        );

        let mut throttle = Profile::constant(s.value("controller.throttle", FRACTION));
        throttle.change(from, duration, to);
        let fold_back = |from: &str, to: &str| FoldBack {
            start: s.value(from, TEMPERATURE),
            end: s.value(to, TEMPERATURE),
        };

        let series = BSeries {
            blades: s.value("propeller.blades", NUMBER) as u32,
            area_ratio: s.value("propeller.area_ratio", NUMBER),
            pitch_ratio: s.value("propeller.pitch_ratio", NUMBER),
        };
        let screw = series.open_water(
            s.value("propeller.diameter", LENGTH),
            s.value("propeller.stopped_drag_coefficient", NUMBER),
        );
        let (sin_inclination, cos_inclination) = s.value("propeller.inclination", ANGLE).sin_cos();

        let length = s.value("board.length", LENGTH);
        let hull = Hull::new(&Shape {
            length,
            beam: s.value("board.beam", LENGTH),
            thickness: s.value("board.thickness", LENGTH),
            volume: s.value("board.volume", VOLUME),
            nose_length: length / 3.0,
            nose_rise: s.value("board.nose_rise", LENGTH),
            outline: Outline::Round,
        })
        .expect("the demo board's volume fits");
        let m_board = s.value("board.mass", MASS);
        let board_body = [m_board, 0.5 * length, -0.5 * hull.height, m_board * length * length / 12.0];
        let entrance = s.value("board.half_entrance_angle", ANGLE).to_degrees();
        let board = Board {
            residuary: Residuary::new(entrance, s.value("board.transom_ratio", NUMBER)),
            coefficients: Coefficients {
                k_hump: s.value("board.k_hump", NUMBER),
                allowance: s.value("board.roughness_allowance", NUMBER),
                c_d_nose: s.value("board.nose_drag_coefficient", NUMBER),
                heave_damping: s.value("board.heave_damping", FRACTION),
            },
            hull,
        };

        let (chord, thickness, mast_length) = (
            s.value("mast.chord", LENGTH),
            s.value("mast.thickness", LENGTH),
            s.value("mast.length", LENGTH),
        );
        let strut = Strut::new(
            (chord, thickness, mast_length),
            s.value("mast.laminar", FRACTION),
            None,
            Spray::Towed,
            s.value("mast.corners", NUMBER),
        );
        let (m_mast, mast_forward) = (s.value("mast.mass", MASS), s.value("mast.forward", LENGTH));
        let mast_body = [m_mast, mast_forward, 0.5 * mast_length, m_mast * mast_length * mast_length / 12.0];

        let (front, front_body) = foil(s, "front_wing");
        let (stabiliser, stabiliser_body) = foil(s, "stabiliser");
        let (fuselage, fuselage_body) = pod(s, "fuselage");
        let (pod, pod_body) = pod(s, "pod");

        let (m_rider, height) = (s.value("rider.mass", MASS), s.value("rider.height", LENGTH));
        let stance = Stance::Crouched;
        let rider_forward = s.value("rider.forward", LENGTH);
        let rider_below = -(s.value("rider.deck", LENGTH) + stance.centre_of_gravity() * height);
        let rider_inertia = posture::rod_inertia(m_rider, stance.height() * height);
        let rider_body = [m_rider, rider_forward, rider_below, rider_inertia];

        // in the order of names, as the engine adds
        let bodies = [
            placed(s, "battery"),
            board_body,
            placed(s, "controller"),
            front_body,
            fuselage_body,
            mast_body,
            placed(s, "motor"),
            pod_body,
            placed(s, "propeller"),
            rider_body,
            stabiliser_body,
        ];
        let sum = |f: fn(Body4) -> f64| bodies.iter().fold(0.0, |sum, &body| sum + f(body));
        let mass = sum(|[m, ..]| m);
        let (cg_forward, cg_below) = (sum(|[m, x, ..]| m * x) / mass, sum(|[m, _, z, _]| m * z) / mass);
        let about_tail = sum(|[m, x, z, i]| i + m * (x * x + z * z));

        let start = super::rates::start(
            s.value("battery.state_of_charge", FRACTION),
            s.value("battery.temperature", TEMPERATURE),
            s.value("controller.start_temperature", TEMPERATURE),
            s.value("motor.start_temperature", TEMPERATURE),
            [s.value("motion.depth", LENGTH), s.value("motion.pitch", ANGLE), s.value("motion.speed", SPEED)],
        );
        Craft {
            current: s.value("water.current", SPEED),
            head_wind: s.value("air.head_wind", SPEED),
            vapour_pressure: properties::vapour_pressure(t_water, salt),
            water,
            water_temperature: t_water,
            air_pressure: p_air,
            air_density: air::density::density(t_air, p_air),
            air_temperature: t_air,
            battery_heat: pack.total(s.value("battery.cell_heat_capacity", HEAT_CAPACITY)),
            battery_to_air: s.value("battery.to_air", THERMAL_RESISTANCE),
            trip: OverCurrent {
                threshold: s.value("battery.trip_current", CURRENT),
                time: s.value("battery.trip_time", TIME),
                reset: s.value("battery.trip_reset", TIME),
            },
            cell,
            pack,
            cable,
            lead,
            throttle,
            limits: shaft::operating_point::Limits {
                duty: s.value("controller.duty_max", FRACTION),
                motor_current: s.value("controller.motor_current", CURRENT),
                battery_current: s.value("controller.battery_current", CURRENT),
                cut_off: s.value("controller.voltage_min", VOLTAGE),
                // no limit, as the controller states it
                speed: 1e6,
            },
            losses: Losses {
                idle: s.value("controller.idle_power", POWER),
                resistance: s.value("controller.resistance", RESISTANCE),
                switching: s.value("controller.switching", NUMBER),
            },
            own_heat: fold_back("controller.fold_back_from", "controller.fold_back_to"),
            motor_heat: fold_back("controller.motor_fold_back_from", "controller.motor_fold_back_to"),
            controller_capacity: s.value("controller.heat_capacity", HEAT_CAPACITY),
            controller_to_water: s.value("controller.to_surroundings", THERMAL_RESISTANCE),
            torque_constant: SpeedConstant::LineLinePeak
                .torque_constant(s.value("motor.speed_constant", SPEED_CONSTANT)),
            winding: s.value("motor.resistance", RESISTANCE),
            no_load: NoLoad::from_shares(
                s.value("motor.no_load_current", CURRENT),
                s.value("motor.no_load_speed", ROTATION),
                s.value("motor.viscous_share", FRACTION),
                s.value("motor.windage_share", FRACTION),
            ),
            iron_share: s.value("motor.iron_share", FRACTION),
            magnet_coefficient: s.value("motor.magnet_coefficient", PER_KELVIN),
            nodes: TwoNodes {
                winding_capacity: s.value("motor.winding_capacity", HEAT_CAPACITY),
                case_capacity: s.value("motor.case_capacity", HEAT_CAPACITY),
                winding_to_case: s.value("motor.winding_to_case", THERMAL_RESISTANCE),
                case_to_water: s.value("motor.case_to_water", THERMAL_RESISTANCE),
            },
            seal: s.value("shaft.seal_torque", TORQUE),
            screw,
            screw_forward: s.value("propeller.forward", LENGTH),
            screw_below: s.value("propeller.below", LENGTH),
            sin_inclination,
            cos_inclination,
            wake_fraction: s.value("propeller.wake_fraction", FRACTION),
            thrust_deduction: s.value("propeller.thrust_deduction", FRACTION),
            keller_margin: s.value("propeller.keller_margin", NUMBER),
            blades: f64::from(series.blades),
            area_ratio: series.area_ratio,
            board,
            strut_section: section_area(chord, thickness),
            strut,
            mast_forward,
            front,
            stabiliser,
            fuselage,
            pod,
            rider_forward,
            rider_below,
            rider_weight: m_rider * G,
            drag_area: posture::scaled_drag_area(stance.drag_area(), m_rider, height),
            board_area: s.value("rider.board_drag_area", AREA),
            trim: s.value("rider.trim", ANGLE),
            climb: Climb {
                flight_height: s.value("rider.flight_height", LENGTH),
                gain: s.value("rider.climb_gain", NUMBER),
                damping: s.value("rider.climb_damping", NUMBER),
                limits: (s.value("rider.trim_min", ANGLE), s.value("rider.trim_max", ANGLE)),
            },
            reach: s.value("rider.reach", LENGTH),
            omega: s.value("rider.stiffness", ROTATION),
            zeta: s.value("rider.damping", NUMBER),
            share: s.value("take_off.share", FRACTION),
            lasting: s.value("take_off.lasting", TIME),
            flight: s.value("take_off.flight", TIME),
            inertia: about_tail - mass * (cg_forward * cg_forward + cg_below * cg_below),
            mass,
            cg_forward,
            cg_below,
            start,
        }
    }
}
