//! Words as parameters: one of a few, or the name of a part.

use super::node::Node;
use super::param::{Sort, Written};
use super::params::Asked;
use crate::diagnostic::{Diagnostic, suggest};

impl Asked<'_, '_, &'static str> {
    /// It must be there.
    pub fn required(mut self) -> &'static str {
        self.param.required = true;
        self.read(None).unwrap_or("")
    }

    /// It may be left out.
    pub fn optional(self) -> Option<&'static str> {
        self.read(None)
    }

    /// The word if it is left out.
    pub fn or(self, default: &'static str) -> &'static str {
        self.read(Some(default)).unwrap_or(default)
    }

    fn read(mut self, default: Option<&'static str>) -> Option<&'static str> {
        self.param.default = default.map(str::to_owned);
        let Sort::Choice(words) = self.param.sort.clone() else {
            return None;
        };
        let key = self.param.key;
        if words.is_empty() || default.is_some_and(|word| !words.contains(&word)) {
            self.params
                .problem(key, Diagnostic::error("fault in this kind of part: its default is no choice"));
        }
        let found = self.params.find(&self.param);
        let listed = self.params.choose.filter(|(chosen, _)| *chosen == key).map(|(_, word)| word);
        let first = words.first().copied().filter(|_| self.params.reader.is_none() && self.param.required);
        let word = match found {
            Some(node) => match node.text().and_then(|text| words.iter().find(|word| **word == text)) {
                Some(word) => Some(*word),
                None => {
                    let near = node.text().and_then(|text| suggest(text, words.iter().copied()));
                    let error = Diagnostic::error("no such choice").expected(self.param.expected());
                    self.params.problem(key, error.found(node.describe()).near(near));
                    None
                }
            },
            None => listed.or(default).or(first),
        };
        self.done(word.map(|word| Written::Text(word.to_owned())));
        word
    }
}

impl Asked<'_, '_, String> {
    /// It must be there.
    pub fn required(mut self) -> String {
        self.param.required = true;
        self.read(None).unwrap_or_default()
    }

    /// It may be left out.
    pub fn optional(self) -> Option<String> {
        self.read(None)
    }

    /// The name if it is left out; that part must be there then.
    pub fn or(self, default: &'static str) -> String {
        self.read(Some(default)).unwrap_or_else(|| default.into())
    }

    fn read(mut self, default: Option<&'static str>) -> Option<String> {
        self.param.default = default.map(str::to_owned);
        let node = self.params.find(&self.param);
        let name = node.map_or(default, Node::text);
        let parts = self.params.reader.as_ref().map(|reader| reader.parts);
        let there = |name: &str| parts.is_none_or(|parts| parts.iter().any(|(part, _)| part == name));
        let good = name.filter(|name| there(name));
        if good.is_none() && (node.is_some() || default.is_some()) {
            let names = parts.unwrap_or_default().iter().map(|(name, _)| name.as_str());
            let near = name.and_then(|name| suggest(name, names));
            let found = node.map_or_else(|| format!("\"{}\"", default.unwrap_or_default()), Node::describe);
            let error =
                Diagnostic::error("there is no such part").expected("the name of a part").found(found);
            self.params.problem(self.param.key, error.near(near));
        }
        let good = good.map(str::to_owned);
        self.done(good.clone().map(Written::Text));
        good
    }
}
