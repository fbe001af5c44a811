//! The air: density, pressure, wind.

pub mod density;

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::setup::Params;
use engine::units::{PRESSURE, SPEED, TEMPERATURE};

use crate::nomenclature::*;

/// Entry in the list of parts.
pub const PART: PartKind =
    PartKind { name: "air", about: "the air: density from temperature and pressure; head wind", read };

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let temperature = p
        .value("temperature", TEMPERATURE, "temperature of the air")
        .within(-40.0, 50.0)
        .source("ISO 2533:1975")
        .or("15 °C");
    let pressure = p
        .value("pressure", PRESSURE, "atmospheric pressure at the surface of the water")
        .within(5e4, 1.1e5)
        .source("ISO 2533:1975")
        .or("101325 Pa");
    let head_wind = p
        .value("head_wind", SPEED, "wind over ground against the direction of travel")
        .within(-30.0, 30.0)
        .or("0 m/s");
    p.part(|| Ok(Air { temperature, pressure, head_wind }))
}

struct Air {
    temperature: f64,
    pressure: f64,
    head_wind: f64,
}

impl Part for Air {
    fn declare(&self, m: &mut Declare) {
        m.constant(&AIR_TEMPERATURE, self.temperature);
        m.constant(&AIR_PRESSURE, self.pressure);
        m.constant(&AIR_DENSITY, density::density(self.temperature, self.pressure));
        m.input(&HEAD_WIND, self.head_wind).within(-30.0, 30.0);
    }
}
