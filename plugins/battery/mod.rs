//! A battery of lithium-ion cells with its own over-current protection.

pub mod cell;
pub mod nmc_chen2020;
pub mod pack;
mod parameters;
pub mod protection;

use engine::model::{Declare, Then, Trigger};
use engine::part::{Part, PartKind};
use engine::quantity::Kind;
use std::sync::Arc;

use self::cell::{Cell, charge_rate, pair_rate};
use self::pack::Pack;
use self::protection::OverCurrent;
use crate::handbook::mass::{self, Mass};
use crate::nomenclature::*;

/// Entry in the list of parts.
pub const PART: PartKind = PartKind {
    name: "battery",
    about: "lithium-ion pack: open-circuit voltage, resistance, two time constants, heat, protection",
    read: parameters::read,
};

/// v₁ of one cell.
pub const FAST_POLARISATION: Kind =
    Kind::single("fast_polarisation", "V", "voltage of the fast pair, one cell");
/// v₂ of one cell.
pub const SLOW_POLARISATION: Kind =
    Kind::single("slow_polarisation", "V", "voltage of the slow pair, one cell");
/// Timer of the protection.
pub const TRIP_TIMER: Kind = Kind::single("trip_timer", "s", "time spent above the trip current");
/// OCV of one cell.
pub const OPEN_CIRCUIT_VOLTAGE: Kind =
    Kind::single("open_circuit_voltage", "V", "open-circuit voltage of one cell at its state of charge");
/// R₀ of one cell.
pub const CELL_RESISTANCE: Kind =
    Kind::single("cell_resistance", "ohm", "R₀ of one cell at its state of charge and temperature");
/// What temperature does to the resistances.
pub const RESISTANCE_FACTOR: Kind =
    Kind::single("resistance_factor", "1", "resistances of the cells over those at 25 °C");
/// Power at the terminals.
pub const TERMINAL_POWER: Kind = Kind::single("terminal_power", "W", "power at the pack's terminals");
/// Voltage at the terminals.
pub const TERMINAL_VOLTAGE: Kind = Kind::single("terminal_voltage", "V", "voltage at the pack's terminals");

/// I of one cell.
pub const CELL_CURRENT: Kind = Kind::single("cell_current", "A", "current of one cell, discharge positive");

/// A pack of equal cells.
struct Battery {
    cell: Arc<Cell>,
    pack: Pack,
    state_of_charge: f64,
    temperature: f64,
    /// Current of one cell up to which its data are known to hold [A].
    data_up_to: f64,
    /// Heat capacity of all cells [J/K].
    heat_capacity: f64,
    /// Thermal resistance from the cells to the air [K/W].
    to_air: f64,
    trip: Option<OverCurrent>,
    body: Mass,
}

impl Part for Battery {
    fn declare(&self, m: &mut Declare) {
        mass::place(m, self.body);
        m.state(&STATE_OF_CHARGE, self.state_of_charge, 1.0).within(0.0, 1.0);
        m.state(&FAST_POLARISATION, 0.0, 0.1).within(-5.0, 5.0);
        m.state(&SLOW_POLARISATION, 0.0, 0.1).within(-5.0, 5.0);
        m.state(&CELL_TEMPERATURE, self.temperature, 30.0).within(-40.0, 200.0);
        m.state(&ENERGY_DRAWN, 0.0, 1e4).within(-1e9, 1e9);
        self.source(m);
        self.flow(m);
        self.ledger(m);
        if let Some(trip) = self.trip {
            protection(m, trip);
        }
        m.watch(
            &STATE_OF_CHARGE,
            0.05,
            1.0,
            "below 5 % the cell's data do not hold; above 100 % it is overcharged",
        );
        m.watch(
            &CELL_CURRENT,
            -self.data_up_to,
            self.data_up_to,
            "beyond the currents that the cell's data come from it may sag far more and give less charge than is told",
        );
        m.watch(
            &CELL_TEMPERATURE,
            15.0,
            60.0,
            "cold cells give less charge than is told (some 24 % less at 10 °C and 1C); they are rated for 0 to 60 °C",
        );
    }
}

impl Battery {
    /// The Thévenin pair that the shaft sees; functions of states only.
    fn source(&self, m: &mut Declare) {
        let (cell, pack) = (self.cell.clone(), self.pack);
        m.equation("source", |e| {
            let (s, t) = (e.reads(&STATE_OF_CHARGE), e.reads(&CELL_TEMPERATURE));
            let (v1, v2) = (e.reads(&FAST_POLARISATION), e.reads(&SLOW_POLARISATION));
            let (emf, resistance) = (e.writes(&BATTERY_EMF), e.writes(&BATTERY_RESISTANCE));
            let (ocv, r0) = (e.writes(&OPEN_CIRCUIT_VOLTAGE), e.writes(&CELL_RESISTANCE));
            let factor = e.writes(&RESISTANCE_FACTOR);
            move |at| {
                at[ocv] = cell.ocv(at[s]);
                at[factor] = cell.temperature_factor(at[t]);
                at[r0] = cell.r0(at[s]) * at[factor];
                at[emf] = pack.source_voltage(at[ocv], at[v1], at[v2]);
                at[resistance] = pack.source_resistance(at[r0]);
            }
        });
    }

