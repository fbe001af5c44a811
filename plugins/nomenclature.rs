//! The quantities that parts exchange: the list of symbols at the front of the book.
//!
//! Axes: x forward, z down, pitch bow-up. Places on the craft are given as
//! metres `forward` of the tail end of the board's bottom and metres `below`
//! the bottom. Forces, moments and speeds are in earth axes; moments are about
//! the centre of gravity (CG), which itself is where the masses put it.
//! Renaming a kind breaks parts that others have written: add rather than rename.

use engine::quantity::Kind;

// Motion of the craft

/// x, distance run over ground.
pub const DISTANCE: Kind = Kind::single("distance", "m", "distance run over ground, forward");
/// z, depth of the CG.
pub const CG_DEPTH: Kind =
    Kind::single("cg_depth", "m", "depth of the CG below the still-water surface, down");
/// θ.
pub const PITCH: Kind = Kind::single("pitch", "rad", "pitch angle, bow-up");
/// u.
pub const SURGE_SPEED: Kind = Kind::single("surge_speed", "m/s", "speed of the CG over ground, forward");
/// w.
pub const HEAVE_SPEED: Kind = Kind::single("heave_speed", "m/s", "vertical speed of the CG, down");
/// q.
pub const PITCH_RATE: Kind = Kind::single("pitch_rate", "rad/s", "pitch rate, bow-up");
/// sin θ, worked out once for all.
pub const SIN_PITCH: Kind = Kind::single("sin_pitch", "1", "sine of the pitch angle");
/// cos θ, worked out once for all.
pub const COS_PITCH: Kind = Kind::single("cos_pitch", "1", "cosine of the pitch angle");
/// Where the CG lies along the board.
pub const CG_FORWARD: Kind = Kind::single("cg_forward", "m", "CG forward of the tail");
/// How far the CG lies below the board's bottom; negative above it.
pub const CG_BELOW: Kind = Kind::single("cg_below", "m", "CG below the board's bottom");

// Masses, contributed by everything that weighs something

/// m.
pub const MASS: Kind = Kind::sum("mass", "kg", "mass");
/// Σ m x.
pub const MASS_FORWARD: Kind = Kind::sum("mass_forward", "kg.m", "mass times its place forward of the tail");
/// Σ m z.
pub const MASS_BELOW: Kind = Kind::sum("mass_below", "kg.m", "mass times its place below the board's bottom");
/// Σ (I + m (x² + z²)).
pub const TAIL_INERTIA: Kind =
    Kind::sum("tail_inertia", "kg.m2", "pitch inertia about the tail end of the board's bottom");

// Forces on the craft

/// X.
pub const SURGE_FORCE: Kind = Kind::sum("surge_force", "N", "force on the craft, forward");
/// Z.
pub const HEAVE_FORCE: Kind = Kind::sum("heave_force", "N", "force on the craft, down");
/// M.
pub const PITCH_MOMENT: Kind = Kind::sum("pitch_moment", "N.m", "moment on the craft about the CG, bow-up");

// Added mass of the water that moves along: kinetic energy ½ (A11 u² + A33 w² + 2 A35 w q + A55 q²).
// An added mass a at a point ex ahead of the CG gives A33 = a, A35 = −a ex, A55 = a ex².

/// A11.
pub const ADDED_SURGE_MASS: Kind = Kind::sum("added_surge_mass", "kg", "added mass in surge, A11");
/// A33.
pub const ADDED_HEAVE_MASS: Kind = Kind::sum("added_heave_mass", "kg", "added mass in heave, A33");
/// A35.
pub const ADDED_HEAVE_PITCH: Kind =
    Kind::sum("added_heave_pitch", "kg.m", "coupling of heave and pitch, A35");
/// A55.
pub const ADDED_PITCH_INERTIA: Kind =
    Kind::sum("added_pitch_inertia", "kg.m2", "added inertia in pitch, A55");
