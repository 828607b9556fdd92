//! `compare`: which option.

use super::decision::DecisionArgs;
use super::export::{DateArgs, NumberFormatArgs};
use super::output;
use super::output::FolderArgs;
use super::quantity::read_spec;
use coilwright::Result;
use coilwright::files::out::folder::OutputFolder;
use coilwright::files::spec;
use coilwright::questions::compare;
use coilwright::questions::compare::files::{page as comparison_page, workbook as comparison_workbook};
use coilwright::questions::compare::{SpecFile, picture, words as comparison};
use std::path::PathBuf;

/// The arguments of `compare`.
#[derive(clap::Args)]
pub struct CompareArgs {
    /// The spec files
    #[arg(required = true, value_name = "SPEC")]
    specs: Vec<PathBuf>,
    /// A file of wishes that the options are held against
    #[arg(long, value_name = "WANTED")]
    needs: Option<PathBuf>,
    #[command(flatten)]
    decision: DecisionArgs,
    #[command(flatten)]
    folder: FolderArgs,
    #[command(flatten)]
    numbers: NumberFormatArgs,
    #[command(flatten)]
    date: DateArgs,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// The files that `--out` makes.
const FILES: [&str; 6] =
    ["compare.csv", "compare.xlsx", "compare.html", "compare.json", "compare.svg", "compare.png"];

/// Compares, writes the files, and prints the table.
pub fn run(arguments: &CompareArgs) -> Result<()> {
    let date = arguments.date.checked()?;
    let read = |path: &PathBuf| Ok(SpecFile { path: path.clone(), bench: read_spec(path)? });
    let specs = arguments.specs.iter().map(read).collect::<Result<Vec<_>>>()?;
    let needs = arguments.needs.as_ref().map(spec::read_wanted).transpose()?;
    let folder = arguments
        .folder
        .open(&FILES, &output::inputs(arguments.specs.iter().map(Some).chain([arguments.needs.as_ref()])))?;
    let mut record = compare::compare(&specs, needs.as_ref(), arguments.decision.rule())?;
    record.date = date;
    if let Some(mut folder) = folder {
        let figure = picture::comparison(&record);
        let svg = figure.svg();
        folder.write("compare.csv", comparison::csv(&record, arguments.numbers.format()).as_bytes())?;
        folder.write("compare.xlsx", &comparison_workbook::workbook(&record)?)?;
        folder.write("compare.html", comparison_page::html(&record, &svg).as_bytes())?;
        folder.write("compare.json", output::json_text(&record)?.as_bytes())?;
        folder.write("compare.svg", svg.as_bytes())?;
        folder.write("compare.png", &figure.png()?)?;
        OutputFolder::finish(folder)?;
    }
    if arguments.json { output::print_json(&record) } else { output::print(&comparison::text(&record)) }
}
