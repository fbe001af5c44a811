//! The numbers of a setup, as the setup itself writes them out in full.

use std::collections::HashMap;

use engine::setup::Setup;
use engine::units::{Dimension, parse};

/// Parameters by `part.key`, as text with unit.
pub struct Sheet(HashMap<String, String>);

impl Sheet {
    /// Every parameter with defaults filled in; tables are left out.
    pub fn of(setup: &Setup) -> Sheet {
        let text = setup.write(foilborne::PARTS).expect("a setup that can be read can be written");
        let mut part = String::new();
        let mut values = HashMap::new();
        for line in text.lines() {
            let depth = line.len() - line.trim_start().len();
            let Some((key, value)) = line.trim().split_once(':') else { continue };
            match depth {
                2 => part = key.to_owned(),
                4 => _ = values.insert(format!("{part}.{key}"), value.trim().to_owned()),
                _ => {}
            }
        }
        Sheet(values)
    }

    /// A number in SI units.
    pub fn value(&self, name: &str, dimension: Dimension) -> f64 {
        self.optional(name, dimension).unwrap_or_else(|| panic!("the setup has no {name}"))
    }

    /// A number in SI units, where the setup gives it.
    pub fn optional(&self, name: &str, dimension: Dimension) -> Option<f64> {
        let text = self.0.get(name)?;
        Some(parse(text, dimension).unwrap_or_else(|_| panic!("{name} is {text}")))
    }

    /// Whether a word stands where the fused code takes it for granted.
    pub fn takes_for_granted(&self, name: &str, word: &str) {
        let found = self.0.get(name).map_or("", String::as_str);
        assert_eq!(found, word, "the fused code was written for another {name}");
    }

    /// Parameters that the fused code takes to be left out.
    pub fn lacks(&self, names: &[&str]) {
        for name in names {
            assert!(!self.0.contains_key(*name), "the fused code was written without {name}");
        }
    }
}
