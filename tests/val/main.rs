//! Checks against sources outside this project.

mod battery;
mod board;
mod drive;
mod friction;
mod motor;
mod propeller;
mod savitsky;
mod water;
