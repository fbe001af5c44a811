//! Steady states: as asked for on the command line, against slow runs through time, and against
//! what others have measured.

mod card;
mod craft;
mod cruise;
mod curve;
mod porpoising;
mod tub;
