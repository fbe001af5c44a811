//! What of a model runs when: once, at every evaluation, or only when somebody looks.

use super::declared::{EventEntry, Run, WatchEntry};
use super::frame::Slot;
use super::{Model, Probe};

/// The equations, each list in the order of the model, and what a run asks
/// for at every segment.
///
/// - *steady*: follow from constants alone; worked out once, with the start values;
/// - *driving*: the rates of the states depend on them; every evaluation;
/// - *observing*: nothing but guards, watches and readers depend on them; at
///   accepted steps and wherever a value is asked for.
///
/// What drives never reads what is only observed, so running the second list
/// after the first keeps the order.
#[derive(Clone, Default)]
pub(crate) struct Plan {
    pub steady: Vec<Run>,
    pub driving: Vec<Run>,
    pub observing: Vec<Run>,
    pub modes: Vec<Slot>,
    pub events: Vec<EventEntry>,
    pub watches: Vec<WatchEntry>,
    pub nominal: Vec<f64>,
    pub per_nominal: Vec<f64>,
}

/// When an equation runs.
#[derive(Clone, Copy, PartialEq, Eq)]
enum When {
    Once,
    Always,
    Looked,
}

impl Plan {
    pub fn new(model: &Model) -> Plan {
        let declared = || model.declared.iter();
        let modes: Vec<Slot> = declared().flat_map(|d| d.modes.iter().copied()).collect();
        let mut events: Vec<EventEntry> = declared().flat_map(|d| d.events.iter().cloned()).collect();
        events.sort_by_key(|event| (model.instance_name(event.instance), event.name));
        let mut watches: Vec<WatchEntry> = declared().flat_map(|d| d.watches.iter().cloned()).collect();
        watches.sort_by_key(|w| (model.name(Probe(w.slot)), w.message));
        let nominal: Vec<f64> = model.states.iter().map(|s| s.nominal).collect();
        let per_nominal = nominal.iter().map(|n| 1.0 / n).collect();
        let mut plan = Plan { modes, events, watches, nominal, per_nominal, ..Plan::default() };
        for (equation, when) in model.equations.iter().zip(plan.sorted(model)) {
            let list = match when {
                When::Once => &mut plan.steady,
                When::Always => &mut plan.driving,
                When::Looked => &mut plan.observing,
            };
            list.push(equation.run.clone());
        }
        plan
    }

    /// When each equation runs.
    fn sorted(&self, model: &Model) -> Vec<When> {
        let mut law_reads = vec![&[][..]; model.laws.len()];
        for law in model.declared.iter().flat_map(|d| &d.laws) {
            law_reads[law.index as usize] = &law.reads;
        }
        let reads = |i: usize| {
            let equation = &model.equations[i];
            let through_laws = equation.calls.iter().flat_map(|&law| law_reads[law as usize]);
            equation.reads.iter().chain(through_laws).map(|&slot| slot as usize)
        };

        // forward: what moves
        let mut moves = vec![false; model.start.len()];
        moves[0] = true;
        let inputs = model.declared.iter().flat_map(|d| &d.inputs);
        let states = model.states.iter().map(|s| &s.value);
        for &slot in inputs.chain(&self.modes).chain(states) {
            moves[slot as usize] = true;
        }
        let mut when = vec![When::Once; model.equations.len()];
        for (i, equation) in model.equations.iter().enumerate() {
            if reads(i).any(|slot| moves[slot]) {
                when[i] = When::Looked;
                equation.writes.iter().for_each(|&slot| moves[slot as usize] = true);
            }
        }
        // backward: what the rates need
        let mut needed = vec![false; model.start.len()];
        model.states.iter().for_each(|s| needed[s.rate as usize] = true);
        for (i, equation) in model.equations.iter().enumerate().rev() {
            if when[i] == When::Looked && equation.writes.iter().any(|&slot| needed[slot as usize]) {
                when[i] = When::Always;
                reads(i).for_each(|slot| needed[slot] = true);
            }
        }
        when
    }
}