/// dA11/dt.
pub const ADDED_SURGE_MASS_RATE: Kind = Kind::sum("added_surge_mass_rate", "kg/s", "rate of change of A11");
/// dA33/dt.
pub const ADDED_HEAVE_MASS_RATE: Kind = Kind::sum("added_heave_mass_rate", "kg/s", "rate of change of A33");
/// dA35/dt.
pub const ADDED_HEAVE_PITCH_RATE: Kind =
    Kind::sum("added_heave_pitch_rate", "kg.m/s", "rate of change of A35");
/// dA55/dt.
pub const ADDED_PITCH_INERTIA_RATE: Kind =
    Kind::sum("added_pitch_inertia_rate", "kg.m2/s", "rate of change of A55");

/// M33 = m + A33.
pub const HEAVE_MASS: Kind = Kind::single("heave_mass", "kg", "mass with added mass in heave, M33");
/// M35 = A35.
pub const HEAVE_PITCH_MASS: Kind =
    Kind::single("heave_pitch_mass", "kg.m", "coupling of heave and pitch, M35");
/// M55 = I + A55.
pub const PITCH_INERTIA: Kind =
    Kind::single("pitch_inertia", "kg.m2", "pitch inertia about the CG with A55, M55");

// Water and air

/// ρ.
pub const WATER_DENSITY: Kind = Kind::single("water_density", "kg/m3", "density of the water");
/// ν.
pub const WATER_VISCOSITY: Kind = Kind::single("water_viscosity", "m2/s", "kinematic viscosity of the water");
/// p_v.
pub const VAPOUR_PRESSURE: Kind = Kind::single("vapour_pressure", "Pa", "vapour pressure of the water");
/// p_a.
pub const AIR_PRESSURE: Kind = Kind::single("air_pressure", "Pa", "atmospheric pressure at the surface");
/// T of the water.
pub const WATER_TEMPERATURE: Kind = Kind::single("water_temperature", "degC", "temperature of the water");
/// Speed of the water over ground.
pub const CURRENT: Kind =
    Kind::single("current", "m/s", "speed of the water over ground, forward (a following current)");
/// ρ of the air.
pub const AIR_DENSITY: Kind = Kind::single("air_density", "kg/m3", "density of the air");
/// T of the air.
pub const AIR_TEMPERATURE: Kind = Kind::single("air_temperature", "degC", "temperature of the air");
/// Wind over ground against the direction of travel.
pub const HEAD_WIND: Kind =
    Kind::single("head_wind", "m/s", "wind over ground against the direction of travel");

// Board in the water

/// What the water carries through the board.
pub const BOARD_LOAD: Kind = Kind::single(
    "board_load",
    "N",
    "vertical force of the water on the board, up: buoyancy and planing lift",
);
/// How far the board is clear.
pub const BOARD_CLEARANCE: Kind = Kind::single(
    "board_clearance",
    "m",
    "height of the lowest point of the board's bottom above the water; negative when immersed",
);
/// Length of the bottom that is wet.
pub const WETTED_LENGTH: Kind =
    Kind::single("wetted_length", "m", "mean wetted length of the board's bottom");
/// Length of the board, for those who scale with it.
pub const BOARD_LENGTH: Kind = Kind::single("board_length", "m", "length of the board");

// Rider

/// How far the rider has moved his mass.
pub const RIDER_SHIFT: Kind =
    Kind::single("rider_shift", "m", "shift of the rider's mass from his stance, forward");
/// Share of his reach in use.
pub const REACH_USED: Kind =
    Kind::single("reach_used", "1", "share of the rider's reach in use, 1 = at its end");
/// Commanded trim.
pub const TRIM_COMMAND: Kind =
    Kind::single("trim_command", "rad", "pitch angle the rider tries to hold, bow-up");

// Drive

/// ω.
pub const SHAFT_SPEED: Kind = Kind::single("shaft_speed", "rad/s", "speed of the propeller shaft");
/// Q(ω) at the present inflow.
pub const PROPELLER_TORQUE_LAW: Kind = Kind::law(
    "propeller_torque_law",
    "N.m",
    "torque the propeller takes, as a function of shaft speed in rad/s",
);
/// T.
pub const THRUST: Kind =
    Kind::single("thrust", "N", "open-water thrust along the shaft at the present inflow");
