//! The sorted equations, told to a person.

use std::fmt::Write;

use super::{Model, Probe};

/// Prints what the model holds: states, inputs, and the equations in the order
/// they run, each with what it reads and writes.
pub fn explain(model: &Model) -> String {
    let mut out = String::new();
    let named = |slots: &[u32]| {
        let mut names: Vec<&str> = Vec::new();
        for &slot in slots {
            let name = model.name(Probe(slot));
            if !names.contains(&name) {
                names.push(name);
            }
        }
        names.join(", ")
    };
    let _ = writeln!(out, "States ({}), integrated over time", model.states.len());
    for state in &model.states {
        let info = model.info(Probe(state.value));
        let start = model.start[state.value as usize];
        let _ =
            writeln!(out, "  {} [{}] starts at {start}; usual size {}", info.name, info.unit, state.nominal);
    }
    let inputs = model.inputs();
    let _ = writeln!(out, "\nInputs ({}), which a scenario may prescribe", inputs.len());
    for input in inputs {
        let info = model.info(input);
        let range = model.range_in_words(input).map_or(String::new(), |range| format!(", {range}"));
        let value = model.start_value(input);
        let _ = writeln!(out, "  {} [{}] = {value}{range}: {}", info.name, info.unit, info.about);
    }
    let _ = writeln!(out, "\nEquations ({}), in the order they run", model.equations.len());
    for (i, e) in model.equations.iter().enumerate() {
        let _ = writeln!(out, "{:>4}  {}: {}", i + 1, model.instance_name(e.instance), e.name);
        if !e.reads.is_empty() {
            let _ = writeln!(out, "        reads  {}", named(&e.reads));
        }
        for &index in &e.calls {
            let law = model.declared.iter().flat_map(|d| &d.laws).find(|l| l.index == index);
            if let Some(law) = law {
                let owner = model.instance_name(law.instance);
                let _ =
                    writeln!(out, "        calls  {owner}.{}, which reads {}", law.kind, named(&law.reads));
            }
        }
        let _ = writeln!(out, "        writes {}", named(&e.writes));
    }
    let events = model.events();
    let _ = writeln!(out, "\nEvents ({})", events.len());
    for event in events {
        let _ = writeln!(out, "  {}: {}", model.instance_name(event.instance), event.name);
    }
    out
}
