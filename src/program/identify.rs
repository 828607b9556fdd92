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
    /// The measurements: JSON, or a table (CSV, .xlsx or .ods) with name, value, uncertainty
    measured: PathBuf,
    /// Write the most probable pair as a spec
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
    let file = arguments
        .write
        .as_ref()
        .map(|path| OutputFile::create(path, arguments.force)?.apart_from(&[&arguments.measured]))
        .transpose()?;
    let record = identify::identify(&measured)?;
    if let Some((file, path)) = file.zip(arguments.write.as_ref()) {
        let Some(bench) = &record.bench else {
            return Err(Error::value_with_hint(
                "even the likeliest winding fits the measurements badly, and no spec is written",
                "look at the page without --write, and measure again what it names",
            ));
        };
        let text = spec::spec_text(bench);
        // The spec is read back before it is written.
        spec::bench_from_text(&path.display().to_string(), &text)?;
        file.write(text.as_bytes())?;
    }
    if arguments.json { output::print_json(&record) } else { output::print(&words::text(&record)) }
}
