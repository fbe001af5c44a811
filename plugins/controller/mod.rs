//! A motor controller: throttle, limits, losses and temperature.

pub mod limits;
mod parameters;

use engine::model::Declare;
use engine::part::{Part, PartKind};

use self::limits::{FoldBack, Losses, heating_rate, held_margin, margin};
use crate::handbook::mass::{self, Mass};
use crate::nomenclature::*;

/// Entry in the list of parts.
pub const PART: PartKind = PartKind {
    name: "controller",
    about: "motor controller: throttle, current, voltage, speed and temperature limits, losses",
    read: parameters::read,
};

/// What the throttle sets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Throttle {
    /// A fraction of the greatest duty: a speed.
    Duty,
    /// A fraction of the greatest motor current: a torque.
    Current,
}

/// A controller.
struct Controller {
    throttle: f64,
    throttle_sets: Throttle,
    duty: f64,
    motor_current: f64,
    battery_current: f64,
    voltage_min: f64,
    speed: f64,
    losses: Losses,
    own_heat: FoldBack,
    motor_heat: FoldBack,
    heat_capacity: f64,
    to_surroundings: f64,
    cooled_by_water: bool,
    start_temperature: f64,
    body: Mass,
}

impl Part for Controller {
    fn declare(&self, m: &mut Declare) {
        mass::place(m, self.body);
        m.input(&THROTTLE, self.throttle).within(0.0, 1.0);
        m.constant(&BATTERY_CURRENT_MAX, self.battery_current);
        m.constant(&VOLTAGE_MIN, self.voltage_min);
        m.constant(&SHAFT_SPEED_MAX, self.speed);
        m.constant(&CONTROLLER_IDLE_POWER, self.losses.idle);
        m.constant(&CONTROLLER_RESISTANCE, self.losses.resistance);
        m.constant(&CONTROLLER_SWITCHING, self.losses.switching);
        m.state(&CONTROLLER_TEMPERATURE, self.start_temperature, 30.0).within(-40.0, 200.0);
        self.allowed(m);
        self.margins(m);
        self.heat(m);
        m.watch(&THROTTLE, 0.0, 1.0, "a throttle below 0 or above 1 acts as 0 or 1");
        m.watch(&CONTROLLER_TEMPERATURE, -20.0, 110.0, "switches and capacitors end near 110 °C");
    }
}

impl Controller {
    /// What throttle and temperatures leave of duty and motor current.
    fn allowed(&self, m: &mut Declare) {
        let (duty, current, sets) = (self.duty, self.motor_current, self.throttle_sets);
        let (own_heat, motor_heat) = (self.own_heat, self.motor_heat);
        m.equation("what is allowed", |e| {
            let throttle = e.reads(&THROTTLE);
            let (own, winding) = (e.reads(&CONTROLLER_TEMPERATURE), e.reads_or(&WINDING_TEMPERATURE, 20.0));
            let (duty_max, current_max) = (e.writes(&DUTY_MAX), e.writes(&MOTOR_CURRENT_MAX));
            move |at| {
                let position = at[throttle].clamp(0.0, 1.0);
                let (by_duty, by_current) = match sets {
                    Throttle::Duty => (position, 1.0),
                    Throttle::Current => (1.0, position),
                };
                at[duty_max] = duty * by_duty;
                at[current_max] =
                    current * by_current.min(own_heat.factor(at[own])).min(motor_heat.factor(at[winding]));
            }
        });
    }

    /// How far each of the limits is from binding.
    fn margins(&self, m: &mut Declare) {
        let (duty_max, current_max, sets) = (self.duty, self.motor_current, self.throttle_sets);
        let (battery_max, v_min, speed_max) = (self.battery_current, self.voltage_min, self.speed);
        let (own_heat, motor_heat) = (self.own_heat, self.motor_heat);
        m.equation("margins", |e| {
            let throttle = e.reads(&THROTTLE);
            let (own, winding) = (e.reads(&CONTROLLER_TEMPERATURE), e.reads_or(&WINDING_TEMPERATURE, 20.0));
            let (duty, i_m, omega) = (e.reads(&DUTY), e.reads(&MOTOR_CURRENT), e.reads(&SHAFT_SPEED));
            let (i_b, v_b) = (e.reads(&BATTERY_CURRENT), e.reads(&BUS_VOLTAGE));
            let out = [
                e.adds_as(&LIMIT_MARGIN, "duty"),
                e.adds_as(&LIMIT_MARGIN, "throttle"),
                e.adds_as(&LIMIT_MARGIN, "motor current"),
                e.adds_as(&LIMIT_MARGIN, "motor temperature"),
                e.adds_as(&LIMIT_MARGIN, "controller temperature"),
                e.adds_as(&LIMIT_MARGIN, "battery current"),
                e.adds_as(&LIMIT_MARGIN, "under-voltage"),
                e.adds_as(&LIMIT_MARGIN, "shaft speed"),
            ];
            move |at| {
                let (duty, current) = (at[duty] / duty_max, at[i_m] / current_max);
                let position = at[throttle].clamp(0.0, 1.0);
                let margins = [
                    duty - 1.0,
                    held_margin(if sets == Throttle::Duty { duty } else { current }, position),
                    current - 1.0,
                    held_margin(current, motor_heat.factor(at[winding])),
                    held_margin(current, own_heat.factor(at[own])),
                    margin(at[i_b], battery_max),
                    // a battery that is not there at all is not this limit's doing
                    if v_min > 0.0 && at[v_b] > 0.0 { 1.0 - at[v_b] / v_min } else { -1.0 },
                    margin(at[omega], speed_max),
                ];
                for (place, value) in out.into_iter().zip(margins) {
                    at[place] = value;
                }
            }
        });
    }

    /// Losses into the ledger and into the controller's own heat.
    fn heat(&self, m: &mut Declare) {
        let (losses, capacity, resistance) = (self.losses, self.heat_capacity, self.to_surroundings);
        let around = if self.cooled_by_water { &WATER_TEMPERATURE } else { &AIR_TEMPERATURE };
        m.equation("losses", |e| {
            let (i_m, i_b, v_b) = (e.reads(&MOTOR_CURRENT), e.reads(&BATTERY_CURRENT), e.reads(&BUS_VOLTAGE));
            let (own, around) = (e.reads(&CONTROLLER_TEMPERATURE), e.reads(around));
            let sinks = [
                e.adds_as(&ENERGY_SINK, "idle"),
                e.adds_as(&ENERGY_SINK, "conduction"),
                e.adds_as(&ENERGY_SINK, "switching"),
            ];
            let rate = e.rate_of(&CONTROLLER_TEMPERATURE);
            move |at| {
                // without a battery nothing idles
                let idle = if at[i_b] > 0.0 { losses.idle } else { 0.0 };
                let (conduction, switching) =
                    (losses.conduction(at[i_m]), losses.commutation(at[v_b], at[i_m]));
                at[sinks[0]] = idle;
                at[sinks[1]] = conduction;
                at[sinks[2]] = switching;
                let power = idle + conduction + switching;
                at[rate] = heating_rate(at[own], at[around], power, resistance, capacity);
            }
        });
    }
}
