//! `tender`: a request for quotation.

use super::export::DateArgs;
use super::output;
use super::output::{Files, FolderArgs, naming};
use coilwright::Result;
use coilwright::files::out::csv::NumberFormat;
use coilwright::files::spec;
use coilwright::questions::tender::files::files;
use coilwright::questions::tender::{tender, words};
use std::path::PathBuf;

/// The arguments of `tender`.
#[derive(clap::Args)]
#[command(mut_arg("out", |out| naming(out, &[files().help()])))]
pub struct TenderArgs {
    /// The file of wishes
    wanted: PathBuf,
    #[command(flatten)]
    folder: FolderArgs,
    #[command(flatten)]
    date: DateArgs,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// Makes the request, writes the files, and prints the request.
pub fn run(arguments: &TenderArgs) -> Result<()> {
    arguments.folder.must_be_named()?;
    let date = arguments.date.day()?;
    let wanted = spec::read_wanted(&arguments.wanted)?;
    let files = Files {
        table: files(),
        asked: &(),
        inputs: &output::inputs([Some(&arguments.wanted)]),
        format: NumberFormat::Point,
    };
    let (record, written) = arguments.folder.answer(files, || Ok(tender(&wanted, date)))?;
    match arguments.json {
        true => output::print_json(&record),
        false => output::print(&format!("{}\n{}", words::text(&record), output::written_lines(&written))),
    }
}