/// What a guard leaves of the thrust.
pub const GUARD_THRUST_FACTOR: Kind =
    Kind::single("guard_thrust_factor", "1", "share of the thrust a guard leaves");
/// K.
pub const TORQUE_CONSTANT: Kind = Kind::single(
    "torque_constant",
    "N.m/A",
    "torque per ampere of DC-equivalent motor current = back-EMF per rad/s, at the magnets' temperature",
);
/// R.
pub const WINDING_RESISTANCE: Kind =
    Kind::single("winding_resistance", "ohm", "line-to-line resistance at the winding's temperature");
/// c0 of the motor's loss torque.
pub const LOSS_TORQUE_0: Kind =
    Kind::single("loss_torque_0", "N.m", "constant part of the motor's loss torque");
/// c1 of the motor's loss torque.
pub const LOSS_TORQUE_1: Kind = Kind::single("loss_torque_1", "N.m.s", "loss torque per rad/s");
/// c2 of the motor's loss torque.
pub const LOSS_TORQUE_2: Kind = Kind::single("loss_torque_2", "N.m.s2", "loss torque per (rad/s)²");
/// p L, for the reactive voltage.
pub const POLE_INDUCTANCE: Kind = Kind::single(
    "pole_inductance",
    "H",
    "pole pairs times phase inductance; 0 leaves the reactive voltage out",
);
/// T_w.
pub const WINDING_TEMPERATURE: Kind =
    Kind::single("winding_temperature", "degC", "temperature of the motor's winding");
/// Throttle.
pub const THROTTLE: Kind = Kind::single("throttle", "1", "throttle, 0 to 1");
/// Highest duty.
pub const DUTY_MAX: Kind =
    Kind::single("duty_max", "1", "highest duty the controller gives, throttle included");
/// Highest motor current.
pub const MOTOR_CURRENT_MAX: Kind = Kind::single(
    "motor_current_max",
    "A",
    "highest DC-equivalent motor current, fold-back and throttle included",
);
/// Highest battery current.
pub const BATTERY_CURRENT_MAX: Kind = Kind::single("battery_current_max", "A", "highest battery current");
/// Under-voltage limit.
pub const VOLTAGE_MIN: Kind =
    Kind::single("voltage_min", "V", "voltage at the controller below which it holds back");
/// Speed limit.
pub const SHAFT_SPEED_MAX: Kind = Kind::single("shaft_speed_max", "rad/s", "highest shaft speed");
/// R of the controller.
pub const CONTROLLER_RESISTANCE: Kind =
    Kind::single("controller_resistance", "ohm", "controller's loss per squared DC-equivalent motor current");
/// Idle power.
pub const CONTROLLER_IDLE_POWER: Kind =
    Kind::single("controller_idle_power", "W", "power the controller takes at rest");
/// Switching loss.
pub const CONTROLLER_SWITCHING: Kind =
    Kind::single("controller_switching", "1", "switching loss per volt of bus and ampere of motor current");
/// E of the battery behind its resistance.
pub const BATTERY_EMF: Kind =
    Kind::single("battery_emf", "V", "pack voltage at no current now, polarisation included");
/// R of the battery.
pub const BATTERY_RESISTANCE: Kind =
    Kind::single("battery_resistance", "ohm", "instantaneous resistance of the pack");
/// R between pack and controller.
pub const CABLE_RESISTANCE: Kind =
    Kind::single("cable_resistance", "ohm", "cables and contacts from pack to controller");
/// R between controller and motor.
pub const PHASE_LEAD_RESISTANCE: Kind =
    Kind::single("phase_lead_resistance", "ohm", "leads from controller to motor, line to line");
/// Whether the pack's protection has opened.
pub const TRIPPED: Kind = Kind::single("tripped", "1", "1 once the pack's protection has opened");
/// I_m.
pub const MOTOR_CURRENT: Kind = Kind::single("motor_current", "A", "motor current, DC-equivalent");
/// V_m.
pub const MOTOR_VOLTAGE: Kind = Kind::single("motor_voltage", "V", "motor voltage, DC-equivalent");
/// D.
pub const DUTY: Kind = Kind::single("duty", "1", "duty, share of the bus voltage the motor sees");
/// I_b.
pub const BATTERY_CURRENT: Kind =
    Kind::single("battery_current", "A", "battery current, positive when discharging");
