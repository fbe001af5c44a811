//! A craft held at rest, its drive ready to be read.

use engine::analysis::Craft;
use engine::diagnostic::{Diagnostic, Diagnostics};
use engine::model::{Model, Probe};
use engine::profile::Profile;
use engine::quantity::Kind;
use engine::run::{Options, Run};

use super::super::turning;
use crate::nomenclature::*;
use crate::propeller::installation::{DIAMETER, LOADING, SHAFT_DEPTH, TORQUE};
use crate::verdict::afloat::Afloat;

/// Time in which the craft finds its place afloat, s: too short for anything else to happen.
const MOMENT: f64 = 1e-6;

/// Places of the quantities that a reading takes.
pub struct Probes {
    pub throttle: Probe,
    pub thrust: Probe,
    pub net_thrust: Option<Probe>,
    pub torque: Option<Probe>,
    pub diameter: Option<Probe>,
    pub density: Option<Probe>,
    pub shaft_speed: Probe,
    pub duty: Probe,
    pub duty_max: Probe,
    pub motor_current: Probe,
    pub motor_current_max: Probe,
    pub battery_current: Probe,
    pub battery_current_max: Probe,
    pub bus_voltage: Probe,
    pub voltage_min: Probe,
    pub shaft_speed_max: Probe,
    pub emf: Probe,
    pub battery_resistance: Probe,
    pub cable_resistance: Option<Probe>,
    pub torque_constant: Probe,
    pub winding_resistance: Probe,
    pub limits: Vec<Probe>,
}

/// A craft at rest, ready for any throttle.
pub struct Bench {
    /// Where things are.
    pub probes: Probes,
    /// What was done to hold it, and what the parts advise.
    pub notes: Vec<String>,
    /// Parts of the drive; what others say of a craft held at rest means nothing.
    pub drive: Vec<String>,
    run: Run,
}

impl Bench {
    /// Lets the craft float with the throttle closed, and holds it there; a test stand holds it already.
    ///
    /// # Errors
    /// There is not one drive and one propeller, or the craft finds no place to float.
    pub fn new(craft: &Craft) -> Result<Bench, Diagnostics> {
        let model = &craft.model;
        let probes = probes(model)?;
        let mut run = Run::new(model.clone(), Options::default());
        if run.input(probes.throttle).is_none() {
            let name = model.name(probes.throttle);
            let error = Diagnostic::error(format!("{name} cannot be set from outside"));
            return Err(error.help("a tub is read throttle by throttle").into());
        }
        let mut notes = Vec::new();
        still_water(&mut run, &mut notes);
        set(&mut run, probes.throttle, 0.0);
        let states = |kind: &Kind| -> Vec<Probe> {
            model.providers(kind.name).into_iter().filter(|&p| model.state_index(p).is_some()).collect()
        };
        // without way on before it settles, for it may start with some
        states(&SURGE_SPEED).into_iter().for_each(|p| _ = run.hold(p, Profile::constant(0.0)));
        run.advance(MOMENT, &[]).map_err(|error| {
            let held = "a setup with `test_stand` in place of `motion` is held and need not float, but tells nothing of \
                        the water";
            match Afloat::of(model) {
                Some(afloat) => {
                    let error = Diagnostic::error(format!("the craft cannot be held at rest: {}", afloat.words()));
                    error.help(format!("{}; {held}", afloat.remedy()))
                }
                None => Diagnostic::error(format!("the craft cannot be held at rest: {error}")).help(held),
            }
        })?;
        let mut afloat = Vec::new();
        for kind in [&DISTANCE, &CG_DEPTH, &PITCH, &HEAVE_SPEED, &PITCH_RATE] {
            for probe in states(kind) {
                let value = run.value(probe);
                let at_rest = if [HEAVE_SPEED, PITCH_RATE].contains(kind) { 0.0 } else { value };
                run.hold(probe, Profile::constant(at_rest));
                afloat.push((kind.name, value));
            }
        }
        let value = |kind: &Kind| afloat.iter().find(|(name, _)| *name == kind.name).map(|(_, v)| *v);
        if let (Some(depth), Some(pitch)) = (value(&CG_DEPTH), value(&PITCH)) {
            notes.push(format!(
                "the craft is held at rest where it floats with the throttle closed: CG {:.0} mm {} the surface, \
                 pitch {:.1}°",
                1000.0 * depth.abs(),
                if depth < 0.0 { "above" } else { "below" },
                pitch.to_degrees()
            ));
        }
        let drive = drive(model, &probes);
        let advice = model.advice().into_iter().filter(|(part, _)| drive.iter().any(|known| known == part));
        notes.extend(advice.map(|(part, text)| format!("{part}: {text}")));
        let mut bench = Bench { probes, notes, drive, run };
        bench.look_at_the_surface(model);
        Ok(bench)
    }

    /// A run from here at a throttle, everything still cold.
    pub fn run(&self, throttle: f64) -> Run {
        let mut run = self.run.clone();
        set(&mut run, self.probes.throttle, throttle);
        run
    }

