//! The command line: arguments in, one call to `study`, words and an exit code out.

use std::process::ExitCode;

mod args;
mod run;
mod wait;

fn main() -> ExitCode {
    run::run(&args::parse())
}
