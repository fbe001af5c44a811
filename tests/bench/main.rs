//! Readings that were made up from drives whose truth is known: what is found of it?

mod asked;
mod beliefs;
mod bench;
mod coverage;
mod cut_outlook;
mod draw;
mod mistakes;
mod tare;
