//! Checks against sources outside this project.

mod battery;
mod drive;
mod motor;
mod propeller;
mod water;
mod board;
mod friction;
mod savitsky;
