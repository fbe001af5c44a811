//! Building the tree of a document, key by key.

use super::node::{FileId, Node, Step, Value};
use super::yaml::DEPTH;
use serde::de::{DeserializeSeed, Deserializer, EnumAccess, MapAccess, SeqAccess, Visitor};
use std::cell::RefCell;
use std::collections::HashSet;
use std::fmt;

/// What has been read so far, for the report when it stops.
#[derive(Default)]
pub(super) struct Watch {
    pub path: RefCell<Vec<Step>>,
    pub problem: RefCell<Option<(String, Option<String>)>>,
}

impl Watch {
    fn stop<T, E: serde::de::Error>(&self, message: impl Into<String>, help: &str) -> Result<T, E> {
        let help = (!help.is_empty()).then(|| help.to_owned());
        *self.problem.borrow_mut() = Some((message.into(), help));
        Err(E::custom("stopped"))
    }

    fn within<T, E>(&self, step: Step, read: impl FnOnce() -> Result<T, E>) -> Result<T, E> {
        self.path.borrow_mut().push(step);
        let value = read()?;
        self.path.borrow_mut().pop();
        Ok(value)
    }
}

/// Builds the tree.
#[derive(Clone, Copy)]
pub(super) struct Tree<'a> {
    pub file: FileId,
    pub depth: usize,
    pub watch: &'a Watch,
}

impl Tree<'_> {
    fn node<E>(self, value: Value) -> Result<Node, E> {
        Ok(Node { value, file: self.file })
    }

    fn deeper<E: serde::de::Error>(self) -> Result<Self, E> {
        if self.depth >= DEPTH {
            return self.watch.stop(format!("nested more than {DEPTH} levels deep"), "");
        }
        Ok(Tree { depth: self.depth + 1, ..self })
    }
}

impl<'de> DeserializeSeed<'de> for Tree<'_> {
    type Value = Node;
    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<Node, D::Error> {
        from.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Tree<'_> {
    type Value = Node;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value")
    }
    fn visit_unit<E>(self) -> Result<Node, E> {
        self.node(Value::Null)
    }
    fn visit_none<E>(self) -> Result<Node, E> {
        self.node(Value::Null)
    }
    fn visit_bool<E>(self, b: bool) -> Result<Node, E> {
        self.node(Value::Bool(b))
    }
    fn visit_i64<E>(self, i: i64) -> Result<Node, E> {
        self.node(Value::Int(i))
    }
    fn visit_u64<E>(self, u: u64) -> Result<Node, E> {
        self.node(i64::try_from(u).map_or(Value::Float(u as f64), Value::Int))
    }
    fn visit_i128<E>(self, i: i128) -> Result<Node, E> {
        self.node(Value::Float(i as f64))
    }
    fn visit_u128<E>(self, u: u128) -> Result<Node, E> {
        self.node(Value::Float(u as f64))
    }
    fn visit_f64<E: serde::de::Error>(self, x: f64) -> Result<Node, E> {
        if !x.is_finite() {
            return self.watch.stop("not a finite number", "");
        }
        self.node(Value::Float(x))
    }
    fn visit_str<E>(self, text: &str) -> Result<Node, E> {
        self.node(Value::Text(text.into()))
    }
    fn visit_enum<A: EnumAccess<'de>>(self, _: A) -> Result<Node, A::Error> {
        self.watch
            .stop("tags such as `!this` have no meaning in a setup", "text that begins with ! needs quotes")
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut from: A) -> Result<Node, A::Error> {
        let inner = self.deeper()?;
        let mut items = Vec::new();
        while let Some(item) =
            self.watch.within(Step::Index(items.len()), || from.next_element_seed(inner))?
        {
            items.push(item);
        }
        self.node(Value::List(items))
    }
    fn visit_map<A: MapAccess<'de>>(self, mut from: A) -> Result<Node, A::Error> {
        let inner = self.deeper()?;
        let mut entries: Vec<(String, Node)> = Vec::new();
        let mut seen = HashSet::new();
        while let Some(key) = from.next_key_seed(NewKey { seen: &seen, watch: self.watch })? {
            let node = self.watch.within(Step::Key(key.clone()), || from.next_value_seed(inner))?;
            seen.insert(key.clone());
            entries.push((key, node));
        }
        self.node(Value::Map(entries))
    }
}

/// A key: text that has not been there before.
struct NewKey<'a> {
    seen: &'a HashSet<String>,
    watch: &'a Watch,
}

impl NewKey<'_> {
    fn no_text<E: serde::de::Error>(self, what: impl fmt::Display) -> Result<String, E> {
        self.watch.stop(format!("a key must be text, found {what}"), "put it in quotes if it is meant so")
    }
}

impl<'de> DeserializeSeed<'de> for NewKey<'_> {
    type Value = String;
    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<String, D::Error> {
        from.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for NewKey<'_> {
    type Value = String;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a key")
    }
    fn visit_str<E: serde::de::Error>(self, key: &str) -> Result<String, E> {
        if key == "<<" {
            return self.watch.stop("merge keys are not applied", "use `based_on: other.yaml`");
        }
        if self.seen.contains(key) {
            self.watch.path.borrow_mut().push(key.into());
            return self.watch.stop("this key stands here twice", "remove one of the two");
        }
        Ok(key.into())
    }
    fn visit_unit<E: serde::de::Error>(self) -> Result<String, E> {
        self.no_text("nothing")
    }
    fn visit_bool<E: serde::de::Error>(self, b: bool) -> Result<String, E> {
        self.no_text(b)
    }
    fn visit_i64<E: serde::de::Error>(self, i: i64) -> Result<String, E> {
        self.no_text(i)
    }
    fn visit_u64<E: serde::de::Error>(self, u: u64) -> Result<String, E> {
        self.no_text(u)
    }
    fn visit_f64<E: serde::de::Error>(self, x: f64) -> Result<String, E> {
        self.no_text(x)
    }
    fn visit_seq<A: SeqAccess<'de>>(self, _: A) -> Result<String, A::Error> {
        self.no_text("a list")
    }
    fn visit_map<A: MapAccess<'de>>(self, _: A) -> Result<String, A::Error> {
        self.no_text("a map")
    }
    fn visit_enum<A: EnumAccess<'de>>(self, _: A) -> Result<String, A::Error> {
        self.no_text("a tag")
    }
}
