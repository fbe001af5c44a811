//! The water: density, viscosity, vapour pressure, current.

pub mod properties;

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::setup::Params;
use engine::units::{FRACTION, SPEED, TEMPERATURE};

use crate::nomenclature::*;

/// Entry in the list of parts.
pub const PART: PartKind = PartKind {
    name: "water",
    about: "the water: density, viscosity and vapour pressure from temperature and salinity; current",
    read,
};

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let (coldest, warmest) = properties::TEMPERATURE_RANGE;
    let temperature = p
        .value("temperature", TEMPERATURE, "temperature of the water")
        .within(-2.0, 35.0)
        .usual(coldest, warmest)
        .source("ITTC 7.5-02-01-03: 0 to 30 °C")
        .or("15 °C");
    let salinity = p
        .value("salinity", FRACTION, "absolute salinity: 0 fresh, 35.165 ‰ standard sea water")
        .within(0.0, 0.045)
        .source("ITTC 7.5-02-01-03")
        .or("0 ‰");
    let current =
        p.value("current", SPEED, "speed of the water over ground, forward").within(-5.0, 5.0).or("0 m/s");
    p.part(|| Ok(Water { temperature, salinity: 1000.0 * salinity, current }))
}

/// Salinity in g/kg.
struct Water {
    temperature: f64,
    salinity: f64,
    current: f64,
}

impl Part for Water {
    fn declare(&self, m: &mut Declare) {
        let (t, s) = (self.temperature, self.salinity);
        m.constant(&WATER_TEMPERATURE, t);
        m.constant(&WATER_DENSITY, properties::density(t, s));
        m.constant(&WATER_VISCOSITY, properties::kinematic_viscosity(t, s));
        m.constant(&VAPOUR_PRESSURE, properties::vapour_pressure(t, s));
        m.input(&CURRENT, self.current).within(-5.0, 5.0);
    }
}
