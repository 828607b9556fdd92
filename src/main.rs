//! The coilwright command-line program.

#[cfg(feature = "desk")]
mod desk;
mod program;

// Where the templates of this crate find their escaping, as those of the library do.
#[cfg(feature = "desk")]
use coilwright::paper;
use std::process::ExitCode;

fn main() -> ExitCode {
    program::main()
}
