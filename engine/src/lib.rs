//! The simulation engine. It knows quantities, equations, runs,
//! setups and scenarios; it knows no physics and no part of a craft by name.

pub mod analysis;
pub mod balance;
pub mod calibration;
pub mod cli;
pub mod diagnostic;
pub mod fit;
pub mod inquiry;
pub mod model;
pub mod part;
pub mod profile;
pub mod quantity;
pub mod readings;
pub mod real;
pub mod root;
pub mod run;
pub mod sampling;
pub mod scenario;
pub mod setup;
pub mod smooth;
pub mod statistics;
pub mod study;
pub mod sweep;
pub mod table;
pub mod text_table;
pub mod units;
