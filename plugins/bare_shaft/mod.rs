//! No propeller on the shaft, as for a no-load sweep or a spin-down.

use engine::model::Declare;
use engine::part::{Part, PartKind};
use engine::setup::Params;

use crate::nomenclature::PROPELLER_TORQUE_LAW;

/// Entry in the list of parts.
pub const PART: PartKind = PartKind {
    name: "bare_shaft",
    about: "a shaft without a propeller, for no-load tests of the motor",
    read,
};

fn read(p: &mut Params) -> Option<Box<dyn Part>> {
    p.part(|| Ok(BareShaft))
}

struct BareShaft;

impl Part for BareShaft {
    fn declare(&self, m: &mut Declare) {
        m.law(&PROPELLER_TORQUE_LAW, |_| |_, _| 0.0);
        m.advise("a pod's seal that runs dry burns: keep no-load runs short, or wet, as its maker says");
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;
    use std::sync::Arc;

    use engine::profile::Profile;
    use engine::run::{Options, Run};
    use engine::setup::Setup;

    use crate::PARTS;

    fn bare(changes: &[(&str, &str)]) -> Run {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        let mut setup = Setup::load(root.join("scenarios/setups/demo_tub.yaml"), root).unwrap();
        setup.change("propeller", "{part: bare_shaft}", "test").unwrap();
        for (path, text) in changes {
            setup.change(path, *text, "test").unwrap();
        }
        Run::new(Arc::new(setup.model(PARTS).unwrap()), Options::default())
    }

    fn value(run: &mut Run, name: &str) -> f64 {
        let probe = run.model().find(name).unwrap();
        run.value(probe)
    }

    #[test]
    fn the_motor_takes_its_no_load_current_and_the_seals_share() {
        let mut run = bare(&[]);
        let throttle = run.model().find("controller.throttle").unwrap();
        *run.input(throttle).unwrap() = Profile::constant(0.6);
        let omega = value(&mut run, "shaft.shaft_speed");
        let (k, current) = (value(&mut run, "motor.torque_constant"), value(&mut run, "shaft.motor_current"));
        let kind = |n: u32| format!("motor.loss_torque_{n}");
        let [c0, c1, c2] = [0, 1, 2].map(|n| value(&mut run, &kind(n)));
        // the seal's 0.05 N·m is the demo's default; all torque is loss, to round-off of the root
        let lost = c0 + c1 * omega + c2 * omega * omega + 0.05;
        assert!((k * current / lost - 1.0).abs() < 1e-9, "{} {lost}", k * current);
        assert!(omega > 300.0);
    }

    #[test]
    fn a_coasting_shaft_slows_by_its_losses() {
        let mut run = bare(&[("shaft.inertia", "5 kg·cm²")]);
        let speed = run.model().find("shaft.shaft_speed").unwrap();
        run.place(speed, 300.0);
        let kind = |n: u32| format!("motor.loss_torque_{n}");
        let [c0, c1, c2] = [0, 1, 2].map(|n| value(&mut run, &kind(n)));
        let lost = c0 + 0.05 + (c1 + c2 * 300.0) * 300.0;
        // over a thousandth of the way the torque is as good as constant
        let t = 1e-3 * 5e-4 * 300.0 / lost;
        run.advance(t, &[]).unwrap();
        let slower = 300.0 - run.value(speed);
        assert!((slower / (lost * t / 5e-4) - 1.0).abs() < 2e-3, "{slower}");
    }
}
