//! The constants of a drive that readings are reduced with.

use engine::analysis::Craft;
use engine::diagnostic::{Diagnostic, Diagnostics};
use engine::quantity::Kind;

use crate::handbook::loss_torque::loss_torque;
use crate::nomenclature::*;
use crate::steady::tub::bench::Bench;

/// What a throttle is a share of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ThrottleSets {
    /// The greatest duty.
    Duty,
    /// The greatest motor current.
    Current,
}

/// A drive's constants, SI. Limits are those with the throttle wide open and the drive cold; an absent
/// limit is infinite (`voltage_min`: 0).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drive {
    /// Torque constant K per DC-equivalent ampere [N·m/A = V·s/rad].
    pub k: f64,
    /// Line-to-line resistance R of the winding \[Ω\] at `temperature`.
    pub r: f64,
    /// Leads from controller to motor, line to line \[Ω\].
    pub r_leads: f64,
    /// Temperature that `r` belongs to [°C].
    pub temperature: f64,
    /// Reactive voltage over speed and current, 2 p L \[H\]; 0 leaves it out.
    pub reactance: f64,
    /// Controller's conduction loss per squared motor current \[Ω\].
    pub r_ctrl: f64,
    /// Constant part of the loss torque \[N·m\], the shaft's seal in it.
    pub c0: f64,
    /// Loss torque per speed [N·m·s].
    pub c1: f64,
    /// Loss torque per squared speed [N·m·s²].
    pub c2: f64,
    /// Controller's power at rest P₀ \[W\].
    pub idle: f64,
    /// Switching loss per volt and ampere k_sw.
    pub switching: f64,
    /// Greatest duty.
    pub duty_max: f64,
    /// Greatest motor current, DC-equivalent \[A\].
    pub motor_current_max: f64,
    /// Greatest battery current \[A\].
    pub battery_current_max: f64,
    /// Lowest voltage at the controller \[V\].
    pub voltage_min: f64,
    /// Greatest shaft speed [rad/s].
    pub shaft_speed_max: f64,
    /// Diameter of the propeller D \[m\].
    pub diameter: f64,
    /// Density of the water ρ [kg/m³].
    pub rho: f64,
    /// What the throttle is a share of.
    pub throttle_sets: ThrottleSets,
}

/// Changes of a drive's constants, in their units.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
#[allow(missing_docs)] // named as in [`Drive`]
pub struct Shift {
    pub k: f64,
    pub r: f64,
    pub r_leads: f64,
    pub r_ctrl: f64,
    pub c0: f64,
    pub c1: f64,
    pub c2: f64,
    pub idle: f64,
    pub switching: f64,
    pub diameter: f64,
    pub rho: f64,
}

/// Something that is not known of a drive, and what one standard uncertainty of it does to all constants at once.
#[derive(Debug, Clone, PartialEq)]
pub struct Cause {
    /// Its name.
    pub name: String,
    /// What it does, with signs.
    pub shift: Shift,
}

/// What is not known of a drive: causes that are independent of each other. A constant that none of them moves is taken
/// for exact, which makes a result look surer than it is.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct DriveUnsure {
    /// Each by itself: what one cause does to several constants adds up or cancels before causes add in squares.
    pub causes: Vec<Cause>,
}

/// Share of a constant below which a change is round-off of the equilibria that constants are read from.
const ROUND_OFF: f64 = 1e-9;

impl Shift {
    /// The change that `by` makes of the constants with a cause a little up and down.
    pub(super) fn between(up: &Drive, down: &Drive, by: impl Fn(f64, f64) -> f64) -> Shift {
        let of = |up: f64, down: f64| {
            let same = (up - down).abs() <= ROUND_OFF * up.abs().max(down.abs());
            if same { 0.0 } else { by(up, down) }
        };
        Shift {
            k: of(up.k, down.k),
            r: of(up.r, down.r),
            r_leads: of(up.r_leads, down.r_leads),
            r_ctrl: of(up.r_ctrl, down.r_ctrl),
            c0: of(up.c0, down.c0),
            c1: of(up.c1, down.c1),
            c2: of(up.c2, down.c2),
            idle: of(up.idle, down.idle),
            switching: of(up.switching, down.switching),
            diameter: of(up.diameter, down.diameter),
            rho: of(up.rho, down.rho),
        }
    }
}

