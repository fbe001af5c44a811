//! A propeller of the Wageningen B-series.

pub mod b_series;
pub mod coefficients;
