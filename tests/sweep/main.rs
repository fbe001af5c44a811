//! `sweep` and `merge` on the real command: the same bytes on every way to a table, no row
//! lost to whatever ends the process, and bad studies refused before anything is written.
//!
//! Everyday tests take seconds. The heavy ones are ignored; the kills, for one:
//! `cargo test --release --test sweep -- --ignored --nocapture kill`.
#![cfg(unix)]

mod changed;
mod disk;
mod harness;
mod heavy;
mod interrupted;
mod killed;
mod parts;
mod rows;
mod same_bytes;
mod sampled;
mod words;
