//! What can be wrong with a set of parts.

use thiserror::Error;

/// One mistake found while parts are put together.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Problem {
    /// Somebody reads what nobody writes.
    #[error("{reader} reads {kind} [{unit}], which no part of this setup provides{hint}")]
    NobodyWrites {
        /// `instance: equation`.
        reader: String,
        /// Kind that is missing.
        kind: String,
        /// Its unit.
        unit: String,
        /// Near miss, or empty.
        hint: String,
    },
    /// Several instances could serve a reader.
    #[error("{reader} reads {kind}, which {} provide; say which under `{instance}: from: {{ {kind}: … }}`", .candidates.join(", "))]
    Ambiguous {
        /// `instance: equation`.
        reader: String,
        /// The reading instance.
        instance: String,
        /// Kind in question.
        kind: String,
        /// Instances that provide it.
        candidates: Vec<String>,
    },
    /// A named instance does not provide the kind.
    #[error("{reader} takes {kind} from {instance}, which does not provide it{hint}")]
    WrongSource {
        /// `instance: equation`.
        reader: String,
        /// Kind in question.
        kind: String,
        /// The instance named.
        instance: String,
        /// Near miss, or empty.
        hint: String,
    },
    /// Two equations of one instance write the same quantity.
    #[error("{instance}.{kind} has two writers: {first} and {second}")]
    TwoWriters {
        /// The instance.
        instance: String,
        /// The kind.
        kind: String,
        /// First writer.
        first: String,
        /// Second writer.
        second: String,
    },
    /// One name, two meanings.
    #[error(
        "{kind} is declared as [{first}] and as [{second}]: one name must have one unit and one way of adding up"
    )]
    Clash {
        /// The kind.
        kind: String,
        /// Unit and reducer seen first.
        first: String,
        /// Unit and reducer seen then.
        second: String,
    },
    /// An equation takes the rate of a state that its instance does not have.
    #[error("{instance}: {equation} sets {kind}, which this part has not declared as a state, mode or input")]
    NotOwned {
        /// The instance.
        instance: String,
        /// The equation.
        equation: String,
        /// The kind.
        kind: String,
    },
    /// A state whose rate nobody sets.
    #[error("{instance}.{kind} is a state, but no equation sets its rate")]
    NoRate {
        /// The instance.
        instance: String,
        /// The kind.
        kind: String,
    },
    /// Two equations of one instance with one name, so that neither can be told from the other.
    #[error("{instance} has two equations called {equation}: each needs a name of its own")]
    TwoEquations {
        /// The instance.
        instance: String,
        /// The name.
        equation: String,
    },
    /// A wiring choice that nobody asks for.
    #[error("{instance}: from: {kind} is not a quantity that this part takes from another{hint}")]
    UnusedSource {
        /// The instance.
        instance: String,
        /// What stands under `from:`.
        kind: String,
        /// Near miss, or what it does take.
        hint: String,
    },
    /// A part is to be exchanged that the model does not have.
    #[error("there is no part {instance} in this setup{hint}")]
    NoInstance {
        /// The name.
        instance: String,
        /// Near miss, or empty.
        hint: String,
    },
    /// Equations that wait for each other.
    #[error("these equations wait for each other: {}; cut the ring with a state, or publish a law instead of a value", .ring.join(" → "))]
    Ring {
        /// `instance: equation` and quantities, in order, first repeated at the end.
        ring: Vec<String>,
    },
    /// A start value that is not finite.
    #[error("{instance}.{kind} starts at {value}, which is not a finite number")]
    NotFinite {
        /// The instance.
        instance: String,
        /// The kind.
        kind: String,
        /// The value, as text.
        value: String,
    },
    /// A start value outside the range that its part allows.
    #[error("{instance}.{kind} starts at {value}: expected a value {range}")]
    OutOfRange {
        /// The instance.
        instance: String,
        /// The kind.
        kind: String,
        /// The value with its unit, as text.
        value: String,
        /// The range with its unit, as text.
        range: String,
    },
}

/// All mistakes of one setup.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
pub struct Problems(pub Vec<Problem>);