    /// Sets another input than the throttle, or a state that is slow, by its full name, for all runs to come.
    pub fn put(&mut self, quantity: &str, value: f64) {
        let Some(probe) = self.run.model().find(quantity) else { return };
        match self.run.input(probe) {
            Some(profile) => *profile = Profile::constant(value),
            None => _ = self.run.place(probe, value),
        }
    }

    /// Time at which the runs begin, s.
    pub fn begin(&self) -> f64 {
        self.run.time()
    }

    /// A run whose shaft turns steadily at a throttle.
    pub fn steady(&self, throttle: f64) -> Run {
        let mut run = self.run(throttle);
        turning::steadily(&mut run);
        run
    }

    fn look_at_the_surface(&mut self, model: &Model) {
        let value = |kind: &Kind| model.providers(kind.name).first().map(|&p| self.run.clone().value(p));
        if let (Some(wet), Some(depth)) = (value(&LOADING), value(&SHAFT_DEPTH))
            && wet < 0.999
        {
            self.notes.push(format!(
                "only {:.0} % of the propeller pushes water, its shaft {:.0} mm below the surface: thrust and \
                 torque are taken to fall by that share",
                100.0 * wet,
                1000.0 * depth
            ));
        }
    }
}

/// A tub has no current: one in the setup is set to nothing.
fn still_water(run: &mut Run, notes: &mut Vec<String>) {
    for probe in run.model().providers(CURRENT.name) {
        let current = run.value(probe);
        if current != 0.0 && run.input(probe).is_some() {
            set(run, probe, 0.0);
            notes
                .push(format!("the setup's current of {current:.2} m/s is left out: the water stands still"));
        }
    }
}

/// Names of the parts that the readings come from, and of a guard.
fn drive(model: &Model, p: &Probes) -> Vec<String> {
    let guards = model.providers(GUARD_THRUST_FACTOR.name);
    let read = [p.thrust, p.throttle, p.emf, p.torque_constant, p.shaft_speed].into_iter();
    let all = read.chain(p.cable_resistance).chain(guards);
    all.filter_map(|probe| model.name(probe).split('.').next().map(String::from)).collect()
}

fn set(run: &mut Run, input: Probe, value: f64) {
    if let Some(profile) = run.input(input) {
        *profile = Profile::constant(value);
    }
}

fn probes(model: &Model) -> Result<Probes, Diagnostics> {
    let mut problems = Diagnostics::new();
    let mut one = |kind: &Kind, what: &str| match model.providers(kind.name)[..] {
        [only] => Some(only),
        [] => {
            let error = Diagnostic::error(format!("there is no {what} in this setup"));
            problems.push(
                error.help("a tub is read with a battery, a controller, a motor, a shaft and a propeller"),
            );
            None
        }
        ref several => {
            let names: Vec<&str> = several.iter().filter_map(|&p| model.name(p).split('.').next()).collect();
            let error =
                Diagnostic::error(format!("there are {} of {what}: {}", names.len(), names.join(", ")));
            problems
                .push(error.help("a tub reads one drive at a time: remove the others, as in `part_name: ~`"));
            None
        }
    };
    let thrust = one(&THRUST, "propeller");
    let throttle = one(&THROTTLE, "controller");
    let emf = one(&BATTERY_EMF, "battery");
    let torque_constant = one(&TORQUE_CONSTANT, "motor");
    let shaft_speed = one(&SHAFT_SPEED, "shaft");
    // what follows comes from the parts that have been found
    let found = (|| {
        let sole = |kind: &Kind| model.providers(kind.name).first().copied();
        let thrust = thrust?;
        let owner = model.name(thrust).split('.').next().unwrap_or_default();
        let of_propeller = |kind: &Kind| model.find(&format!("{owner}.{}", kind.name));
        Some(Probes {
            throttle: throttle?,
            thrust,
            net_thrust: of_propeller(&SURGE_FORCE),
            torque: of_propeller(&TORQUE),
            diameter: of_propeller(&DIAMETER),
            density: sole(&WATER_DENSITY),
            shaft_speed: shaft_speed?,
            duty: sole(&DUTY)?,
            duty_max: sole(&DUTY_MAX)?,
            motor_current: sole(&MOTOR_CURRENT)?,
            motor_current_max: sole(&MOTOR_CURRENT_MAX)?,
            battery_current: sole(&BATTERY_CURRENT)?,
            battery_current_max: sole(&BATTERY_CURRENT_MAX)?,
            bus_voltage: sole(&BUS_VOLTAGE)?,
            voltage_min: sole(&VOLTAGE_MIN)?,
            shaft_speed_max: sole(&SHAFT_SPEED_MAX)?,
            emf: emf?,
            battery_resistance: sole(&BATTERY_RESISTANCE)?,
            cable_resistance: sole(&CABLE_RESISTANCE),
            torque_constant: torque_constant?,
            winding_resistance: sole(&WINDING_RESISTANCE)?,
            limits: model.contributions(LIMIT_MARGIN.name),
        })
    })();
    match found {
        Some(probes) => Ok(probes),
        None if problems.is_empty() => Err(Diagnostic::error("the drive in this setup is not whole").into()),
        None => Err(problems),
    }
}
