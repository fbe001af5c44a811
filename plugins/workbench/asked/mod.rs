//! What can be asked of readings once a fit is done: the words of the script, each with its file.

mod cards;
mod comparison;
mod creep;
mod cuts;
mod mean;
mod reduction;
mod taken;

use engine::inquiry::{Inquiry, Key};

use super::{belief, mistakes};

/// The questions, in the order in which those that nobody needs to ask are answered.
pub const INQUIRIES: &[Inquiry] = &[
    reduction::INQUIRY,
    mistakes::INQUIRY,
    belief::INQUIRY,
    comparison::INQUIRY,
    creep::INQUIRY,
    cards::INQUIRY,
    cuts::INQUIRY,
];

const fn key(name: &'static str, about: &'static str) -> Key {
    Key { name, about, required: false }
}

const fn required(name: &'static str, about: &'static str) -> Key {
    Key { name, about, required: true }
}
