//! The `foilborne` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    engine::cli::main(&foilborne::CATALOGUE)
}
