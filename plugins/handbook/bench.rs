//! A bench for testing one part at a time: the motion and the shaft are held at given values.

use engine::model::{self, Declare, Model};
use engine::part::Part;
use engine::profile::Profile;
use engine::quantity::Kind;
use engine::run::{Options, Run};
use engine::setup::Setup;
use std::path::Path;
use std::sync::Arc;

use crate::PARTS;
use crate::nomenclature::*;

/// Torque that a drive would read from the propeller's law at the held shaft speed.
pub const TORQUE_BY_LAW: Kind = Kind::single("torque_by_law", "N.m", "torque by the published law");

/// A clock, so that there is something to integrate.
const CLOCK: Kind = Kind::single("clock", "s", "time on the bench");

/// Motion and shaft speed [SI] at which the part under test is evaluated.
#[derive(Debug, Clone, Copy)]
pub struct State {
    /// Surge speed.
    pub u: f64,
    /// Heave speed, down.
    pub w: f64,
    /// Pitch rate.
    pub q: f64,
    /// Pitch angle.
    pub pitch: f64,
    /// Depth of the CG.
    pub cg_depth: f64,
    /// Shaft speed, rad/s.
    pub omega: f64,
}

impl Default for State {
    /// At rest, level, the CG in the surface.
    fn default() -> State {
        State { u: 0.0, w: 0.0, q: 0.0, pitch: 0.0, cg_depth: 0.0, omega: 0.0 }
    }
}

/// Holds everything else; the CG lies 1 m forward of the tail and 0.4 m above the bottom.
struct Held {
    state: State,
    calls_law: bool,
}

/// Place of the CG forward of the tail [m].
pub const CG_FORWARD_HELD: f64 = 1.0;
/// Place of the CG below the board's bottom [m].
pub const CG_BELOW_HELD: f64 = -0.4;

impl Part for Held {
    fn declare(&self, m: &mut Declare) {
        let s = self.state;
        m.constant(&SURGE_SPEED, s.u);
        m.constant(&HEAVE_SPEED, s.w);
        m.constant(&PITCH_RATE, s.q);
        m.constant(&CG_DEPTH, s.cg_depth);
        m.constant(&SIN_PITCH, s.pitch.sin());
        m.constant(&COS_PITCH, s.pitch.cos());
        m.constant(&CG_FORWARD, CG_FORWARD_HELD);
        m.constant(&CG_BELOW, CG_BELOW_HELD);
        m.constant(&SHAFT_SPEED, s.omega);
        m.state(&CLOCK, 0.0, 1.0);
        m.equation("clock", |e| {
            let rate = e.rate_of(&CLOCK);
            move |at| at[rate] = 1.0
        });
        if self.calls_law {
            m.equation("call of the law", |e| {
                let (law, omega, torque) =
                    (e.calls(&PROPELLER_TORQUE_LAW), e.reads(&SHAFT_SPEED), e.writes(&TORQUE_BY_LAW));
                move |at| at[torque] = at.call(law, at[omega])
            });
        }
    }
}

/// Parts under test, wired and evaluated.
pub struct Bench {
    run: Run,
}

impl Bench {
    /// Wires the parts of a setup (the lines below `parts:`, indented by two) to the held ones.
    pub fn new(parts: &str, state: State) -> Bench {
        let text = format!("setup: 1\nparts:\n{parts}");
        let setup = Setup::from_text("bench", &text, Path::new(".")).expect("a setup");
        let calls_law = text.contains("propeller");
        let held: Arc<dyn Part> = Arc::new(Held { state, calls_law });
        let mut instances = vec![model::Instance { name: "held".into(), part: held, from: vec![] }];
        let parts = setup.read_parts(PARTS).expect("parts that can be read");
        instances.extend(parts.into_iter().map(model::Instance::from));
        let model = Model::build(instances).expect("a model");
        model.audit().expect("equations that touch only what they declare");
        let options = Options { settle: false, ..Options::default() };
        Bench { run: Run::new(Arc::new(model), options) }
    }

    /// Prescribes an input.
    pub fn with(mut self, name: &str, value: f64) -> Bench {
        let probe = self.run.model().find(name).expect("an input");
        *self.run.input(probe).expect("an input") = Profile::constant(value);
        // an input takes effect as soon as time goes on
        self.run.advance(1e-6, &[]).expect("a moment passes");
        self
    }

    /// A quantity by its full name.
    pub fn get(&mut self, name: &str) -> f64 {
        let probe = self.run.model().find(name).unwrap_or_else(|| panic!("no {name}"));
        self.run.value(probe)
    }

    /// Sum of all contributions to a kind.
    pub fn sum(&mut self, kind: &Kind) -> f64 {
        let probes = self.run.model().contributions(kind.name);
        probes.into_iter().map(|p| self.run.value(p)).sum()
    }

    /// Every quantity with its name, to look for one that is not finite.
    pub fn all(&mut self) -> Vec<(String, f64)> {
        let probes = self.run.model().quantities();
        probes.into_iter().map(|p| (self.run.model().name(p).to_owned(), self.run.value(p))).collect()
    }

    /// Power the forces give to the craft in a state.
    pub fn power(&mut self, s: State) -> f64 {
        self.sum(&SURGE_FORCE) * s.u + self.sum(&HEAVE_FORCE) * s.w + self.sum(&PITCH_MOMENT) * s.q
    }

    /// Ranges left while a moment passes, by name.
    pub fn warnings(&mut self) -> Vec<String> {
        self.run.advance(self.run.time() + 1e-6, &[]).expect("a moment passes");
        let left = self.run.warnings();
        left.into_iter().map(|w| self.run.model().name(w.quantity).to_owned()).collect()
    }

    /// What the parts advise.
    pub fn advice(&self) -> Vec<String> {
        self.run.model().advice().into_iter().map(|(_, text)| text.to_owned()).collect()
    }
}

/// States of every sort: still, ahead, astern, windmilling, bow up, sinking, half out of the water.
pub fn states() -> Vec<State> {
    let mut all = Vec::new();
    for u in [-2.0, 0.0, 4.0, 9.0] {
        for omega in [0.0, 1e-6, 60.0, 320.0] {
            for (w, q, pitch) in [(0.0, 0.0, 0.0), (0.4, -0.5, 0.15), (-0.3, 0.8, -0.1)] {
                for cg_depth in [-1.3, -1.0, 0.0] {
                    all.push(State { u, w, q, pitch, cg_depth, omega });
                }
            }
        }
    }
    all
}