/// V at the controller.
pub const BUS_VOLTAGE: Kind = Kind::single("bus_voltage", "V", "voltage at the controller's terminals");
/// Margin of a named limit: 0 binding, negative slack, relative to the limit.
pub const LIMIT_MARGIN: Kind =
    Kind::each("limit_margin", "1", "how far a limit is from binding, relative: 0 binds, −0.2 is 20 % away");

// Energy ledger: sources − sinks = change of stores

/// Power that enters.
pub const ENERGY_SOURCE: Kind = Kind::sum("energy_source", "W", "power that enters the craft");
/// Power that leaves.
pub const ENERGY_SINK: Kind =
    Kind::sum("energy_sink", "W", "power that leaves the craft as heat, or into water and air");
/// Energy held.
pub const ENERGY_STORE: Kind = Kind::sum("energy_store", "J", "energy held in motion, height, capacitors");

// What a verdict is read from

/// h.
pub const WING_DEPTH: Kind =
    Kind::single("wing_depth", "m", "depth of the quarter chord below the still surface");
/// Stall, for the watch.
pub const STALL: Kind =
    Kind::single("stall", "1", "share of separated flow, counted only with way on (above 1 m/s)");
/// s.
pub const STATE_OF_CHARGE: Kind = Kind::single("state_of_charge", "1", "state of charge, 1 = full");
/// T of the cells.
pub const CELL_TEMPERATURE: Kind = Kind::single("cell_temperature", "degC", "temperature of the cells");
/// Energy given at the terminals.
pub const ENERGY_DRAWN: Kind = Kind::single("energy_drawn", "J", "energy given at the terminals");
/// Charge given.
pub const CHARGE_DRAWN: Kind = Kind::single("charge_drawn", "C", "charge given at the terminals");
/// T of the switches.
pub const CONTROLLER_TEMPERATURE: Kind =
    Kind::single("controller_temperature", "degC", "temperature of the controller's switches");
/// T_c.
pub const CASE_TEMPERATURE: Kind =
    Kind::single("case_temperature", "degC", "temperature of the motor's case, iron and magnets");
/// How clear the board is: above 0 it is clear and unloaded.
pub const FREE_MARGIN: Kind = Kind::single(
    "free_margin",
    "1",
    "above 0: board clear of the water and carrying less than the share allowed",
);
/// 1 once a flight has lasted long enough.
pub const FOILBORNE: Kind = Kind::single("foilborne", "1", "1 once the board has stayed clear long enough");
/// Start of the first flight that lasted.
pub const TAKE_OFF_TIME: Kind =
    Kind::single("take_off_time", "s", "when the first lasting flight began; -1 before");
/// Distance run by then.
pub const TAKE_OFF_DISTANCE: Kind =
    Kind::single("take_off_distance", "m", "distance run when that flight began");
/// Speed over ground then.
pub const TAKE_OFF_SPEED: Kind =
    Kind::single("take_off_speed", "m/s", "speed over ground when that flight began");
/// Touch-down after a lasting flight.
pub const TOUCH_DOWN_TIME: Kind =
    Kind::single("touch_down_time", "s", "first touch-down after take-off; -1 if none");
/// Whether the craft has gone over.
pub const TURNED_OVER: Kind =
    Kind::single("turned_over", "1", "1 once the craft has turned over, which ends the run");

// Bench rig

/// Margin of a named limit of the rig.
pub const RIG_MARGIN: Kind = Kind::each(
    "rig_margin",
    "1",
    "1 − load/limit of a named limit of the rig: 1 unloaded, 0 at the limit, negative beyond",
);
/// φ.
pub const START_UP_FACTOR: Kind =
    Kind::single("start_up_factor", "1", "peak pull on the rig over the steady pull, at a start");
/// a_p.
pub const PROPELLER_ARM: Kind = Kind::single("propeller_arm", "m", "from the pivot to the propeller's axis");
