//! A craft at rest floats: weight, buoyancy, trim and draught, before anything moves.

use engine::model::Model;
use engine::run::{Options, Run, Sampler};
use std::sync::Arc;

use crate::craft::{find, model};

/// g, as in the statement of the kilogram-force (3rd CGPM, 1901).
const G: f64 = 9.80665;

/// The craft as it floats before a run begins.
struct Afloat {
    run: Run,
}

impl Afloat {
    fn new(model: &Arc<Model>) -> Afloat {
        let mut run = Run::new(model.clone(), Options::default());
        // the record begins with the balance found
        run.advance(1e-3, &[]).expect("a craft that floats");
        Afloat { run }
    }

    fn get(&self, name: &str) -> f64 {
        let model = self.run.model();
        let mut sampler = Sampler::new(model, self.run.trajectory());
        sampler.go(0.0);
        sampler.value(find(model, name))
    }

    /// Sum of all contributions to a force or moment.
    fn sum(&self, kind: &str) -> f64 {
        let model = self.run.model();
        let mut sampler = Sampler::new(model, self.run.trajectory());
        sampler.go(0.0);
        model.contributions(kind).into_iter().map(|p| sampler.value(p)).sum()
    }
}

/// Water under the craft's wings, mast and pod, all of them immersed, m³.
///
/// By hand from their measures in the setup: sections enclose 0.685 c t, a wing b c of them, the pod
/// 0.7 of its cylinder. The wings' thickness ratio is the part's default, 12 %.
fn appendages() -> f64 {
    let wing = |span: f64, area: f64| 0.685 * 0.12 * (area / span) * area;
    let mast = 0.685 * 0.125 * 0.016 * 0.700;
    let pod = |d: f64, l: f64| 0.7 * 0.25 * std::f64::consts::PI * d * d * l;
    wing(0.950, 0.1450) + wing(0.420, 0.0290) + mast + pod(0.075, 0.260) + pod(0.030, 0.720)
}

/// Masses of the craft in its setup files, rider and propeller (200 g by default) included, kg.
fn mass(rider: f64) -> f64 {
    let drive = 8.4 + 0.6 + 1.9 + 0.2;
    let structure = 9.5 + 2.1 + 1.6 + 0.4 + 0.2 + 0.7;
    drive + structure + rider
}

#[test]
fn weight_equals_buoyancy() {
    let riders = ["50 kg", "78 kg", "90 kg"];
    let trims = ["2 deg", "4 deg", "6 deg"];
    // 18 °C, fresh and standard sea water: densities printed in ITTC 7.5-02-01-03
    // (tests/reference/water/properties.csv)
    let waters = [("0 ‰", 998.5986), ("35.165 ‰", 1025.3210)];
    let mut draught = Vec::new();
    for (rider, kg) in riders.into_iter().zip([50.0, 78.0, 90.0]) {
        for trim in trims {
            for (salinity, rho) in waters {
                let case = format!("{rider}, {trim}, {salinity}");
                let changes = [("rider.mass", rider), ("rider.trim", trim), ("water.salinity", salinity)];
                let model = model("board.yaml", &changes);
                let afloat = Afloat::new(&model);

                // The balance is sought until heave changes by less than 1e-6 of its usual 0.3 m/s in a
                // second; with at most 500 kg of craft and added mass that leaves 1.5e-4 N.
                for force in ["surge_force", "heave_force"] {
                    let rest = afloat.sum(force);
                    assert!(rest.abs() < 1.5e-4, "{case}: {force} {rest} N");
                }
                // likewise 1e-6 of 0.3 rad/s in a second, times at most 200 kg·m²
                let moment = afloat.sum("pitch_moment");
                assert!(moment.abs() < 6e-5, "{case}: {moment} N·m");

                // mass by hand; round-off of a dozen terms
                let weight = mass(kg) * G;
                assert!((afloat.get("motion.heave_force") - weight).abs() < 1e-9, "{case}");
                // What the board carries by Archimedes. The density in use agrees with the printed one to
                // its last digit (1e-4 kg/m³, tests/val/water.rs): 5e-6 N of the 50 N under wings, mast
                // and pod. The rest is what the balance leaves over, as above.
                let by_hand = weight - rho * G * appendages();
                let carried = afloat.get("board.board_load");
                assert!((carried - by_hand).abs() < 2e-4, "{case}: {carried} N, by hand {by_hand} N");
                draught.push(afloat.get("motion.cg_depth") - afloat.get("motion.cg_below"));
            }
        }
    }
    // six cases per rider: each heavier rider sits deeper, sea water carries higher
    for (light, heavy) in draught[..12].iter().zip(&draught[6..]) {
        assert!(heavy > light);
    }
    for pair in draught.chunks(2) {
        assert!(pair[1] < pair[0]);
    }
}

#[test]
fn a_level_box_sits_as_deep_as_its_weight_over_its_plan_area() {
    for (rider, kg) in [("55 kg", 55.0), ("78 kg", 78.0), ("95 kg", 95.0)] {
        // a box 1.65 m × 0.68 m × 0.16 m, held level by the rider
        let model = model(
            "board.yaml",
            &[
                ("board.outline", "square"),
                ("board.nose_length", "0 mm"),
                ("board.nose_rise", "0 mm"),
                ("board.volume", "179.52 L"),
                ("rider.mass", rider),
                ("rider.trim", "0 deg"),
                ("rider.forward", "900 mm"),
            ],
        );
        let afloat = Afloat::new(&model);
        let pitch = afloat.get("motion.pitch");
        // 1e-6 of 0.3 rad/s per second over the rider's stiffness of 36 1/s²
        assert!(pitch.abs() < 1e-8, "{rider}: pitch {pitch} rad");
        assert!(afloat.get("rider.reach_used") < 0.9, "{rider}: not held by the rider alone");
        // depth of the bottom, T = (m/ρ − ∇ of wings, mast and pod)/(L b)
        let rho = 998.5986;
        let by_hand = (mass(kg) / rho - appendages()) / (1.65 * 0.68);
        let draught = afloat.get("motion.cg_depth") - afloat.get("motion.cg_below");
        // ρ to 1e-7 of 90 mm, and the balance to 1.5e-4 N on 11 kN/m: together 3e-8 m
        assert!((draught - by_hand).abs() < 3e-8, "{rider}: {draught} m, by hand {by_hand} m");
    }
}
