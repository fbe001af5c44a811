//! Steady states against slow runs through time and against what others have measured.

mod craft;
mod curve;
mod porpoising;
