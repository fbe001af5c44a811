//! A propeller given by its own K_T/K_Q table.
