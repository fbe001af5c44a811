//! Where each quantity stands among the numbers: what is used together stands together.

use std::ops::Range;

use super::builder::Builder;
use super::declared::{Declared, StateEntry};
use super::frame::Slot;
use super::sums::sorted_contributions;

/// Place of the first state; time stands before it.
pub(crate) const FIRST_STATE: usize = 1;

/// Renumbers the slots after the census: time, then the states in the order
/// of names, then their rates in the same order, then the contributions to
/// each sum, then the rest. An integrator's vector is then copied in and out
/// in one go.
pub(crate) fn arrange(builder: &mut Builder, census: &[Declared], integrals: &mut [StateEntry]) {
    let count = builder.info.len();
    let mut states: Vec<(Slot, Slot)> =
        census.iter().flat_map(|d| &d.states).chain(&*integrals).map(|s| (s.value, s.rate)).collect();
    states.sort_by_key(|&(value, _)| builder.info[value as usize].name.as_str());

    let mut order: Vec<Slot> = vec![0];
    let mut placed = vec![false; count];
    placed[0] = true;
    let mut put = |slot: Slot| {
        if !std::mem::replace(&mut placed[slot as usize], true) {
            order.push(slot);
        }
    };
    states.iter().for_each(|&(value, _)| put(value));
    states.iter().for_each(|&(_, rate)| put(rate));
    builder.totals.keys().for_each(|kind| sorted_contributions(builder, kind).into_iter().for_each(&mut put));
    (0..count as Slot).for_each(&mut put);

    let mut moved = vec![0; count];
    order.iter().enumerate().for_each(|(new, &old)| moved[old as usize] = new as Slot);
    let to = |slot: &mut Slot| *slot = moved[*slot as usize];
    builder.info = order.iter().map(|&old| builder.info[old as usize].clone()).collect();
    builder.slots.values_mut().for_each(to);
    builder.providers.values_mut().flatten().for_each(|(_, slot)| to(slot));
    builder.contributions.values_mut().flatten().for_each(to);
    builder.totals.values_mut().for_each(to);
    builder.others.values_mut().for_each(to);
    for state in integrals {
        to(&mut state.value);
        to(&mut state.rate);
    }
}

/// A list of slots as ranges of neighbours, in the order of the list.
pub(crate) fn neighbours(slots: &[Slot]) -> Vec<Range<usize>> {
    let mut ranges: Vec<Range<usize>> = Vec::new();
    for slot in slots.iter().map(|&slot| slot as usize) {
        match ranges.last_mut() {
            Some(last) if last.end == slot => last.end += 1,
            _ => ranges.push(slot..slot + 1),
        }
    }
    ranges
}
