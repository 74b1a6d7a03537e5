//! The `swardline` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    swardline::cli::main()
}