    /// Rates of charge, polarisation and temperature, once the current is known.
    fn flow(&self, m: &mut Declare) {
        let (cell, pack) = (self.cell.clone(), self.pack);
        let (start, heat_capacity, to_air) = (self.state_of_charge, self.heat_capacity, self.to_air);
        let charge = cell.capacity * pack.parallel;
        m.equation("charge and heat", |e| {
            let (s, t) = (e.reads(&STATE_OF_CHARGE), e.reads(&CELL_TEMPERATURE));
            let (v1, v2) = (e.reads(&FAST_POLARISATION), e.reads(&SLOW_POLARISATION));
            let (current, emf, resistance) =
                (e.reads(&BATTERY_CURRENT), e.reads(&BATTERY_EMF), e.reads(&BATTERY_RESISTANCE));
            let (air, r0, factor) =
                (e.reads(&AIR_TEMPERATURE), e.reads(&CELL_RESISTANCE), e.reads(&RESISTANCE_FACTOR));
            let (ds, d1, d2) =
                (e.rate_of(&STATE_OF_CHARGE), e.rate_of(&FAST_POLARISATION), e.rate_of(&SLOW_POLARISATION));
            let (dt, d_energy) = (e.rate_of(&CELL_TEMPERATURE), e.rate_of(&ENERGY_DRAWN));
            let (voltage, power, drawn) =
                (e.writes(&TERMINAL_VOLTAGE), e.writes(&TERMINAL_POWER), e.writes(&CHARGE_DRAWN));
            let of_cell = e.writes(&CELL_CURRENT);
            move |at| {
                let factor = at[factor];
                let i = pack.cell_current(at[current]);
                at[of_cell] = i;
                at[ds] = charge_rate(i, cell.capacity);
                at[d1] = pair_rate(at[v1], i, (factor * cell.fast.0, cell.fast.1));
                at[d2] = pair_rate(at[v2], i, (factor * cell.slow.0, cell.slow.1));
                at[voltage] = at[emf] - at[resistance] * at[current];
                at[power] = at[voltage] * at[current];
                at[d_energy] = at[power];
                at[drawn] = (start - at[s]) * charge;
                // what the cells turn into heat: OCV minus voltage, times current
                let in_cells = i * (i * at[r0] + at[v1] + at[v2]);
                at[dt] = (pack.total(in_cells) - (at[t] - at[air]) / to_air) / heat_capacity;
            }
        });
    }

    /// Chemical power in, each loss from its own formula, and what the pairs hold.
    fn ledger(&self, m: &mut Declare) {
        let (cell, pack) = (self.cell.clone(), self.pack);
        m.equation("energy", |e| {
            let (ocv, factor) = (e.reads(&OPEN_CIRCUIT_VOLTAGE), e.reads(&RESISTANCE_FACTOR));
            let (v1, v2) = (e.reads(&FAST_POLARISATION), e.reads(&SLOW_POLARISATION));
            let (current, resistance) = (e.reads(&BATTERY_CURRENT), e.reads(&BATTERY_RESISTANCE));
            let chemical = e.adds_as(&ENERGY_SOURCE, "chemical");
            let (ohmic, fast, slow) = (
                e.adds_as(&ENERGY_SINK, "ohmic"),
                e.adds_as(&ENERGY_SINK, "fast polarisation"),
                e.adds_as(&ENERGY_SINK, "slow polarisation"),
            );
            let (fast_store, slow_store) = (
                e.adds_as(&ENERGY_STORE, "fast polarisation"),
                e.adds_as(&ENERGY_STORE, "slow polarisation"),
            );
            move |at| {
                let factor = at[factor];
                let (v1, v2) = (at[v1], at[v2]);
                at[chemical] = pack.total(at[ocv] * pack.cell_current(at[current]));
                at[ohmic] = at[resistance] * at[current] * at[current];
                at[fast] = pack.total(v1 * v1 / (factor * cell.fast.0));
                at[slow] = pack.total(v2 * v2 / (factor * cell.slow.0));
                at[fast_store] = pack.total(0.5 * cell.fast.1 * v1 * v1);
                at[slow_store] = pack.total(0.5 * cell.slow.1 * v2 * v2);
            }
        });
    }
}

/// The pack opens after too long above the trip current, and stays open.
fn protection(m: &mut Declare, trip: OverCurrent) {
    m.mode(&TRIPPED, 0.0);
    m.state(&TRIP_TIMER, 0.0, 1.0).within(0.0, 600.0);
    m.equation("protection", |e| {
        let (current, timer, tripped) = (e.reads(&BATTERY_CURRENT), e.reads(&TRIP_TIMER), e.reads(&TRIPPED));
        let rate = e.rate_of(&TRIP_TIMER);
        let margin = e.adds_as(&LIMIT_MARGIN, "battery protection");
        move |at| {
            at[rate] = trip.timer_rate(at[current], at[timer]);
            at[margin] = if at[tripped] > 0.5 { 0.0 } else { at[timer] / trip.time - 1.0 };
        }
    });
    m.event("the battery's protection opens", |e| {
        let timer = e.reads(&TRIP_TIMER);
        let tripped = e.sets(&TRIPPED);
        Trigger::rising(
            move |at| at[timer] - trip.time,
            move |at| {
                at[tripped] = 1.0;
                Then::Go
            },
        )
    });
}
