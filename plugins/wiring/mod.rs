//! Cables and contacts.

pub mod conductor;
