//! Checks against sources outside this project.
