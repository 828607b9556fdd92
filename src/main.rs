//! The coilwright command-line program.

mod program;

use std::process::ExitCode;

fn main() -> ExitCode {
    program::main()
}
