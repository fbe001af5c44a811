//! What a part is to the engine.

use crate::model::Declare;
use crate::setup::Params;

/// One part of the craft or of its surroundings, with its parameters.
/// Everything that changes belongs to the run, never to the part.
pub trait Part: Send + Sync {
    /// Declares states, equations, laws and events.
    fn declare(&self, m: &mut Declare);
}

/// An entry in the list of parts that a setup may hold.
#[derive(Clone, Copy)]
pub struct PartKind {
    /// Name in a setup, under `part:`.
    pub name: &'static str,
    /// One line on what it is.
    pub about: &'static str,
    /// Reads its parameters. `None` where they could not be read, which the
    /// sheet of parameters has then reported.
    pub read: fn(&mut Params) -> Option<Box<dyn Part>>,
}
