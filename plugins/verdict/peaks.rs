//! Extreme values of the quantities a maker watches.

use engine::model::{Model, Probe};
use engine::quantity::Kind;
use engine::run::Sampler;

use crate::nomenclature::*;

/// Kinds whose extremes are told, and whether it is the lowest that matters.
const EXTREMES: &[(&Kind, bool)] = &[
    (&MOTOR_CURRENT, false),
    (&BATTERY_CURRENT, false),
    (&BUS_VOLTAGE, true),
    (&DUTY, false),
    (&SHAFT_SPEED, false),
    (&THRUST, false),
    (&WINDING_TEMPERATURE, false),
    (&CASE_TEMPERATURE, false),
    (&CONTROLLER_TEMPERATURE, false),
    (&CELL_TEMPERATURE, false),
    (&SURGE_SPEED, false),
    (&PITCH, false),
];

/// An extreme value of a quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Peak {
    /// Kind, with its instance where there are several.
    pub quantity: String,
    pub unit: &'static str,
    pub lowest: bool,
    pub value: f64,
    pub time: f64,
}

/// Unit in which a person reads a quantity, with the factor from SI.
fn shown_unit(unit: &'static str) -> (&'static str, f64) {
    match unit {
        "rad/s" => ("rpm", 60.0 / std::f64::consts::TAU),
        "rad" => ("deg", 180.0 / std::f64::consts::PI),
        other => (other, 1.0),
    }
}

impl Peak {
    /// Value in the unit a person reads.
    pub fn shown(&self) -> f64 {
        self.value * shown_unit(self.unit).1
    }

    /// The unit a person reads.
    pub fn shown_unit(&self) -> &'static str {
        shown_unit(self.unit).0
    }

    /// `motor_current_A`, `bus_voltage_lowest_V`.
    pub fn key(&self) -> String {
        let unit = match self.shown_unit() {
            "1" => String::new(),
            "m/s" => "_m_s".into(),
            other => format!("_{}", other.replace(['/', '.'], "_")),
        };
        let lowest = if self.lowest { "_lowest" } else { "" };
        format!("{}{lowest}{unit}", self.quantity)
    }
}

/// Looks on and keeps the extremes.
pub struct Peaks {
    watched: Vec<(Probe, bool)>,
    best: Vec<Option<(f64, f64)>>,
}

impl Peaks {
    pub fn new(model: &Model) -> Peaks {
        let each = |&(kind, lowest): &(&Kind, bool)| {
            model.providers(kind.name).into_iter().map(move |probe| (probe, lowest))
        };
        let watched: Vec<(Probe, bool)> = EXTREMES.iter().flat_map(each).collect();
        Peaks { best: vec![None; watched.len()], watched }
    }

    pub fn look(&mut self, t: f64, s: &Sampler) {
        for ((probe, lowest), best) in self.watched.iter().zip(&mut self.best) {
            let value = s.value(*probe);
            if best.is_none_or(|(so_far, _)| if *lowest { value < so_far } else { value > so_far }) {
                *best = Some((value, t));
            }
        }
    }

    pub fn found(self, model: &Model) -> Vec<Peak> {
        let kind_of = |probe: Probe| model.name(probe).split_once('.').map_or("", |(_, kind)| kind);
        let peak = |(&(probe, lowest), best): (&(Probe, bool), &Option<(f64, f64)>)| {
            let (value, time) = (*best)?;
            let (name, kind) = (model.name(probe), kind_of(probe));
            let several = self.watched.iter().filter(|(p, _)| kind_of(*p) == kind).count() > 1;
            let quantity = if several { name.replace('.', "_") } else { kind.to_string() };
            Some(Peak { quantity, unit: model.unit(probe), lowest, value, time })
        };
        self.watched.iter().zip(&self.best).filter_map(peak).collect()
    }
}
