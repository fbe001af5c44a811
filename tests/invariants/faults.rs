//! A wrong sign or factor anywhere between the cells and the water shows in the ledger.
//!
//! [`engine::model::Model::with_fault`] multiplies a quantity as soon as it is written, so that all
//! who read it see the wrong value. The ledger can only tell where a quantity has two uses that part
//! company: a rate and the store it fills, a force and the power it takes, a current on both sides
//! of a converter. A wrong density of the water or a wrong resistance of the winding is another
//! world with its own true books; [`a_consistent_change_does_not_show`] says so.

use std::sync::Arc;

use rayon::prelude::*;

use crate::books::books;
use crate::craft::{Deed, OPENING, find, finish, model, planned};

/// Faults in sign or size: quantity, factor, what it stands for.
const FAULTS: &[(&str, f64, &str)] = &[
    ("battery.energy_source.chemical", 1.01, "chemical power"),
    ("battery.battery_emf", 1.01, "open-circuit voltage at the terminals, not in the cells"),
    ("battery.energy_sink.ohmic", -1.0, "heat of the cells"),
    ("battery.fast_polarisation.rate", 1.5, "charging of the RC pair"),
    ("battery.energy_store.slow polarisation", -1.0, "charge of the slow RC pair"),
    ("shaft.battery_current", 1.01, "battery current, seen by battery and leads only"),
    ("wiring.energy_sink.motor leads", 0.5, "heat of the motor leads"),
    ("shaft.bus_voltage", 0.8, "voltage at the controller, which its switching loss reads"),
    ("controller.energy_sink.idle", -1.0, "what the controller takes at rest"),
    ("shaft.motor_current", 1.02, "motor current, seen by the losses, not by the shaft"),
    ("motor.energy_sink.copper", 1.1, "copper loss"),
    ("motor.torque_constant", 1.01, "torque constant, in the shaft but not in the loss torque"),
    ("motor.loss_torque_1", 1.2, "eddy currents at the shaft, not in the iron loss"),
    ("shaft.energy_sink.seal", -1.0, "friction of the seal"),
    ("shaft.shaft_speed", 1.01, "speed of the propeller, not of the motor"),
    ("propeller.energy_sink.slip", 0.99, "slip of the propeller"),
    ("propeller.energy_sink.wake_and_thrust_deduction", -1.0, "what wake and thrust deduction take"),
    ("propeller.surge_force", 1.01, "thrust"),
    ("propeller.pitch_moment", -1.0, "lever of the thrust"),
    ("board.surge_force.friction", 1.01, "skin friction"),
    ("board.surge_force.waves", -1.0, "wave resistance"),
    ("board.heave_force.buoyancy", 1.01, "buoyancy"),
    ("board.heave_force.planing lift", 0.95, "planing lift"),
    ("board.added_heave_mass_rate", -1.0, "rate of the board's added mass"),
    ("board.added_heave_pitch_rate", -1.0, "rate of the coupling by added mass"),
    ("mast.surge_force", 1.01, "drag of the mast"),
    ("mast.energy_sink.spray", 2.0, "spray of the mast"),
    ("pod.surge_force", -1.0, "drag of the pod"),
    ("front_wing.surge_force", 1.01, "drag of the wing"),
    ("front_wing.heave_force", 0.99, "lift of the wing"),
    ("front_wing.energy_sink.induced", 1.01, "induced drag"),
    ("front_wing.pitch_moment", 0.99, "moment of the wing"),
    ("stabiliser.energy_sink.downwash", -1.0, "lift tilted by the downwash ahead"),
    ("rider.pitch_moment", 1.01, "moment of the rider, not his work"),
    ("rider.energy_source.work", -1.0, "work of the rider"),
    ("rider.surge_force", 1.05, "air drag"),
    ("motion.heave_force", 1.001, "weight, not potential energy"),
    ("motion.energy_store.kinetic", 1.01, "kinetic energy"),
    ("motion.energy_store.potential", -1.0, "potential energy"),
    ("motion.cg_depth.rate", 1.01, "heave, not heave speed"),
];

/// What an error must come to beside the clean run to count as found.
const FOUND: f64 = 10.0;

/// The take-off with some wind and current, so that every entry has something to say.
const DEEDS: &[Deed] = &[OPENING, ("air.head_wind", 0.0, 0.0, 4.0), ("water.current", 0.0, 0.0, 0.3)];

fn error(model: Arc<engine::model::Model>, tolerance: f64) -> f64 {
    let mut run = planned(&model, tolerance, DEEDS);
    finish(&mut run, 12.0).expect("a run to its end");
    books(&run).error()
}

#[test]
fn every_fault_shows() {
    let sound = model("board.yaml", &[]);
    let clean = [1e-6, 1e-9].map(|tolerance| error(sound.clone(), tolerance));
    println!("clean {clean:?}");
    let told: Vec<String> = FAULTS
        .par_iter()
        .filter_map(|&(name, factor, what)| {
            let faulty = Arc::new(sound.with_fault(find(&sound, name), factor));
            let [loose, tight] = [1e-6, 1e-9].map(|tolerance| error(faulty.clone(), tolerance));
            println!("{name} × {factor}: {loose:.2e} {tight:.2e}");
            // An error of the integration shrinks a thousandfold with the tolerance; a fault stays.
            // Within 5 %, for some faults end in another flight.
            let stays = (loose / tight - 1.0).abs() < 0.05;
            let found = loose > FOUND * clean[0] && tight > FOUND * clean[1];
            (!(stays && found)).then(|| format!("{name} × {factor} ({what}): {loose:.2e}, {tight:.2e}"))
        })
        .collect();
    assert!(told.is_empty(), "not found beside {clean:?}:\n{}", told.join("\n"));
}

#[test]
fn a_consistent_change_does_not_show() {
    let sound = model("board.yaml", &[]);
    for name in [
        "water.water_density",
        "motor.winding_resistance",
        "battery.battery_resistance",
        "front_wing.downwash",
    ] {
        let other = Arc::new(sound.with_fault(find(&sound, name), 1.05));
        let error = error(other, 1e-9);
        println!("{name} {error:.2e}");
        // as tight as the ledger closes at this tolerance
        assert!(error < 1e-8, "{name}: {error:.2e}");
    }
}
