//! A model looked at with suspicion: undeclared access, numbers that are not finite, planted faults.

use std::sync::Arc;

use super::declared::Equation;
use super::frame::{Frame, In, Out, Slot};
use super::{Model, Probe};

impl Model {
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
            self.run_guarded(equation, &mut slots);
        }
        match self.first_non_finite(&slots) {
            None => Ok(()),
            Some((equation, quantity)) => Err(format!("{equation} gives no finite {quantity} at the start")),
        }
    }

    #[cfg(debug_assertions)]
    fn run_guarded(&self, equation: &Equation, slots: &mut [f64]) {
        let name = format!("{}: {}", self.instance_name(equation.instance), equation.name);
        let mut reads = equation.reads.clone();
        for &law in &equation.calls {
            reads.extend(self.law_reads(law));
        }
        let guard = super::frame::Guard { reads: &reads, writes: &equation.writes, name: &name };
        (equation.run)(&mut Frame::guarded(slots, &self.laws, &guard));
    }

    #[cfg(not(debug_assertions))]
    fn run_guarded(&self, equation: &Equation, slots: &mut [f64]) {
        (equation.run)(&mut Frame::new(slots, &self.laws));
    }

    #[cfg(debug_assertions)]
    fn law_reads(&self, index: u32) -> Vec<Slot> {
        let all = self.declared.iter().flat_map(|d| &d.laws);
        all.filter(|law| law.index == index).flat_map(|law| law.reads.iter().copied()).collect()
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
}
