//! Setups that were fitted.
