//! A propeller of the Wageningen B-series.

use engine::model::Declare;
use engine::part::Part;
use engine::quantity::Kind;
use engine::setup::{Invalid, Params};
use engine::units::{LENGTH, NUMBER};
use std::f64::consts::TAU;

use super::b_series::{self, BSeries};
use super::cavitation as section;
use super::cut::{Cut, Equivalent};
use super::installation::{Installation, SPEED_OF_ADVANCE};
use super::open_water::{Blades, OpenWaterError};
use crate::nomenclature::{SHAFT_SPEED, WATER_VISCOSITY};

/// Re.
pub const REYNOLDS_NUMBER: Kind =
    Kind::single("reynolds_number", "1", "Reynolds number of the blade section at 0.7 R");

const SOURCE: &str = "Oosterveld and van Oossanen 1975: range of the series";

pub(super) fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let diameter = p.value("diameter", LENGTH, "diameter D").within(0.03, 1.0).usual(0.10, 0.25).required();
    let pitch_ratio =
        p.value("pitch_ratio", NUMBER, "pitch ratio P/D").within(0.5, 1.4).source(SOURCE).required();
    let area_ratio = p
        .value("area_ratio", NUMBER, "expanded blade area ratio A_E/A_0")
        .within(0.30, 1.05)
        .source(SOURCE)
        .required();
    let blades = p.count("blades", "number of blades Z").within(2, 7).source(SOURCE).or(3);
    let cut = Cut::read(p);
    let installation = Installation::read(p);
    let series = BSeries { blades, area_ratio, pitch_ratio };
    p.part(|| {
        let whole = PropellerSeries::new(diameter, series, installation);
        if cut.is_none() {
            return Ok(whole);
        }
        let blade = series.blade(diameter).map_err(|error| Invalid::part(format!("its blade {error}")))?;
        PropellerSeries::of_blade(cut.equivalent(&blade, area_ratio)?, installation)
            .map_err(|error| Invalid::at("removed", format!("the cut {error}")).help("take less off"))
    })
}

/// A propeller of the series, or one that the series stands for.
pub(super) struct PropellerSeries {
    diameter: f64,
    series: BSeries,
    installation: Installation,
    thrust_factor: f64,
    torque_factor: f64,
    advice: Vec<String>,
}

impl PropellerSeries {
    fn new(diameter: f64, series: BSeries, installation: Installation) -> PropellerSeries {
        let (thrust_factor, torque_factor) = (1.0, 1.0);
        PropellerSeries { diameter, series, installation, thrust_factor, torque_factor, advice: Vec::new() }
    }

    /// A blade that is not of the series. Outside its range the polynomials may describe no propeller.
    pub(super) fn of_blade(
        blade: Equivalent,
        installation: Installation,
    ) -> Result<PropellerSeries, OpenWaterError> {
        let Equivalent { diameter, series, thrust_factor, torque_factor, advice } = blade;
        series.open_water(diameter, installation.stopped_drag_coefficient).sound()?;
        Ok(PropellerSeries { diameter, series, installation, thrust_factor, torque_factor, advice })
    }
}

impl Part for PropellerSeries {
    fn declare(&self, m: &mut Declare) {
        let BSeries { blades, area_ratio, pitch_ratio } = self.series;
        self.advice.iter().for_each(|text| m.advise(text.clone()));
        if blades == 2 {
            m.advise(
                "the B-series is not to be trusted for two blades: charts differ by up to 0.03 in K_T and \
                 the computed efficiency is too high",
            );
        }
        if blades >= 5 && area_ratio < 0.375 && pitch_ratio > 1.3 {
            m.advise("corner of the B-series where K_T rises with J near J = 0, against all experience");
        }
        // at 60 rev/s in water of 20 °C, a fast board
        let chord = self.series.chord_ratio() * self.diameter;
        let fast = section::section_speed_squared(60.0, self.diameter, 0.0);
        let reynolds = section::reynolds_number(chord, fast, 1e-6);
        if reynolds < b_series::REYNOLDS_NUMBER {
            m.advise(format!(
                "the coefficients belong to a blade Reynolds number of 2e6; this propeller reaches {reynolds:.1e} \
                 at 60 rev/s, where the torque may be higher: nothing is corrected for it"
            ));
        }
        let diameter = self.diameter;
        m.equation("blade Reynolds number", |e| {
            let (omega, v_a, nu) =
                (e.reads(&SHAFT_SPEED), e.reads(&SPEED_OF_ADVANCE), e.reads(&WATER_VISCOSITY));
            let re = e.writes(&REYNOLDS_NUMBER);
            move |at| {
                let v2 = section::section_speed_squared(at[omega] / TAU, diameter, at[v_a]);
                at[re] = section::reynolds_number(chord, v2, at[nu]);
            }
        });

        let stopped_drag_coefficient = self.installation.stopped_drag_coefficient;
        let law = self.series.open_water(self.diameter, stopped_drag_coefficient);
        let law = law.scaled(self.thrust_factor, self.torque_factor);
        let shape = Blades { area_ratio, pitch_ratio, stopped_drag_coefficient };
        self.installation.declare(m, &law, shape, f64::from(blades));
    }
}
