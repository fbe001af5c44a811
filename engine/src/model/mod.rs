//! From parts to a flat list of equations over one vector of numbers.

mod arrange;
mod builder;
mod declare;
mod error;
mod explain;
mod frame;
mod order;
mod plan;

use std::collections::HashMap;
use std::ops::Range;
use std::sync::Arc;

use builder::{Builder, SlotInfo};
pub use declare::{Crossing, Declare, Then, Trigger, Wires};
use declare::{Declared, Equation, LawEntry};
pub use error::{Problem, Problems};
pub use explain::explain;
pub use frame::{Frame, In, Law, Out};
use frame::{Guard, LawFn, Slot};
use plan::Plan;

pub(crate) use declare::{EventEntry, StateEntry, WatchEntry};

use crate::part::Part;

/// One named part of a setup.
#[derive(Clone)]
pub struct Instance {
    /// Name in the setup.
    pub name: String,
    /// The part with its parameters.
    pub part: Arc<dyn Part>,
    /// Wiring choices: kind name, instance that serves it.
    pub from: Vec<(String, String)>,
}

/// A quantity of a model, found by name; reads and writes a run's numbers from outside.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Probe(pub(crate) Slot);

/// Everything about a model that rebuilding one part leaves alone.
struct Layout {
    builder: Builder,
    names: HashMap<String, Slot>,
}

/// A set of parts, wired and sorted. Immutable: a run keeps its own numbers,
/// so that many threads can evaluate one model.
#[derive(Clone)]
pub struct Model {
    layout: Arc<Layout>,
    instances: Vec<Instance>,
    declared: Vec<Arc<Declared>>,
    equations: Vec<Arc<Equation>>,
    laws: Vec<LawFn>,
    states: Vec<StateEntry>,
    start: Vec<f64>,
    plan: Plan,
}

impl Model {
    /// Wires the instances together.
    ///
    /// # Errors
    /// All mistakes found, by name.
    pub fn build(instances: Vec<Instance>) -> Result<Model, Problems> {
        let mut builder = Builder::new(
            instances.iter().map(|i| i.name.clone()).collect(),
            instances.iter().map(|i| i.from.clone()).collect(),
        );
        // the census: who writes what
        let mut census = Vec::new();
        for (i, instance) in instances.iter().enumerate() {
            instance.part.declare(&mut Declare { builder: &mut builder, instance: i as u32 });
            census.push(std::mem::take(&mut builder.out));
        }
        let mut integrals = add_integrals(&mut builder, &census);
        arrange::arrange(&mut builder, &census, &mut integrals);
        builder.wiring = true;
        let mut declared: Vec<Arc<Declared>> = Vec::new();
        for (i, instance) in instances.iter().enumerate() {
            instance.part.declare(&mut Declare { builder: &mut builder, instance: i as u32 });
            declared.push(Arc::new(std::mem::take(&mut builder.out)));
        }
        builder.rates_missing();
        if !builder.problems.is_empty() {
            return Err(Problems(std::mem::take(&mut builder.problems)));
        }
        // engine's own equations: totals and partial totals, each in the order of names
        let mut equations: Vec<Arc<Equation>> =
            declared.iter().flat_map(|d| d.equations.iter().cloned()).collect();
        equations.extend(totals(&builder).into_iter().map(Arc::new));
        let mut laws: Vec<_> = declared.iter().flat_map(|d| d.laws.iter().cloned()).collect();
        laws.sort_by_key(|law| law.index);
        let equations = order::sort(equations, &laws, &builder.info, &builder.instances)
            .map_err(|ring| Problems(vec![ring]))?;
        let mut states: Vec<StateEntry> =
            declared.iter().flat_map(|d| d.states.iter().cloned()).chain(integrals).collect();
        states.sort_by(|a, b| builder.info[a.value as usize].name.cmp(&builder.info[b.value as usize].name));
        let names = builder.info.iter().enumerate().map(|(i, info)| (info.name.clone(), i as Slot)).collect();
        let mut model = Model {
            start: vec![0.0; builder.info.len()],
            layout: Arc::new(Layout { builder, names }),
            instances,
            declared,
            equations,
            laws: laws.into_iter().map(|law| law.run).collect(),
            states,
            plan: Plan::default(),
        };
        model.prepare();
        Ok(model)
    }

