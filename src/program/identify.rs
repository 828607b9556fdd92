//! `identify`: what is this unlabelled pair.

use super::output;
use coilwright::files::out::folder::OutputFile;
use coilwright::files::spec;
use coilwright::questions::identify;
use coilwright::questions::identify::words;
use coilwright::{Error, Result};
use std::path::PathBuf;

/// The arguments of `identify`.
#[derive(clap::Args)]
pub struct IdentifyArgs {
    /// What was measured: JSON, or a table (CSV, .xlsx or .ods) with name, value, uncertainty
    measured: PathBuf,
    /// Write the likeliest as a spec to rebuild it from
    #[arg(long, value_name = "SPEC")]
    write: Option<PathBuf>,
    /// Replace the spec if it is already there
    #[arg(long, requires = "write")]
    force: bool,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// Identifies, writes the spec, and prints the page.
pub fn run(arguments: &IdentifyArgs) -> Result<()> {
    let measured = spec::read_measured(&arguments.measured)?;
    let record = identify::identify(&measured)?;
    if let Some(path) = &arguments.write {
        let bench = record.bench.as_ref().ok_or_else(|| {
            Error::value_with_hint(
                "no candidate makes a pair that can be built, so there is no spec to write",
                "check the dimensions: the turns must go into the section, and the coils must not overlap",
            )
        })?;
        OutputFile::create(path, arguments.force)?
            .apart_from(&[&arguments.measured])?
            .write(spec::spec_text(bench).as_bytes())?;
    }
    if arguments.json { output::print_json(&record) } else { output::print(&words::text(&record)) }
}
