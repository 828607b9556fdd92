//! `schema`: what may a file contain?

use super::output;
use coilwright::{Result, spec};

/// Prints the JSON Schema of a spec file.
pub fn run() -> Result<()> {
    output::print_json(&spec::bench_schema())
}