    /// The same model with one part exchanged: only that part is declared
    /// anew, unless it asks for other quantities than before.
    ///
    /// # Errors
    /// As [`Model::build`].
    pub fn with_part(&self, name: &str, part: Arc<dyn Part>) -> Result<Model, Problems> {
        let Some(i) = self.instances.iter().position(|instance| instance.name == name) else {
            return Ok(self.clone());
        };
        let mut builder = self.layout.builder.clone();
        builder.changed = false;
        let slots = builder.info.len();
        part.declare(&mut Declare { builder: &mut builder, instance: i as u32 });
        let fresh = std::mem::take(&mut builder.out);
        let same = !builder.changed && builder.info.len() == slots && same_shape(&fresh, &self.declared[i]);
        if !same {
            let mut instances = self.instances.clone();
            instances[i].part = part;
            return Model::build(instances);
        }
        if !builder.problems.is_empty() {
            return Err(Problems(builder.problems));
        }
        let mut model = self.clone();
        model.instances[i].part = part;
        for equation in &fresh.equations {
            if let Some(old) =
                model.equations.iter_mut().find(|e| e.instance == i as u32 && e.name == equation.name)
            {
                *old = equation.clone();
            }
        }
        for law in &fresh.laws {
            model.laws[law.index as usize] = law.run.clone();
        }
        for state in &fresh.states {
            if let Some(old) = model.states.iter_mut().find(|s| s.value == state.value) {
                *old = state.clone();
            }
        }
        model.declared[i] = Arc::new(fresh);
        model.prepare();
        Ok(model)
    }

    /// Works out what a run asks for again and again: the plan and the start values.
    fn prepare(&mut self) {
        self.plan = Plan::new(self);
        self.start.fill(0.0);
        for (slot, value) in self.declared.iter().flat_map(|d| &d.values) {
            self.start[*slot as usize] = *value;
        }
        debug_assert!(self.states.iter().map(|s| s.value as usize).eq(self.state_slots()));
        debug_assert!(self.states.iter().map(|s| s.rate as usize).eq(self.rate_slots()));
        let mut frame = Frame::new(&mut self.start, &self.laws);
        self.plan.steady.iter().for_each(|run| run(&mut frame));
    }

    /// Works out every quantity in `slots` from states, modes, inputs and time,
    /// which are set. `slots` once were a copy of the start values, so that
    /// what never changes stands there already.
    pub(crate) fn evaluate(&self, slots: &mut [f64]) {
        self.drive(slots);
        self.observe(slots);
    }

    /// The part of [`Model::evaluate`] that the rates of the states depend on.
    #[inline]
    pub(crate) fn drive(&self, slots: &mut [f64]) {
        let mut frame = Frame::new(slots, &self.laws);
        for run in &self.plan.driving {
            run(&mut frame);
        }
    }

    /// The rest of [`Model::evaluate`], after [`Model::drive`]: what is only looked at.
    #[inline]
    pub(crate) fn observe(&self, slots: &mut [f64]) {
        let mut frame = Frame::new(slots, &self.laws);
        for run in &self.plan.observing {
            run(&mut frame);
        }
    }

    /// Equation, and quantity it wrote, that first produced a number that is not finite.
    pub(crate) fn first_non_finite(&self, slots: &[f64]) -> Option<(String, String)> {
        let sick = |slot: &&Slot| !slots[**slot as usize].is_finite();
        self.equations.iter().find_map(|e| {
            e.writes.iter().find(sick).map(|&slot| {
                let instance = self.instance_name(e.instance);
                (format!("{instance}: {}", e.name), self.info(Probe(slot)).name.clone())
            })
        })
    }

    /// Evaluates once with every access checked against what was declared and
    /// every written quantity blanked first. For tests; checks only in debug builds.
    ///
    /// # Errors
    /// Names a quantity that is not finite at the start.
    ///
    /// # Panics
    /// In debug builds, where an equation touches what it has not declared.
    pub fn audit(&self) -> Result<(), String> {
        let mut slots = self.start.clone();
        for equation in &self.equations {
            for &slot in &equation.writes {
                slots[slot as usize] = f64::NAN;
            }
        }
        for equation in &self.equations {
            let name = format!("{}: {}", self.instance_name(equation.instance), equation.name);
            let mut reads = equation.reads.clone();
            for &law in &equation.calls {
                reads.extend(self.law_reads(law));
            }
            let guard = Guard { reads: &reads, writes: &equation.writes, name: &name };
            (equation.run)(&mut Frame::guarded(&mut slots, &self.laws, &guard));
        }
        match self.first_non_finite(&slots) {
            None => Ok(()),
            Some((equation, quantity)) => Err(format!("{equation} gives no finite {quantity} at the start")),
        }
    }

    fn law_reads(&self, index: u32) -> Vec<Slot> {
        let all = self.declared.iter().flat_map(|d| &d.laws);
        all.filter(|law| law.index == index).flat_map(|law| law.reads.iter().copied()).collect()
    }

    pub(crate) fn instance_name(&self, index: u32) -> &str {
        self.layout.builder.instances.get(index as usize).map_or("total", String::as_str)
    }

