//! Steady states asked for on the command line.

mod tub;
