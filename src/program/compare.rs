//! `compare`: the choice between options.

use super::decision::DecisionArgs;
use super::export::{DateArgs, NumberFormatArgs};
use super::output;
use super::output::{Files, FolderArgs, naming};
use coilwright::Result;
use coilwright::files::spec;
use coilwright::questions::compare::files::files;
use coilwright::questions::compare::{QuoteFile, Request, compare, names, words};
use std::path::PathBuf;

/// The arguments of `compare`.
#[derive(clap::Args)]
#[command(mut_arg("out", |out| naming(out, &[files().help()])))]
pub struct CompareArgs {
    /// The quotes: spec files, finished or not, or forms of `tender` as filled in (JSON, .xlsx, .ods, CSV)
    #[arg(required = true, value_name = "QUOTE")]
    quotes: Vec<PathBuf>,
    /// A file of wishes to judge the options by
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

/// Compares, writes the files, and prints the table.
pub fn run(arguments: &CompareArgs) -> Result<()> {
    let date = arguments.date.day()?;
    let read = |path: &PathBuf| Ok(QuoteFile { path: path.clone(), quote: spec::read_quote(path)? });
    let quotes = arguments.quotes.iter().map(read).collect::<Result<Vec<_>>>()?;
    let needs = arguments.needs.as_ref().map(spec::read_wanted).transpose()?;
    let files = Files {
        table: files(),
        asked: &names(&quotes),
        inputs: &output::inputs(arguments.quotes.iter().map(Some).chain([arguments.needs.as_ref()])),
        format: arguments.numbers.format(),
    };
    let request = Request { needs: needs.as_ref(), decision: arguments.decision.rule(), date };
    let (record, _) = arguments.folder.answer(files, || compare(&quotes, &request))?;
    if arguments.json { output::print_json(&record) } else { output::print(&words::text(&record)) }
}
