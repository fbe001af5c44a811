//! Equilibria of the demo board, against runs through time: where a run comes
//! to rest, where it does not, and how disturbances die away.

mod carried;
mod craft;
mod disturbed;
mod hump;
