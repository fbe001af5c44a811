//! The order in which equations run.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::builder::SlotInfo;
use super::declared::{Equation, LawEntry};
use super::error::Problem;

/// Sorts the equations so that each runs after all that write what it reads.
/// Ties break by instance and name, so the order parts are listed in cannot
/// change a digit.
pub(crate) fn sort(
    equations: Vec<Arc<Equation>>,
    laws: &[LawEntry],
    info: &[SlotInfo],
    instances: &[String],
) -> Result<Vec<Arc<Equation>>, Problem> {
    let mut writer = vec![usize::MAX; info.len()];
    for (i, equation) in equations.iter().enumerate() {
        for &slot in &equation.writes {
            writer[slot as usize] = i;
        }
    }
    // what each equation waits for
    let needs: Vec<Vec<usize>> = equations
        .iter()
        .map(|equation| {
            let through_laws = equation.calls.iter().flat_map(|&law| &laws[law as usize].reads);
            let mut all: Vec<usize> = equation
                .reads
                .iter()
                .chain(through_laws)
                .map(|&slot| writer[slot as usize])
                .filter(|&w| w != usize::MAX)
                .collect();
            all.sort_unstable();
            all.dedup();
            all
        })
        .collect();
    let mut followers = vec![Vec::new(); equations.len()];
    let mut waiting: Vec<usize> = needs.iter().map(Vec::len).collect();
    for (i, list) in needs.iter().enumerate() {
        for &w in list {
            followers[w].push(i);
        }
    }
    let rank = |i: usize| {
        let e = &equations[i];
        (instances.get(e.instance as usize).map_or("", String::as_str), e.name, i)
    };
    let mut ready: BTreeSet<_> = (0..equations.len()).filter(|&i| waiting[i] == 0).map(rank).collect();
    let mut order = Vec::with_capacity(equations.len());
    while let Some((_, _, i)) = ready.pop_first() {
        order.push(i);
        for &f in &followers[i] {
            waiting[f] -= 1;
            if waiting[f] == 0 {
                ready.insert(rank(f));
            }
        }
    }
    if order.len() < equations.len() {
        return Err(ring(&equations, laws, &needs, &waiting, &writer, info, instances));
    }
    Ok(order.into_iter().map(|i| equations[i].clone()).collect())
}

/// Names one ring among the equations that could not be placed.
fn ring(
    equations: &[Arc<Equation>],
    laws: &[LawEntry],
    needs: &[Vec<usize>],
    waiting: &[usize],
    writer: &[usize],
    info: &[SlotInfo],
    instances: &[String],
) -> Problem {
    let stuck = |i: &usize| waiting[*i] > 0;
    let mut path: Vec<usize> = Vec::new();
    let mut at = (0..equations.len()).find(stuck).unwrap_or(0);
    while !path.contains(&at) {
        path.push(at);
        at = needs[at].iter().copied().find(stuck).unwrap_or(at);
    }
    let start = path.iter().position(|&i| i == at).unwrap_or(0);
    let mut circle: Vec<usize> = path[start..].to_vec();
    // walked from reader to writer; tell it from writer to reader
    circle.reverse();
    let name = |i: usize| {
        let e = &equations[i];
        let instance = instances.get(e.instance as usize).map_or("total", String::as_str);
        format!("{instance}: {}", e.name)
    };
    let mut told = Vec::new();
    for (k, &from) in circle.iter().enumerate() {
        let to = circle[(k + 1) % circle.len()];
        told.push(name(from));
        let through_laws = equations[to].calls.iter().flat_map(|&law| &laws[law as usize].reads);
        if let Some(&slot) =
            equations[to].reads.iter().chain(through_laws).find(|&&slot| writer[slot as usize] == from)
        {
            told.push(info[slot as usize].name.clone());
        }
    }
    told.push(name(circle[0]));
    Problem::Ring { ring: told }
}
