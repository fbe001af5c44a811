//! The fused right-hand side: the equations of all parts in one function, with
//! local variables for what the parts exchange.

use std::f64::consts::TAU;

use foilborne::battery::cell::{charge_rate, pair_rate};
use foilborne::board::forces::{Forces, Wrench};
use foilborne::board::hull::Attitude;
use foilborne::board::ranges;
use foilborne::controller::limits::heating_rate;
use foilborne::foil::forces::{self as wing_forces, Flow};
use foilborne::foil::wing;
use foilborne::handbook::kinematics::{self, Offset};
use foilborne::handbook::{G, copper, disc, loss_torque};
use foilborne::mast::strut;
use foilborne::motor::temperature::magnet_ratio;
use foilborne::propeller::{cavitation, inflow};
use foilborne::rider::balance::{self, Inertia};
use foilborne::rider::posture;
use foilborne::shaft::operating_point::{self as shaft, Controller, Limits, Motor, Source};

use super::craft::{Craft, Foil, Pod};

/// Number of states.
pub const STATES: usize = 71;
/// Values of the states, SI (temperatures in °C).
pub type State = [f64; STATES];

// places of the states that feed back; the others are running integrals of power
pub const CELL_TEMPERATURE: usize = 0;
const ENERGY_DRAWN: usize = 1;
const FAST: usize = 2;
const SLOW: usize = 3;
pub const CHARGE: usize = 4;
pub const TRIP_TIMER: usize = 5;
pub const CONTROLLER_TEMPERATURE: usize = 6;
const FRONT_LAG: usize = 7;
// running integrals of power stand between the two

pub const CG_DEPTH: usize = 62;
pub const DISTANCE: usize = 63;
pub const HEAVE_SPEED: usize = 64;
pub const PITCH: usize = 65;
pub const PITCH_RATE: usize = 66;
pub const SURGE_SPEED: usize = 67;
pub const CASE_TEMPERATURE: usize = 68;
pub const WINDING_TEMPERATURE: usize = 69;
const STABILISER_LAG: usize = 70;

/// Usual sizes of the states, as the parts state them.
pub const NOMINAL: State = {
    let mut n = [1000.0; STATES];
    (n[CELL_TEMPERATURE], n[ENERGY_DRAWN], n[FAST], n[SLOW]) = (30.0, 1e4, 0.1, 0.1);
    (n[CHARGE], n[TRIP_TIMER], n[CONTROLLER_TEMPERATURE], n[FRONT_LAG]) = (1.0, 1.0, 30.0, 0.5);
    (n[CG_DEPTH], n[DISTANCE], n[HEAVE_SPEED], n[PITCH]) = (0.3, 10.0, 0.3, 0.1);
    (n[PITCH_RATE], n[SURGE_SPEED], n[CASE_TEMPERATURE], n[WINDING_TEMPERATURE]) = (0.3, 3.0, 30.0, 30.0);
    n[STABILISER_LAG] = 0.5;
    n
};

/// 1 ÷ [`NOMINAL`].
pub const PER_NOMINAL: State = {
    let mut per = NOMINAL;
    let mut i = 0;
    while i < STATES {
        per[i] = 1.0 / NOMINAL[i];
        i += 1;
    }
    per
};

/// States before the craft settles.
pub fn start(charge: f64, cells: f64, controller: f64, motor: f64, [depth, pitch, speed]: [f64; 3]) -> State {
    let mut y = [0.0; STATES];
    (y[CHARGE], y[CELL_TEMPERATURE], y[CONTROLLER_TEMPERATURE]) = (charge, cells, controller);
    (y[WINDING_TEMPERATURE], y[CASE_TEMPERATURE]) = (motor, motor);
    (y[CG_DEPTH], y[PITCH], y[SURGE_SPEED]) = (depth, pitch, speed);
    y
}

/// What the guards and watches look at besides the states.
#[derive(Clone, Copy, Default)]
pub struct Seen {
    pub throttle: f64,
    pub board: Forces,
    /// Per wing: depth, lift coefficient in effect, stalled share, fading near the surface, speed.
    pub wings: [[f64; 5]; 2],
    pub advance_ratio: f64,
    pub thrust: f64,
    pub shaft_depth: f64,
    pub reach_used: f64,
}

