//! The board: what floats, pushes through its own wave, planes and takes off.

pub mod forces;
pub mod hull;
pub mod mercier_savitsky;
pub mod savitsky;

#[cfg(test)]
mod tests;
