//! Contributions of several parts brought together: totals, partial totals, running integrals.

use std::sync::Arc;

use super::arrange;
use super::builder::{Builder, SlotInfo};
use super::declared::{Declared, Equation, StateEntry};
use super::frame::{Frame, Out, Slot};

/// Slots that add to a kind, in the order of names.
pub(super) fn sorted_contributions(builder: &Builder, kind: &str) -> Vec<Slot> {
    let mut slots = builder.contributions.get(kind).cloned().unwrap_or_default();
    slots.sort_by(|a, b| builder.info[*a as usize].name.cmp(&builder.info[*b as usize].name));
    slots
}

/// One more state per contribution to each kind that somebody wants integrated.
pub(super) fn add_integrals(builder: &mut Builder, census: &[Declared]) -> Vec<StateEntry> {
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
pub(super) fn totals(builder: &Builder) -> Vec<Equation> {
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