/// Added masses A33, A35, A55 and their rates.
type Added = [f64; 6];

fn added_by(mass: f64, mass_rate: f64, point: &Point, q: f64) -> Added {
    let Offset { x, z } = point.offset;
    let x_rate = q * z;
    [
        mass,
        -mass * x,
        mass * x * x,
        mass_rate,
        -mass_rate * x - mass * x_rate,
        mass_rate * x * x + 2.0 * mass * x * x_rate,
    ]
}

struct Point {
    offset: Offset,
    depth: f64,
    v_x: f64,
    v_z: f64,
}

impl Point {
    fn wrench(&self, x: f64, z: f64) -> Wrench {
        Wrench { x, z, m: self.offset.moment(x, z) }
    }
}

/// A wing's answer.
struct Winged {
    force: Wrench,
    lag_rate: f64,
    /// buoyancy, current, downwash, induced, moment, profile, separated, wave
    sinks: [f64; 8],
    downwash: f64,
    seen: [f64; 5],
}

impl Craft {
    /// Rates of the states at time `t`; with `tripped` the pack has opened.
    #[inline]
    pub fn rates(&self, t: f64, y: &State, tripped: bool, seen: &mut Seen) -> State {
        let water = self.water;
        let (rho, nu, current) = (water.rho, water.nu, self.current);
        let (u, w, q, depth, theta) = (y[SURGE_SPEED], y[HEAVE_SPEED], y[PITCH_RATE], y[CG_DEPTH], y[PITCH]);
        let (sin, cos) = theta.sin_cos();
        let point = |forward: f64, below: f64| {
            let offset = kinematics::offset(forward - self.cg_forward, below - self.cg_below, sin, cos);
            let (v_x, v_z) = offset.velocity(u, w, q);
            Point { offset, depth: offset.depth(depth), v_x, v_z }
        };

        // battery as the shaft sees it
        let (charge, t_cell, v_1, v_2) = (y[CHARGE], y[CELL_TEMPERATURE], y[FAST], y[SLOW]);
        let (ocv, r_0, warmth) =
            (self.cell.ocv(charge), self.cell.r0(charge), self.cell.temperature_factor(t_cell));
        let emf = self.pack.source_voltage(ocv, v_1, v_2);
        let inner = self.pack.source_resistance(r_0 * warmth);

        // what throttle and temperatures allow
        let throttle = self.throttle.at(t, 0.0);
        let (own, winding, case) = (y[CONTROLLER_TEMPERATURE], y[WINDING_TEMPERATURE], y[CASE_TEMPERATURE]);
        let limits = Limits {
            duty: self.limits.duty * throttle.clamp(0.0, 1.0),
            motor_current: self.limits.motor_current
                * 1f64.min(self.own_heat.factor(own)).min(self.motor_heat.factor(winding)),
            ..self.limits
        };

        // board
        let attitude =
            Attitude { w, q, sin, cos, depth, cg_forward: self.cg_forward, cg_below: self.cg_below };
        let mut board = self.board.forces(u - current, &attitude, water);
        board.damping.x += 0.5 * rho * board.immersion.added_rate.a11 * current;
        let mut total = board.total();
        let mut add = |f: Wrench| {
            total.x += f.x;
            total.z += f.z;
            total.m += f.m;
        };
        let (a, r) = (board.immersion.added, board.immersion.added_rate);
        let (a_11, r_11) = (rho * a.a11, rho * r.a11);
        let mut added = [a.a33, a.a35, a.a55, r.a33, r.a35, r.a55].map(|value| rho * value);
        let mut carry = |mass: f64, mass_rate: f64, point: &Point| {
            for (sum, value) in added.iter_mut().zip(added_by(mass, mass_rate, point, q)) {
                *sum += value;
            }
        };

        // wings, the stabiliser in the downwash of the front wing
        let wing_at = |foil: &Foil, lagging: f64, downwash: f64| -> Winged {
            let at = point(foil.forward, foil.below);
            let flow = Flow {
                v_x: at.v_x - current,
                v_z: at.v_z,
                sin_pitch: sin,
                cos_pitch: cos,
                depth: at.depth,
                downwash,
                rho,
                nu,
                g: G,
            };
            let attitude = foil.wing.attitude(&flow);
            let speed = attitude.speed;
            let c_l = wing::lagged_lift(attitude.c_l, lagging);
            let f: wing_forces::Forces = foil.wing.forces(&flow, &attitude, c_l);
            let float = rho * G * foil.volume * attitude.fade;
            let mut force = at.wrench(f.x, f.z - float);
            force.m += f.moment;
            Winged {
                force,
                lag_rate: wing::lag_rate(attitude.c_l, lagging, speed, foil.chord),
                sinks: [
                    float * at.v_z,
                    -f.x * current,
                    f.downwash * speed,
                    f.induced * speed,
                    -f.moment * q,
                    f.profile * speed,
                    f.separated * speed,
                    f.wave * speed,
                ],
                downwash: foil.wing.downwash(&attitude, c_l),
                seen: [at.depth, c_l, attitude.stalled, attitude.fade, speed],
            }
        };
        let front = wing_at(&self.front, y[FRONT_LAG], 0.0);
        let tail = wing_at(&self.stabiliser, y[STABILISER_LAG], self.stabiliser.share * front.downwash);
        add(front.force);
        add(tail.force);
        for foil in [&self.front, &self.stabiliser] {
            let middle = point(foil.forward - 0.25 * foil.chord, foil.below);
            let full = rho * foil.added;
            carry(
                full * wing::depth_fade(middle.depth, foil.chord),
                full * wing::depth_fade_slope(middle.depth, foil.chord) * middle.v_z,
                &middle,
            );
        }

        // mast
        let length = self.strut.length;
        let foot = point(self.mast_forward, length);
        let wet = strut::immersed_length(foot.depth, length, cos);
        let middle = point(self.mast_forward, length - 0.5 * wet);
        let surface = point(self.mast_forward, length - wet);
        let speed = |p: &Point| {
            let v_x = p.v_x - current;
            (v_x * v_x + p.v_z * p.v_z).sqrt()
        };
        let (v_middle, v_surface, v_foot) = (speed(&middle), speed(&surface), speed(&foot));
        let d_profile = wet * self.strut.profile(v_middle, rho, nu);
        let emerged = 1.0 - engine::smooth::smoothstep(board.wetted_length / (0.1 * self.board.hull.length));
        let d_spray = self.strut.spray(v_surface, rho, G, emerged, wet);
        let d_junction = self.strut.junction(v_foot, rho, foot.depth);
        let mast_float = rho * G * self.strut_section * wet;
        let mut mast_x = 0.0;
        for (drag, at, speed) in
            [(d_profile, &middle, v_middle), (d_spray, &surface, v_surface), (d_junction, &foot, v_foot)]
        {
            let per_speed = -drag / (speed + f64::MIN_POSITIVE);
            let x = per_speed * (at.v_x - current);
            mast_x += x;
            add(at.wrench(x, per_speed * at.v_z));
        }
        add(middle.wrench(0.0, -mast_float));

        // fuselage and pod: across, axial, buoyancy, current
        let mut body_at = |pod: &Pod| -> [f64; 4] {
            let at = point(pod.forward, pod.below);
            let v_x = at.v_x - current;
            let (v_axial, v_across) = (v_x * cos - at.v_z * sin, v_x * sin + at.v_z * cos);
            let immersed = pod.body.immersion(at.depth, sin);
            let d_axial = immersed * pod.body.drag(v_axial, rho, nu);
            let d_across = immersed * pod.body.cross_drag(v_across, rho);
            let float = rho * G * pod.body.volume * immersed;
            let x = -d_axial * cos - d_across * sin;
            add(at.wrench(x, d_axial * sin - d_across * cos - float));
            let full = rho * pod.body.added_volume;
            let rate = pod.body.immersion_rate(at.depth, (sin, cos), at.v_z, q);
            carry(full * immersed, full * rate, &at);
            [d_across * v_across, d_axial * v_axial, float * at.v_z, -x * current]
        };
        let [b_across, b_axial, b_float, b_current] = body_at(&self.fuselage);
        let [p_across, p_axial, p_float, p_current] = body_at(&self.pod);

        // propeller's inflow, shaft, thrust
        let k = self.torque_constant * magnet_ratio(case, self.magnet_coefficient);
        let resistance = self.winding * copper::resistance_ratio(winding, 20.0);
        let (c_0, c_1, c_2) = (k * self.no_load.i0, k * self.no_load.i1, k * self.no_load.i2);
        let at_screw = point(self.screw_forward, self.screw_below);
        let (sin_a, cos_a) = (
            sin * self.cos_inclination + cos * self.sin_inclination,
            cos * self.cos_inclination - sin * self.sin_inclination,
        );
        let v_a =
            inflow::speed_of_advance(at_screw.v_x - current, at_screw.v_z, sin_a, cos_a, self.wake_fraction);
        let d = self.screw.diameter();
        let loading = disc::immersed_share(at_screw.depth, 0.5 * d);
        let source = Source { voltage: if tripped { 0.0 } else { emf }, resistance: inner + self.cable };
        let motor = Motor { torque_constant: k, resistance: resistance + self.lead, reactance: 0.0 };
        let losses = self.losses;
        let controller =
            Controller { idle: losses.idle, resistance: losses.resistance, switching: losses.switching };
        let seal = self.seal;
        let operating = shaft::operating_point(source, motor, controller, limits, |omega| {
            loading * self.screw.torque(rho, omega / TAU, v_a)
                + loss_torque::loss_torque(c_0 + seal, c_1, c_2, omega)
        })
        .expect("the demo drive has an operating point");
        let (omega, i_m, i_b, v_b) =
            (operating.omega, operating.motor_current, operating.battery_current, operating.battery_voltage);
        let n = omega / TAU;
        let thrust = loading * self.screw.thrust(rho, n, v_a);
        let torque = loading * self.screw.torque(rho, n, v_a);
        let net = (1.0 - self.thrust_deduction) * thrust;
        add(at_screw.wrench(net * cos_a, -net * sin_a));
        let along_shaft = at_screw.v_x * cos_a - at_screw.v_z * sin_a;

        // masses
        let [a_33, a_35, a_55, r_33, r_35, r_55] = added;
        let (m_33, m_35, m_55) = (self.mass + a_33, a_35, self.inertia + a_55);
        total.x += -0.5 * r_11 * u;
        total.z += self.mass * G - 0.5 * (r_33 * w + r_35 * q);
        total.m += -0.5 * (r_35 * w + r_55 * q);

        // rider: air drag, then the moment that holds the trim he wants
        let (chest, bottom) = (point(self.rider_forward, self.rider_below), point(self.rider_forward, 0.0));
        let air = |at: &Point, area: f64| posture::air_drag(self.air_density, area, at.v_x + self.head_wind);
        let (d_rider, d_board) = (air(&chest, self.drag_area), air(&bottom, self.board_area));
        let command = balance::commanded_trim(self.trim, -bottom.depth, -bottom.v_z, &self.climb);
        let air_moment = chest.offset.moment(-d_rider, 0.0) + bottom.offset.moment(-d_board, 0.0);
        let wanted = balance::wanted_pitch_acceleration((theta, command), q, self.omega, self.zeta);
        let inertia = Inertia { heave: m_33, coupling: m_35, pitch: m_55 };
        let moment = balance::needed_moment(&inertia, total.z, total.m + air_moment, wanted);
        let held = balance::within_reach(balance::shift_for(moment, self.rider_weight, cos), self.reach);
        let own_moment = balance::moment_of(held, self.rider_weight, cos);
        total.x -= d_rider + d_board;
        total.m += own_moment + air_moment;

        // battery, controller and motor: rates
        let i_cell = self.pack.cell_current(i_b);
        let (fast, slow) = (self.cell.fast, self.cell.slow);
        let in_cells = i_cell * (i_cell * (r_0 * warmth) + v_1 + v_2);
        let away = (t_cell - self.air_temperature) / self.battery_to_air;
        let idle = if i_b > 0.0 { losses.idle } else { 0.0 };
        let (conduction, switching) = (losses.conduction(i_m), losses.commutation(v_b, i_m));
        let controller_rate = heating_rate(
            own,
            self.water_temperature,
            idle + conduction + switching,
            self.controller_to_water,
            self.controller_capacity,
        );
        let dry = k * loss_torque::dry(self.no_load.i0, omega) * omega;
        let eddy = k * self.no_load.i1 * omega * omega;
        let windage = k * self.no_load.i2 * omega * omega * omega.abs();
        let copper_loss = resistance * i_m * i_m;
        let iron_loss = self.iron_share * dry + eddy;
        let friction_loss = (1.0 - self.iron_share) * dry + windage;
        let (winding_rate, case_rate) =
            self.nodes.rates(winding, case, self.water_temperature, copper_loss, iron_loss + friction_loss);

        let determinant = m_33 * m_55 - m_35 * m_35;
        *seen = Seen {
            throttle,
            board,
            wings: [front.seen, tail.seen],
            advance_ratio: v_a * n / ((n * n + 0.01) * d),
            thrust,
            shaft_depth: at_screw.depth,
            reach_used: held.abs() / self.reach,
        };
        let on_board = |f: Wrench| f.sink(u, w, q);
        let [f_float, f_current, f_tilted, f_induced, f_moment, f_profile, f_separated, f_wave] = front.sinks;
        let [t_float, t_current, t_tilted, t_induced, t_moment, t_profile, t_separated, t_wave] = tail.sinks;
        #[rustfmt::skip]
        let rates = [
            // battery
            (self.pack.total(in_cells) - away) / self.battery_heat,
            (emf - inner * i_b) * i_b,
            pair_rate(v_1, i_cell, (warmth * fast.0, fast.1)),
            pair_rate(v_2, i_cell, (warmth * slow.0, slow.1)),
            charge_rate(i_cell, self.cell.capacity),
            self.trip.timer_rate(i_b, y[TRIP_TIMER]),
            controller_rate,
            front.lag_rate,
            // ledger: battery (fast, ohmic, slow; source), board, controller, front wing
            self.pack.total(v_1 * v_1 / (warmth * fast.0)),
            inner * i_b * i_b,
            self.pack.total(v_2 * v_2 / (warmth * slow.0)),
            self.pack.total(ocv * i_cell),
            on_board(board.buoyancy), on_board(board.damping), on_board(board.form),
            on_board(board.friction), on_board(board.planing_lift), on_board(board.wave),
            conduction, idle, switching,
            f_float, f_current, f_tilted, f_induced, f_moment, f_profile, f_separated, f_wave,
            // fuselage, mast, motor, pod, propeller
            b_across, b_axial, b_float, b_current,
            mast_float * middle.v_z, -mast_x * current,
            d_junction * v_foot, d_profile * v_middle, d_spray * v_surface,
            copper_loss, friction_loss, iron_loss,
            p_across, p_axial, p_float, p_current,
            0.0,
            TAU * n * torque - thrust * v_a,
            thrust * (v_a - (1.0 - self.thrust_deduction) * along_shaft),
            // rider, shaft, stabiliser, wiring
            d_rider * chest.v_x, d_board * bottom.v_x, own_moment * q,
            loss_torque::dry(seal, omega) * omega,
            t_float, t_current, t_tilted, t_induced, t_moment, t_profile, t_separated, t_wave,
            self.cable * i_b * i_b, self.lead * i_m * i_m,
            // motion
            w,
            u,
            (m_55 * total.z - m_35 * total.m) / determinant,
            q,
            (m_33 * total.m - m_35 * total.z) / determinant,
            total.x / (self.mass + a_11),
            case_rate,
            winding_rate,
            tail.lag_rate,
        ];
        rates
    }

