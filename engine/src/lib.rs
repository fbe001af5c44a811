//! The simulation engine of foilborne. It knows quantities, equations, runs,
//! setups and scenarios; it knows no physics and no part of a craft by name.

pub mod real;
pub mod root;
pub mod smooth;
pub mod table;
