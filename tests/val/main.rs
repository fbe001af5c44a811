//! Checks against sources outside this project.

mod battery;
mod bench;
mod board;
mod drive;
mod fit;
mod foil;
mod free_surface;
mod friction;
mod mast;
mod motor;
mod propeller;
mod rider;
mod rig;
mod savitsky;
mod statistics;
mod uncertainty;
mod water;
