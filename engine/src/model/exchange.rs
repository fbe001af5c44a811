//! One part in place of another, the rest left as it is.

use std::sync::Arc;

use super::Model;
use super::builder::hint;
use super::declare::Declare;
use super::declared::{Declared, Equation, LawEntry};
use super::error::{Problem, Problems};
use crate::part::Part;

impl Model {
    /// The same model with one part exchanged: only that part is declared
    /// anew, unless it asks for other quantities than before.
    ///
    /// # Errors
    /// As [`Model::build`]; a name that no part has.
    pub fn with_part(&self, name: &str, part: Arc<dyn Part>) -> Result<Model, Problems> {
        let Some(i) = self.instances.iter().position(|instance| instance.name == name) else {
            let hint = hint(name, self.instances.iter().map(|i| i.name.as_str()));
            return Err(Problems(vec![Problem::NoInstance { instance: name.into(), hint }]));
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
