//! Kinds of quantity: what parts exchange, with unit, sign and meaning.

/// How the values that several parts give to one kind come together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reducer {
    /// One writer per instance; readers choose an instance.
    Single,
    /// Contributions of any number of parts are added up.
    Sum,
    /// Contributions are kept apart; nobody reads a total.
    Each,
    /// A function of one variable, published by one part and called by others.
    Law,
}

/// A kind of quantity. The value itself belongs to an instance: `front_wing.lift`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Kind {
    /// Lower-case noun, words joined by `_`.
    pub name: &'static str,
    /// SI unit, `1` for pure numbers.
    pub unit: &'static str,
    /// Meaning, sign, frame and point of reference.
    pub about: &'static str,
    /// How several contributions come together.
    pub reducer: Reducer,
}

impl Kind {
    /// A quantity with one writer per instance.
    pub const fn single(name: &'static str, unit: &'static str, about: &'static str) -> Kind {
        Kind { name, unit, about, reducer: Reducer::Single }
    }

    /// A quantity that parts add to, such as a force.
    pub const fn sum(name: &'static str, unit: &'static str, about: &'static str) -> Kind {
        Kind { name, unit, about, reducer: Reducer::Sum }
    }

    /// A list of labelled entries that are never added up, such as margins.
    pub const fn each(name: &'static str, unit: &'static str, about: &'static str) -> Kind {
        Kind { name, unit, about, reducer: Reducer::Each }
    }

    /// A function of one variable; `unit` is the unit of its value.
    pub const fn law(name: &'static str, unit: &'static str, about: &'static str) -> Kind {
        Kind { name, unit, about, reducer: Reducer::Law }
    }
}