    /// Above 0 the board is clear of the water and carries next to nothing.
    pub fn free_margin(&self, seen: &Seen) -> f64 {
        let carried = seen.board.load / (self.mass * G);
        (seen.board.clearance / 0.05).min((self.share - carried) / self.share)
    }

    /// What the parts keep watch on, with the range of each.
    pub fn watched(&self, y: &State, seen: &Seen) -> [(f64, f64, f64); 18] {
        const FAR: f64 = f64::INFINITY;
        let (rho, beam) = (self.water.rho, self.board.hull.beam);
        let wing = |k: usize, foil: &Foil| {
            let [depth, c_l, stalled, fade, speed] = seen.wings[k];
            let way = engine::smooth::smoothstep(speed - 1.0);
            (stalled * fade * way, way * foil.wing.ventilation_margin(depth, c_l))
        };
        let (front, tail) = (wing(0, &self.front), wing(1, &self.stabiliser));
        let p_0 = self.air_pressure + rho * G * seen.shaft_depth;
        let keller = cavitation::keller_area_ratio(
            seen.thrust,
            self.blades,
            p_0,
            self.vapour_pressure,
            self.screw.diameter(),
            self.keller_margin,
        );
        let margin = ranges::porpoising_margin(&seen.board, y[PITCH], rho, G, beam);
        let trim = ranges::planing_trim(&seen.board, y[PITCH], rho, G, beam);
        [
            (y[CELL_TEMPERATURE], 0.0, 60.0),
            (y[CHARGE], 0.05, 1.0),
            (seen.board.immersion.deck / self.board.hull.deck_area, 0.0, 0.02),
            (trim, 2f64.to_radians(), 15f64.to_radians()),
            (margin, 0.0, FAR),
            (seen.board.slenderness, 3.1, FAR),
            (y[CONTROLLER_TEMPERATURE], -20.0, 110.0),
            (seen.throttle, 0.0, 1.0),
            (front.0, -FAR, 0.5),
            (front.1, -FAR, 0.0),
            (y[CASE_TEMPERATURE], -20.0, 80.0),
            (y[WINDING_TEMPERATURE], -20.0, 130.0),
            (seen.advance_ratio, -0.1, self.screw.last_advance_ratio()),
            (keller, 0.0, self.area_ratio),
            (0.0, 0.0, 1.0),
            (seen.reach_used, -FAR, 0.97),
            (tail.0, -FAR, 0.5),
            (tail.1, -FAR, 0.0),
        ]
    }
}

