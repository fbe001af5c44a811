//! What must hold of the whole model, whatever its numbers.

mod books;
mod craft;
