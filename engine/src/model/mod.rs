//! From parts to a flat list of equations over one vector of numbers.

mod arrange;
mod audit;
mod builder;
mod claim;
mod declare;
mod declared;
mod error;
mod exchange;
mod explain;
mod frame;
mod order;
mod plan;
mod query;
mod resolve;
mod sums;
mod trigger;
mod wires;

use std::collections::HashMap;
use std::ops::Range;
use std::sync::Arc;

use builder::Builder;
pub use declare::{Declare, Settable};
use declared::{Declared, Equation};
pub use error::{Problem, Problems};
pub use explain::explain;
pub use frame::{Frame, In, Law, Out};
use frame::{LawFn, Slot};
use plan::Plan;
pub use trigger::{Crossing, Then, Trigger};
pub use wires::Wires;

pub(crate) use declared::{EventEntry, StateEntry, WatchEntry};

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
        let mut integrals = sums::add_integrals(&mut builder, &census);
        arrange::arrange(&mut builder, &census, &mut integrals);
        builder.wiring = true;
        let mut declared: Vec<Arc<Declared>> = Vec::new();
        for (i, instance) in instances.iter().enumerate() {
            instance.part.declare(&mut Declare { builder: &mut builder, instance: i as u32 });
            declared.push(Arc::new(std::mem::take(&mut builder.out)));
        }
        builder.rates_missing();
        builder.unused_sources();
        if !builder.problems.is_empty() {
            return Err(Problems(std::mem::take(&mut builder.problems)));
        }
        // engine's own equations: totals and partial totals, each in the order of names
        let mut equations: Vec<Arc<Equation>> =
            declared.iter().flat_map(|d| d.equations.iter().cloned()).collect();
        equations.extend(sums::totals(&builder).into_iter().map(Arc::new));
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

#[cfg(test)]
mod tests;
