//! The command line: what may be typed, what is said, and the status at the end.
//!
//! Results go to standard output, words to standard error. Each command is a file; the work itself is in `batch`.

mod arguments;
mod catalogue;
mod check;
mod closing;
mod design;
mod ending;
mod open;
mod progress;
mod rules;
mod say;

pub use arguments::{Arguments, Command};
pub use ending::{EXIT_CODES, Ending, Failure};

use crate::batch::guarded;
use clap::Parser;
use std::process::ExitCode;

/// The whole program: reads the command line, does it, says what went wrong, and gives the exit status.
pub fn main() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => return usage(&error),
    };
    let result =
        guarded(|| run(&arguments.command)).unwrap_or_else(|said| Err(Failure::Defect(said)));
    if let Err(failure) = &result {
        say::failure(failure);
    }
    ExitCode::from(ending::code(&result))
}

fn run(command: &Command) -> Result<Ending, Failure> {
    match command {
        Command::Check(asked) => check::run(asked),
        Command::Design(asked) => design::run(asked),
        Command::Audit(asked) => design::audit(asked),
        Command::Catalogue(asked) => catalogue::run(asked),
        Command::Rules(asked) => rules::run(asked),
    }
}

/// Help and version are answers; anything else clap refuses is a wrong command line. A closed pipe is no error.
fn usage(error: &clap::Error) -> ExitCode {
    let _ = error.print();
    ExitCode::from(if error.use_stderr() { ending::USAGE } else { 0 })
}
