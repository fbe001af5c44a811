//! Finding the place of a value in a text.

use super::node::Step;
use serde::de::{DeserializeSeed, Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor};
use std::fmt;

/// What of an entry to point at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Target {
    /// Its key.
    Key,
    /// Its value.
    Value,
}

/// Follows a path and raises an error at its end; the library adds the position.
#[derive(Clone, Copy)]
pub(super) struct Descend<'a> {
    pub path: &'a [Step],
    pub target: Target,
}

impl Descend<'_> {
    fn scalar<E: serde::de::Error>(self) -> Result<(), E> {
        if self.path.is_empty() { Err(E::custom("here")) } else { Ok(()) }
    }
}

impl<'de> DeserializeSeed<'de> for Descend<'_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<(), D::Error> {
        from.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Descend<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value")
    }
    fn visit_unit<E: serde::de::Error>(self) -> Result<(), E> {
        self.scalar()
    }
    fn visit_none<E: serde::de::Error>(self) -> Result<(), E> {
        self.scalar()
    }
    fn visit_bool<E: serde::de::Error>(self, _: bool) -> Result<(), E> {
        self.scalar()
    }
    fn visit_i64<E: serde::de::Error>(self, _: i64) -> Result<(), E> {
        self.scalar()
    }
    fn visit_u64<E: serde::de::Error>(self, _: u64) -> Result<(), E> {
        self.scalar()
    }
    fn visit_f64<E: serde::de::Error>(self, _: f64) -> Result<(), E> {
        self.scalar()
    }
    fn visit_str<E: serde::de::Error>(self, _: &str) -> Result<(), E> {
        self.scalar()
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut from: A) -> Result<(), A::Error> {
        self.scalar()?;
        let (Step::Index(index), rest) = (&self.path[0], &self.path[1..]) else {
            return ignore_seq(from);
        };
        for _ in 0..*index {
            from.next_element::<IgnoredAny>()?;
        }
        from.next_element_seed(Descend { path: rest, ..self })?;
        ignore_seq(from)
    }
    fn visit_map<A: MapAccess<'de>>(self, mut from: A) -> Result<(), A::Error> {
        self.scalar()?;
        let (step, rest) = (&self.path[0], &self.path[1..]);
        while let Some(key) =
            from.next_key_seed(KeyOf(step, rest.is_empty() && self.target == Target::Key))?
        {
            if key {
                from.next_value_seed(Descend { path: rest, ..self })?;
            } else {
                from.next_value::<IgnoredAny>()?;
            }
        }
        Ok(())
    }
}

fn ignore_seq<'de, A: SeqAccess<'de>>(mut from: A) -> Result<(), A::Error> {
    while from.next_element::<IgnoredAny>()?.is_some() {}
    Ok(())
}

/// Whether a key is the one of this step; raises an error there if it is the target itself.
struct KeyOf<'a>(&'a Step, bool);

impl<'de> DeserializeSeed<'de> for KeyOf<'_> {
    type Value = bool;
    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<bool, D::Error> {
        from.deserialize_str(self)
    }
}

impl Visitor<'_> for KeyOf<'_> {
    type Value = bool;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a key")
    }
    fn visit_str<E: serde::de::Error>(self, key: &str) -> Result<bool, E> {
        let this = matches!(self.0, Step::Key(k) if k == key);
        if this && self.1 { Err(E::custom("here")) } else { Ok(this) }
    }
}

impl super::Setup {
    /// Where a part stands; the setup's own file if there is no such part.
    pub(crate) fn place_of(&self, part: &str) -> crate::diagnostic::Place {
        match self.parts().iter().find(|(name, _)| name == part) {
            Some((_, node)) => self.sources.place(node.file, &["parts", part].map(Step::from), Target::Key),
            None => self.sources.place(0, &[], Target::Value),
        }
    }
}
