//! Setups: what a craft is made of.

/// Parameters of one part, as read from a setup.
pub struct Params;
