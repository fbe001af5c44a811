//! The `foilborne` command.

fn main() {}