    fn info(&self, probe: Probe) -> &SlotInfo {
        &self.layout.builder.info[probe.0 as usize]
    }

    /// Finds a quantity by its full name, such as `motor.winding_temperature`.
    pub fn find(&self, name: &str) -> Option<Probe> {
        self.layout.names.get(name).copied().map(Probe)
    }

    /// ` (did you mean …?)` for a name that was not found, or nothing.
    pub fn near(&self, name: &str) -> String {
        builder::hint(name, self.layout.names.keys().map(String::as_str))
    }

    /// Full name of a quantity.
    pub fn name(&self, probe: Probe) -> &str {
        &self.info(probe).name
    }

    /// Unit of a quantity.
    pub fn unit(&self, probe: Probe) -> &'static str {
        self.info(probe).unit
    }

    /// Meaning of a quantity.
    pub fn about(&self, probe: Probe) -> &'static str {
        self.info(probe).about
    }

    /// Every quantity, in the order of names.
    pub fn quantities(&self) -> Vec<Probe> {
        let mut all: Vec<Probe> = (0..self.layout.builder.info.len() as Slot).map(Probe).collect();
        all.sort_by_key(|&p| self.name(p));
        all
    }

    /// Contributions to a sum or list by kind name, in the order of names.
    pub fn contributions(&self, kind: &str) -> Vec<Probe> {
        sorted_contributions(&self.layout.builder, kind).into_iter().map(Probe).collect()
    }

    /// Total of a sum by kind name, where somebody reads it.
    pub fn total(&self, kind: &str) -> Option<Probe> {
        self.layout.builder.totals.get(kind).copied().map(Probe)
    }

    /// The single-writer quantities of a kind, one per instance, in the order of names.
    pub fn providers(&self, kind: &str) -> Vec<Probe> {
        let all = self.layout.builder.providers.get(kind);
        let mut probes: Vec<Probe> = all.into_iter().flatten().map(|(_, slot)| Probe(*slot)).collect();
        probes.sort_by_key(|&p| self.name(p));
        probes
    }

    /// Whether a scenario may prescribe the quantity.
    pub fn is_input(&self, probe: Probe) -> bool {
        self.declared.iter().any(|d| d.inputs.contains(&probe.0))
    }

    /// All inputs, in the order of names.
    pub fn inputs(&self) -> Vec<Probe> {
        let mut all: Vec<Probe> =
            self.declared.iter().flat_map(|d| d.inputs.iter().copied().map(Probe)).collect();
        all.sort_by_key(|&p| self.name(p));
        all
    }

    /// Place of a quantity among the states, if it is one.
    pub fn state_index(&self, probe: Probe) -> Option<usize> {
        self.states.iter().position(|s| s.value == probe.0)
    }

    /// The states in the order they are integrated.
    pub fn state_probes(&self) -> Vec<Probe> {
        self.states.iter().map(|s| Probe(s.value)).collect()
    }

    /// Advice that parts give about how they are set up: instance, text.
    pub fn advice(&self) -> Vec<(&str, &str)> {
        let named = self.instances.iter().zip(&self.declared);
        named.flat_map(|(i, d)| d.advice.iter().map(move |text| (i.name.as_str(), text.as_str()))).collect()
    }

    /// Names of the instances, as set up.
    pub fn instance_names(&self) -> Vec<&str> {
        self.instances.iter().map(|i| i.name.as_str()).collect()
    }

    /// Value a quantity has before a run starts.
    pub fn start_value(&self, probe: Probe) -> f64 {
        self.start[probe.0 as usize]
    }

    /// The model with the value of `probe` multiplied by `factor` as soon as it
    /// is written: a deliberate mistake, to show that a check would find it.
    pub fn with_fault(&self, probe: Probe, factor: f64) -> Model {
        let mut model = self.clone();
        let slot = probe.0;
        let written = model.equations.iter().any(|e| e.writes.contains(&slot));
        if !written && self.state_index(probe).is_none() {
            // a constant, or an input at its start: no equation writes it anew each time
            model.start[slot as usize] *= factor;
            return model;
        }
        let fault = Equation {
            instance: u32::MAX,
            name: "fault",
            reads: vec![slot],
            writes: vec![slot],
            calls: vec![],
            run: Arc::new(move |at| {
                let value = at[In(slot)];
                at[Out(slot)] = factor * value;
            }),
        };
        let writer = model.equations.iter().position(|e| e.writes.contains(&slot));
        model.equations.insert(writer.map_or(0, |i| i + 1), Arc::new(fault));
        model.prepare();
        model
    }

    /// Where the values of the states stand, in their order.
    pub(crate) fn state_slots(&self) -> Range<usize> {
        arrange::FIRST_STATE..arrange::FIRST_STATE + self.states.len()
    }

    /// Where the rates of the states stand, in their order.
    pub(crate) fn rate_slots(&self) -> Range<usize> {
        let first = self.state_slots().end;
        first..first + self.states.len()
    }

    /// Usual sizes of the states, and one over each.
    pub(crate) fn nominals(&self) -> (&[f64], &[f64]) {
        (&self.plan.nominal, &self.plan.per_nominal)
    }

    pub(crate) fn states(&self) -> &[StateEntry] {
        &self.states
    }

    pub(crate) fn start(&self) -> &[f64] {
        &self.start
    }

    pub(crate) fn frame<'a>(&'a self, slots: &'a mut [f64]) -> Frame<'a> {
        Frame::new(slots, &self.laws)
    }

    pub(crate) fn modes(&self) -> &[Slot] {
        &self.plan.modes
    }

    /// Events in the order of instances and names.
    pub(crate) fn events(&self) -> &[EventEntry] {
        &self.plan.events
    }

    pub(crate) fn watches(&self) -> &[WatchEntry] {
        &self.plan.watches
    }

    pub(crate) fn settling(&self) -> Vec<(Slot, Slot)> {
        let mut all: Vec<(Slot, Slot)> =
            self.declared.iter().flat_map(|d| d.settles.iter().copied()).collect();
        // in the order of names, or the last digits of the balance would tell the order of parts
        all.sort_by_key(|&(unknown, rate)| (self.name(Probe(unknown)), self.name(Probe(rate))));
        all
    }
}