impl DriveUnsure {
    /// Standard uncertainty of one constant.
    pub fn of(&self, constant: impl Fn(&Shift) -> f64) -> f64 {
        self.causes.iter().fold(0.0, |u: f64, cause| u.hypot(constant(&cause.shift)))
    }

    /// Names of the constants that are taken for exact.
    pub fn exact(&self) -> Vec<&'static str> {
        let all = [
            ("K", self.of(|s| s.k)),
            ("R", self.of(|s| s.r)),
            ("the controller's losses", self.of(|s| s.r_ctrl.hypot(s.idle).hypot(s.switching))),
            ("the loss torque", self.of(|s| s.c0.hypot(s.c1).hypot(s.c2))),
            ("the propeller's diameter", self.of(|s| s.diameter)),
            ("the water's density", self.of(|s| s.rho)),
        ];
        all.into_iter().filter(|(_, u)| *u == 0.0).map(|(name, _)| name).collect()
    }
}

impl Drive {
    /// The constants of an assembled craft, cold, as its parts tell them. The seal's torque, which no part
    /// publishes, is what the balance of torques at full throttle leaves over.
    ///
    /// # Errors
    /// Not one drive with one propeller, or a constant that is no number.
    pub fn of(craft: &Craft) -> Result<Drive, Diagnostics> {
        let bench = Bench::new(craft)?;
        let p = &bench.probes;
        let model = &craft.model;
        let mut run = bench.steady(1.0);
        let duty_half = bench.run(0.5).value(p.duty_max);
        let sole = |kind: &Kind| model.providers(kind.name).first().copied();
        let mut or_zero = |kind: &Kind| sole(kind).map_or(0.0, |probe| run.value(probe));
        let (c0, c1, c2) = (or_zero(&LOSS_TORQUE_0), or_zero(&LOSS_TORQUE_1), or_zero(&LOSS_TORQUE_2));
        let (r_leads, pole_inductance) = (or_zero(&PHASE_LEAD_RESISTANCE), or_zero(&POLE_INDUCTANCE));
        let (r_ctrl, idle, switching) = (
            or_zero(&CONTROLLER_RESISTANCE),
            or_zero(&CONTROLLER_IDLE_POWER),
            or_zero(&CONTROLLER_SWITCHING),
        );
        let temperature = or_zero(&WINDING_TEMPERATURE);
        let mut read = |probe: Option<_>| probe.map_or(f64::NAN, |probe| run.value(probe));
        let (k, omega) = (read(Some(p.torque_constant)), read(Some(p.shaft_speed)));
        let (current, torque) = (read(Some(p.motor_current)), read(p.torque));
        let dry = loss_torque(1.0, 0.0, 0.0, omega);
        let left = k * current - torque - loss_torque(c0, c1, c2, omega);
        // round-off may leave a hair; a shaft that stands still tells nothing
        let seal = if dry > 0.5 && left > 1e-9 * k * current { left / dry } else { 0.0 };
        let duty_max = read(Some(p.duty_max));
        let drive = Drive {
            k,
            r: read(Some(p.winding_resistance)),
            r_leads,
            temperature,
            reactance: 2.0 * pole_inductance,
            r_ctrl,
            c0: c0 + seal,
            c1,
            c2,
            idle,
            switching,
            duty_max,
            motor_current_max: read(Some(p.motor_current_max)),
            battery_current_max: read(Some(p.battery_current_max)),
            voltage_min: read(Some(p.voltage_min)),
            shaft_speed_max: read(Some(p.shaft_speed_max)),
            diameter: read(p.diameter),
            rho: read(p.density),
            throttle_sets: if duty_half < 0.75 * duty_max {
                ThrottleSets::Duty
            } else {
                ThrottleSets::Current
            },
        };
        let numbers = [
            ("torque constant", drive.k),
            ("winding resistance", drive.r),
            ("loss torque", drive.c0 + drive.c1 + drive.c2),
            ("propeller diameter", drive.diameter),
            ("water density", drive.rho),
            ("greatest motor current", drive.motor_current_max),
        ];
        match numbers.into_iter().find(|(_, x)| !(x.is_finite() && *x >= 0.0)) {
            None => Ok(drive),
            Some((what, x)) => {
                let error = Diagnostic::error(format!("the {what} of this drive is {x}"));
                Err(error.help("readings cannot be reduced without it").into())
            }
        }
    }
}
