//! `tolerance`: what must be held while building, and what does it cost to miss.

use super::export::DateArgs;
use super::output;
use super::output::{Files, FolderArgs, naming};
use super::progress::Progress;
use super::quantity::{SpecArgs, quantity};
use coilwright::Result;
use coilwright::files::out::csv::NumberFormat;
use coilwright::files::spec;
use coilwright::questions::tolerance::files::files;
use coilwright::questions::tolerance::{Request, Wish, tolerance, words};
use coilwright::units::Dimension;
use std::path::PathBuf;

/// The arguments of `tolerance`.
#[derive(clap::Args)]
#[command(mut_arg("out", |out| naming(out, &[files().help()])))]
pub struct ToleranceArgs {
    #[command(flatten)]
    spec: SpecArgs,
    /// Number of pairs to build at random
    #[arg(long, default_value_t = 2000)]
    builds: usize,
    /// Largest allowed difference of the field constant from the computed one
    #[arg(long, value_parser = quantity(Dimension::Fraction), allow_hyphen_values = true)]
    within: Option<f64>,
    /// A file of wishes; its `beam_deviation` must be met
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

/// Builds, writes the files, and prints the page.
pub fn run(arguments: &ToleranceArgs) -> Result<()> {
    let date = arguments.date.day()?;
    let bench = arguments.spec.read()?;
    let needs = arguments.needs.as_ref().map(spec::read_wanted).transpose()?;
    let wish = Wish {
        field_constant_within_fraction: arguments.within,
        beam_deviation: needs.and_then(|needs| needs.beam_deviation),
    };
    let request = Request { wish, builds: arguments.builds, date };
    let files = Files {
        table: files(),
        asked: &(),
        inputs: &output::inputs([Some(&arguments.spec.spec), arguments.needs.as_ref()]),
        format: NumberFormat::default(),
    };
    let (record, _) = arguments.folder.answer(files, || {
        let progress = Progress::towards(arguments.builds as u64, "building pairs");
        tolerance(&bench, &request, |builds| progress.advance(builds))
    })?;
    if arguments.json { output::print_json(&record) } else { output::print(&words::text(&record)) }
}