/// Slots that add to a kind, in the order of names.
fn sorted_contributions(builder: &Builder, kind: &str) -> Vec<Slot> {
    let mut slots = builder.contributions.get(kind).cloned().unwrap_or_default();
    slots.sort_by(|a, b| builder.info[*a as usize].name.cmp(&builder.info[*b as usize].name));
    slots
}

/// One more state per contribution to each kind that somebody wants integrated.
fn add_integrals(builder: &mut Builder, census: &[Declared]) -> Vec<StateEntry> {
    let mut states: Vec<StateEntry> = Vec::new();
    for (kind, nominal) in census.iter().flat_map(|d| &d.integrals) {
        for rate in sorted_contributions(builder, kind) {
            // two who ask for the same get the same
            if states.iter().any(|known| known.rate == rate) {
                continue;
            }
            let source = builder.info[rate as usize].clone();
            let value = builder.info.len() as Slot;
            builder.info.push(SlotInfo {
                name: format!("integral.{}", source.name),
                writer: "integral",
                ..source
            });
            states.push(StateEntry { value, rate, nominal: *nominal });
        }
    }
    states
}

/// Equations that add up contributions, each in the order of names.
fn totals(builder: &Builder) -> Vec<Equation> {
    let sum = |parts: Vec<Slot>, total: Slot, name: &'static str| {
        let ranges = arrange::neighbours(&parts);
        Equation {
            instance: u32::MAX,
            name,
            reads: parts,
            writes: vec![total],
            calls: vec![],
            run: Arc::new(move |at: &mut Frame| {
                let mut sum = 0.0;
                for range in &ranges {
                    sum = at.add_up(sum, range.clone());
                }
                at[Out(total)] = sum;
            }),
        }
    };
    let whole =
        builder.totals.iter().map(|(kind, &total)| sum(sorted_contributions(builder, kind), total, kind));
    let partial = builder.others.iter().map(|((kind, instance), &total)| {
        let own = format!("{}.", builder.instances[*instance as usize]);
        let mut parts = sorted_contributions(builder, kind);
        parts.retain(|&slot| !builder.info[slot as usize].name.starts_with(&own));
        sum(parts, total, kind)
    });
    whole.chain(partial).collect()
}

/// Whether a part declared anew touches exactly what it touched before.
fn same_shape(a: &Declared, b: &Declared) -> bool {
    let same_equation = |(a, b): (&Arc<Equation>, &Arc<Equation>)| {
        (a.name, &a.reads, &a.writes, &a.calls) == (b.name, &b.reads, &b.writes, &b.calls)
    };
    let same_law =
        |(a, b): (&LawEntry, &LawEntry)| (a.kind, a.instance, &a.reads) == (b.kind, b.instance, &b.reads);
    a.equations.len() == b.equations.len()
        && a.equations.iter().zip(&b.equations).all(same_equation)
        && a.laws.len() == b.laws.len()
        && a.laws.iter().zip(&b.laws).all(same_law)
        && a.values.iter().map(|(slot, _)| slot).eq(b.values.iter().map(|(slot, _)| slot))
        && a.states.len() == b.states.len()
        && a.settles == b.settles
        && a.integrals == b.integrals
}

#[cfg(test)]
mod tests;
