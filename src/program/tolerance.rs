//! `tolerance`: what must be held while building, and what does it cost to miss.

use super::export::DateArgs;
use super::output;
use super::output::FolderArgs;
use super::progress::Progress;
use super::quantity::{SpecArgs, quantity};
use coilwright::Result;
use coilwright::files::out::folder::OutputFolder;
use coilwright::files::spec;
use coilwright::questions::tolerance::{Wish, tolerance};
use coilwright::questions::tolerance::{picture, words};
use coilwright::units::Dimension;
use std::path::PathBuf;

/// The arguments of `tolerance`.
#[derive(clap::Args)]
pub struct ToleranceArgs {
    #[command(flatten)]
    spec: SpecArgs,
    /// Pairs to build at random
    #[arg(long, default_value_t = 2000)]
    builds: usize,
    /// Largest difference of the field constant from the computed one
    #[arg(long, value_parser = quantity(Dimension::Fraction), allow_hyphen_values = true)]
    within: Option<f64>,
    /// A file of wishes, whose `beam_deviation` is to be met
    #[arg(long, value_name = "WANTED")]
    needs: Option<PathBuf>,
    #[command(flatten)]
    folder: FolderArgs,
    #[command(flatten)]
    date: DateArgs,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// The files that `--out` makes.
const FILES: [&str; 3] = ["tolerance.json", "tolerance.svg", "tolerance.png"];

/// Builds, writes the files, and prints the page.
pub fn run(arguments: &ToleranceArgs) -> Result<()> {
    let date = arguments.date.checked()?;
    let bench = arguments.spec.read()?;
    let needs = arguments.needs.as_ref().map(spec::read_wanted).transpose()?;
    let wish = Wish {
        field_constant_within_fraction: arguments.within,
        beam_deviation: needs.and_then(|needs| needs.beam_deviation),
    };
    let folder = arguments
        .folder
        .open(&FILES, &output::inputs([Some(&arguments.spec.spec), arguments.needs.as_ref()]))?;
    let progress = Progress::towards(arguments.builds as u64, "building pairs");
    let advance = |builds| progress.advance(builds);
    let mut record = tolerance(&bench, wish, arguments.builds, advance)?;
    drop(progress);
    record.provenance.date = date;
    if let Some(mut folder) = folder {
        let figure = picture::tolerance_spread(&record);
        folder.write("tolerance.json", output::json_text(&record)?.as_bytes())?;
        folder.write("tolerance.svg", figure.svg().as_bytes())?;
        folder.write("tolerance.png", &figure.png()?)?;
        OutputFolder::finish(folder)?;
    }
    if arguments.json { output::print_json(&record) } else { output::print(&words::text(&record)) }
}
