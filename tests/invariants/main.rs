//! What must hold of the whole model, whatever its numbers.

mod accuracy;
mod afloat;
mod books;
mod craft;
mod dead_weight;
mod faults;
mod ledger;
mod order;
mod resistance;
