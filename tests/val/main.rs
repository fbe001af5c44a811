//! Checks against sources outside this project.

mod propeller;
mod water;
