//! The command `firstfix`; all of it is in the library.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(firstfix::cli::run(std::env::args_os()))
}
