//! Rules of the workshop, held against the model. **Common practice, no source**: none of the figures
//! here is published, most have no more than one observation behind them, and nothing outside this
//! folder rests on them. A gap between rule and model is reported, not closed by a parameter.
//!
//! The tables that the doc comments quote are printed by
//! `cargo test --test common_practice -- --nocapture --test-threads 1`.

mod cut_propeller;
mod hump;
mod rules;
mod smaller_propeller;
mod stand;
