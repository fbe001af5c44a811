//! A propeller given by its own K_T/K_Q table, open or in a nozzle.

use engine::model::Declare;
use engine::part::Part;
use engine::setup::{Invalid, Params};
use engine::units::{LENGTH, NUMBER};

use super::installation::Installation;
use super::open_water::{Blades, OpenWater};

pub(super) fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    let diameter = p.value("diameter", LENGTH, "diameter D").within(0.03, 1.0).usual(0.10, 0.25).required();
    let [j, k_t, k_q] = p
        .table(
            "open_water",
            &[("J", NUMBER), ("KT", NUMBER), ("KQ", NUMBER)],
            "thrust and torque coefficients K_T and K_Q (not 10 K_Q) over the advance ratio J, from J = 0",
        )
        .rows(3)
        .ascending()
        .required();
    let area_ratio = p
        .value("area_ratio", NUMBER, "expanded blade area ratio A_E/A_0, for windmilling and cavitation")
        .within(0.1, 1.5)
        .source("assumption: a common three-bladed propeller")
        .or("0.5");
    let pitch_ratio = p
        .value("pitch_ratio", NUMBER, "pitch ratio P/D; the J of zero thrust if left out")
        .within(0.3, 2.5)
        .optional();
    let blades = p.count("blades", "number of blades Z, for Keller's criterion").within(2, 7).or(3);
    let installation = Installation::read(p);
    p.part(|| {
        let stopped_drag_coefficient = installation.stopped_drag_coefficient;
        let law = |pitch_ratio: f64| {
            let shape = Blades { area_ratio, pitch_ratio, stopped_drag_coefficient };
            let law = OpenWater::from_table(diameter, &j, &k_t, &k_q, shape);
            law.map(|law| (law, shape)).map_err(|error| {
                Invalid::at("open_water", format!("the table {error}"))
                    .help("check the columns: K_Q is a tenth of the usual 10 K_Q curve")
            })
        };
        // a screw thrusts no more where it advances by about its pitch
        let (law, shape) = match pitch_ratio {
            Some(pitch_ratio) => law(pitch_ratio)?,
            None => {
                let zero_thrust = law(1.0)?.0.zero_thrust_advance_ratio();
                law(zero_thrust)?
            }
        };
        Ok(PropellerTable { law, shape, blades: f64::from(blades), installation })
    })
}

struct PropellerTable {
    law: OpenWater,
    shape: Blades,
    blades: f64,
    installation: Installation,
}

impl Part for PropellerTable {
    fn declare(&self, m: &mut Declare) {
        // a propeller of 0.2 or 0.9 is no propeller: most likely a slip of ten in K_Q
        let end = self.law.zero_thrust_advance_ratio();
        let best = (0..100).map(|i| self.law.efficiency(end * f64::from(i) / 100.0)).fold(0.0, f64::max);
        if !(0.2..0.9).contains(&best) {
            m.advise(format!(
                "the table gives a best open-water efficiency of {best:.2}, which is implausible: is the torque \
                 column K_Q, not 10 K_Q?"
            ));
        }
        self.installation.declare(m, &self.law, self.shape, self.blades);
    }
}