/// Names of the states in their order, as the engine calls them.
pub fn names() -> Vec<String> {
    let plain = |names: &[&str]| names.iter().map(ToString::to_string).collect::<Vec<_>>();
    let sinks = |part: &str, labels: &[&str]| {
        labels.iter().map(|label| format!("integral.{part}.energy_sink.{label}")).collect::<Vec<_>>()
    };
    let wing = ["buoyancy", "current", "downwash", "induced", "moment", "profile", "separated", "wave"];
    let names = [
        plain(&["battery.cell_temperature", "battery.energy_drawn", "battery.fast_polarisation"]),
        plain(&["battery.slow_polarisation", "battery.state_of_charge", "battery.trip_timer"]),
        plain(&["controller.controller_temperature", "front_wing.lagging_lift"]),
        sinks("battery", &["fast polarisation", "ohmic", "slow polarisation"]),
        plain(&["integral.battery.energy_source.chemical"]),
        sinks("board", &["buoyancy", "damping", "form", "friction", "planing lift", "waves"]),
        sinks("controller", &["conduction", "idle", "switching"]),
        sinks("front_wing", &wing),
        sinks("fuselage", &["across", "axial", "buoyancy", "current"]),
        sinks("mast", &["buoyancy", "current", "junction", "profile", "spray"]),
        sinks("motor", &["copper", "friction", "iron"]),
        sinks("pod", &["across", "axial", "buoyancy", "current"]),
        sinks("propeller", &["guard_on_thrust", "slip", "wake_and_thrust_deduction"]),
        sinks("rider", &["air", "air_on_board"]),
        plain(&["integral.rider.energy_source.work"]),
        sinks("shaft", &["seal"]),
        sinks("stabiliser", &wing),
        sinks("wiring", &["battery leads", "motor leads"]),
        plain(&["motion.cg_depth", "motion.distance", "motion.heave_speed", "motion.pitch"]),
        plain(&["motion.pitch_rate", "motion.surge_speed", "motor.case_temperature"]),
        plain(&["motor.winding_temperature", "stabiliser.lagging_lift"]),
    ];
    names.concat()
}
